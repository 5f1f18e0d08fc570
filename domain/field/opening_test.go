package field

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// sixFeet is the field goal: 6 ft by 6 ft.
var sixFeet = Opening{WidthM: 1.8288, HeightM: 1.8288}

// The numbers are worked out by hand. The ball's diameter is the circumference over pi: 7 3/4 in gives 62.66 mm and
// 8 in gives 64.68 mm, and halfway lies 63.67 mm.
func TestBallDiameter(t *testing.T) {
	assert.InDelta(t, (62.66+64.68)/2/1000, BallDiameterM, 1e-9)
}

func TestThirds(t *testing.T) {
	for n, want := range [][2]float64{{0, .6096}, {.6096, 1.2192}, {1.2192, 1.8288}} { // 2 ft each
		from, to := sixFeet.Third(n, sixFeet.HeightM)
		assert.InDelta(t, want[0], from, 1e-9)
		assert.InDelta(t, want[1], to, 1e-9)
	}
}

func TestOutside(t *testing.T) {
	for _, c := range []struct {
		name        string
		x, up, want float64
	}{
		{"the middle", 0, .9, 0},
		{"on the right post", .9144, .5, 0},
		{"on the left post and the bar", -.9144, 1.8288, 0},
		{"on the ground", .2, 0, 0},
		{"right of the post", 1.0144, .5, .1},
		{"left of the post", -1.0144, .5, .1},
		{"over the bar", 0, 2.0288, .2},
		{"under the ground", 0, -.05, .05},
		{"past the corner, a 3-4-5 triangle", .9144 + .3, 1.8288 + .4, .5},
		{"the other corner", -.9144 - .4, 1.8288 + .3, .5},
	} {
		assert.InDelta(t, c.want, sixFeet.Outside(c.x, c.up), 1e-9, c.name)
	}
	box := Opening{WidthM: 1.219, HeightM: 1.219}
	assert.InDelta(t, .3, box.Outside(.9095, 1), 1e-9, "in the field goal this is inside")
}

func TestOutsideIsTheSameOnBothSides(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, up := rapid.Float64Range(-20, 20).Draw(t, "x"), rapid.Float64Range(0, 10).Draw(t, "up")
		assert.InDelta(t, sixFeet.Outside(x, up), sixFeet.Outside(-x, up), 0)
		inside := x >= -.9144 && x <= .9144 && up <= 1.8288
		assert.Equal(t, inside, sixFeet.Outside(x, up) == 0)
	})
}

func TestBandAndSideOfAPoint(t *testing.T) {
	for up, want := range map[float64]int{-.01: 0, 0: 0, .6: 0, .61: 1, 1.2: 1, 1.23: 2, 1.8: 2, 2.5: 2} {
		assert.Equal(t, want, sixFeet.BandAt(up), "%g", up)
	}
	for x, want := range map[float64]int{-2: 0, -.31: 0, -.30: 1, 0: 1, .30: 1, .31: 2, 2: 2} {
		assert.Equal(t, want, sixFeet.SideAt(x, true), "%g", x)
		assert.Equal(t, want, sixFeet.SideAt(-x, false), "%g mirrored", x)
	}
	exact := Opening{3, 3}
	assert.Equal(t, 1, exact.BandAt(1), "a line belongs to the middle")
	assert.Equal(t, 1, exact.BandAt(2))
	assert.Equal(t, 1, exact.SideAt(-.5, true))
	assert.Equal(t, 1, exact.SideAt(.5, true))
}

func TestAPointLiesInItsThird(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := Opening{rapid.Float64Range(1, 3).Draw(t, "w"), rapid.Float64Range(1, 3).Draw(t, "h")}
		up := rapid.Float64Range(0, 1).Draw(t, "up") * o.HeightM
		low, high := o.Third(o.BandAt(up), o.HeightM)
		assert.True(t, up >= low-1e-12 && up <= high+1e-12)
	})
}

// The ball's radius is 31.8 mm: nearer than that to a post's or the bar's inner side its middle cannot come without touching.
func TestABallMeetsTheFrame(t *testing.T) {
	const pipe, r = .04826, BallDiameterM / 2
	for name, c := range map[string]struct {
		x, up float64
		want  Passage
	}{
		"the middle":                     {0, .9, PassesIn},
		"on the ground":                  {.3, r, PassesIn},
		"just inside the right post":     {.9144 - r - .001, .9, PassesIn},
		"touching it from within":        {.9144 - r + .001, .9, MeetsFrame},
		"on the left post":               {-.93, .9, MeetsFrame},
		"touching it from without":       {-(.9144 + pipe + r - .001), .9, MeetsFrame},
		"just outside":                   {-(.9144 + pipe + r + .001), .9, PassesOut},
		"just under the bar":             {0, 1.8288 - r - .001, PassesIn},
		"touching the bar from below":    {0, 1.8288 - r + .001, MeetsFrame},
		"touching the bar from above":    {0, 1.8288 + pipe + r - .001, MeetsFrame},
		"just over":                      {0, 1.8288 + pipe + r + .001, PassesOut},
		"over the corner, by a hair":     {.9144 + pipe/2 + .7072*(pipe/2+r) + .001, 1.8288 + pipe/2 + .7072*(pipe/2+r) + .001, PassesOut},
		"on the corner from outside":     {.9144 + pipe/2 + .7070*(pipe/2+r) - .001, 1.8288 + pipe/2 + .7070*(pipe/2+r) - .001, MeetsFrame},
		"far over, beyond the posts too": {3, 4, PassesOut},
	} {
		assert.Equal(t, c.want, sixFeet.PassageAt(Finish{c.x, c.up}, pipe), name)
		assert.Equal(t, c.want, sixFeet.PassageAt(Finish{-c.x, c.up}, pipe), "%s, mirrored", name)
	}
	// Opening.Outside agrees: what is wholly in is not outside, and what is wholly out is by more than the pipe and the radius.
	rapid.Check(t, func(t *rapid.T) {
		at := Finish{rapid.Float64Range(-2, 2).Draw(t, "x"), rapid.Float64Range(0, 3).Draw(t, "up")}
		outside := sixFeet.Outside(at.XM, at.UpM)
		switch sixFeet.PassageAt(at, pipe) {
		case PassesIn:
			assert.Zero(t, outside)
		case PassesOut:
			assert.GreaterOrEqual(t, outside, r)
		case MeetsFrame:
			assert.LessOrEqual(t, outside, 1.5*(pipe+r))
		}
	})
}
