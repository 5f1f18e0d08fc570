package field

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestSpotsAreKnownWithinTenCentimetres(t *testing.T) {
	assert.True(t, SpotsKnown(.1))
	assert.True(t, SpotsKnown(0, .05))
	assert.False(t, SpotsKnown(.05, .101))
	assert.False(t, SpotsKnown(), "a tap says nothing of its error")
	assert.False(t, SpotsKnown(math.NaN()))
	assert.False(t, SpotsKnown(-1))
}

func TestOnAngleByTheCodeOfPlay(t *testing.T) {
	for code, tolerance := range map[string]float64{"mens_field": 15, "womens_field": 15, "sixes": 15, "box": 10} {
		g := groundOf(t, code)
		for _, sign := range []float64{-1, 1} {
			assert.Equal(t, ToldYes, g.OnAngle(Stance{OffCM: sign * tolerance, OffKnown: true}, true), code)
			assert.Equal(t, ToldNo, g.OnAngle(Stance{OffCM: sign * (tolerance + .1), OffKnown: true}, true), code)
		}
		assert.Equal(t, NotTold, g.OnAngle(Stance{OffKnown: true}, false), "not known well enough")
		assert.Equal(t, NotTold, g.OnAngle(Stance{}, true), "no bisector")
	}
}

func TestDepthHeld(t *testing.T) {
	g := groundOf(t, "mens_field")
	post := Post{Spot{0, .7}, OnBisector}
	for depth, want := range map[float64]Told{.41: ToldYes, .99: ToldYes, .39: ToldNo, 1.01: ToldNo} {
		assert.Equal(t, want, g.DepthHeld(Stance{DepthM: depth}, post, true), "%g", depth)
	}
	assert.Equal(t, NotTold, g.DepthHeld(Stance{DepthM: .7}, post, false))
	assert.Equal(t, NotTold, g.DepthHeld(Stance{DepthM: .7}, Post{}, true))
	assert.Equal(t, NotTold, g.DepthHeld(Stance{DepthM: .4}, Post{Spot{0, .45}, BallBehind}, true))
}

func TestAcrossInTime(t *testing.T) {
	want := map[[2]Told]Told{
		{ToldYes, ToldYes}: ToldYes, {ToldYes, ToldNo}: ToldNo, {ToldNo, ToldYes}: ToldNo, {ToldNo, ToldNo}: ToldNo,
		{NotTold, ToldNo}: ToldNo, {ToldNo, NotTold}: ToldNo, {NotTold, ToldYes}: NotTold, {ToldYes, NotTold}: NotTold, {NotTold, NotTold}: NotTold,
	}
	for in, out := range want {
		assert.Equal(t, out, AcrossInTime(in[0], in[1]), "%v", in)
	}
}
