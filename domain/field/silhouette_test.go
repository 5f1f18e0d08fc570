package field

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var keeperShape = Silhouette{BodyWidthM: .5, BodyHeightM: 1.5, CrosseWidthM: .25, CrosseHeightM: 1.6, StickRight: true}

// Straight out, by similar triangles: a half width of 0.25 m at 1 m off the line, 9 m from a ball at 10 m, covers 0.25*10/9
// of the opening's half; the crosse's edge at 0.5 m covers 0.5*10/9.
func TestNetLeftStraightOut(t *testing.T) {
	n, ok := keeperShape.NetLeft(sixFeet, Spot{0, 10}, 1, Spot{0, 1})
	require.True(t, ok)
	assert.InDelta(t, (.9144-.25*10/9)/1.8288, n.LeftLow, 1e-12)
	assert.InDelta(t, n.LeftLow, n.RightLow, 1e-12)
	assert.InDelta(t, n.LeftLow, n.LeftHigh, 1e-12, "the crosse is on the right")
	assert.InDelta(t, (.9144-.5*10/9)/1.8288, n.RightHigh, 1e-12)
	// From 1 m up past 1.6 m: 0.6 m over 9 m is 0.6667 m over 10 m.
	assert.InDelta(t, (1.8288-1-.6*10/9)/1.8288, n.Above, 1e-12)
	assert.InDelta(t, 1-2*n.LeftLow, n.CoveredLow(), 1e-12)
	assert.InDelta(t, 1-n.LeftHigh-n.RightHigh, n.CoveredHigh(), 1e-12)
	left := keeperShape
	left.StickRight = false
	m, ok := left.NetLeft(sixFeet, Spot{0, 10}, 1, Spot{0, 1})
	require.True(t, ok)
	assert.Equal(t, NetLeft{n.LeftHigh, n.LeftLow, n.RightHigh, n.RightLow, n.Above}, m)
}

func TestNetLeftWhereNothingIsToSee(t *testing.T) {
	for name, c := range map[string]struct{ ball, keeper Spot }{
		"ball behind":              {Spot{3, -2}, Spot{0, .5}},
		"ball on the extension":    {Spot{3, 0}, Spot{0, .5}},
		"goalkeeper behind":        {Spot{0, 5}, Spot{0, -.1}},
		"goalkeeper past the ball": {Spot{0, 5}, Spot{0, 5.5}},
	} {
		_, ok := keeperShape.NetLeft(sixFeet, c.ball, 1, c.keeper)
		assert.False(t, ok, name)
	}
	n, ok := keeperShape.NetLeft(sixFeet, Spot{0, 5}, 1, Spot{8, 0})
	require.True(t, ok)
	assert.InDelta(t, 1, n.LeftLow, 0, "a goalkeeper far to the right leaves it all open on the left")
	assert.InDelta(t, 0, n.RightLow, 0)
	n, ok = keeperShape.NetLeft(sixFeet, Spot{3, .4}, 1, Spot{.8, .38})
	require.True(t, ok)
	assert.InDelta(t, 0, n.LeftLow, 0, "the far edge is level with the ball: no ray goes by")
}

// What is behind the goal line covers nothing: on the line, turned to a ball at 45 degrees, the covering ends at the middle
// of the body on the side that is turned in.
func TestWhatIsBehindTheLineCoversNothing(t *testing.T) {
	n, ok := keeperShape.NetLeft(sixFeet, Spot{6, 6}, 1, Spot{0, 0})
	require.True(t, ok)
	assert.InDelta(t, .5, n.RightLow, 1e-9)
	assert.Less(t, n.LeftLow, .5)
}

// TestRaysPassTheEdges: each edge of what is covered lies on one line with the ball and the silhouette's edge.
func TestRaysPassTheEdges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ball := drawFront(t, 60, 5, 20)
		b, _ := BisectorFrom(sixFeet, ball)
		keeper := b.At(rapid.Float64Range(.7, 1.5).Draw(t, "out"))
		n, ok := Silhouette{BodyWidthM: .5, BodyHeightM: 1.5}.NetLeft(sixFeet, ball, 1, keeper)
		require.True(t, ok)
		half := sixFeet.WidthM / 2
		for _, edge := range []struct{ at, x float64 }{{.25, half - n.RightLow*2*half}, {-.25, n.LeftLow*2*half - half}} {
			p := b.Shifted(keeper, edge.at)
			cross := (p.XM-ball.XM)*(0-ball.YM) - (p.YM-ball.YM)*(edge.x-ball.XM)
			assert.InDelta(t, 0, cross, 1e-9)
		}
	})
}

// TestComingOut: along the bisector never more shows beside, and never more above while the release is no higher than the
// goalkeeper's reach; when it is higher, more shows above.
func TestComingOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Silhouette{
			rapid.Float64Range(.2, .7).Draw(t, "body"), rapid.Float64Range(.9, 1.9).Draw(t, "height"),
			rapid.Float64Range(0, .4).Draw(t, "crosse"), rapid.Float64Range(.9, 1.9).Draw(t, "crosse height"), rapid.Bool().Draw(t, "right"),
		}
		ball := drawFront(t, 79, 3, 20)
		release := rapid.Float64Range(0, 2.5).Draw(t, "release")
		b, _ := BisectorFrom(sixFeet, ball)
		one, two := rapid.Float64Range(0, 1.5).Draw(t, "one"), rapid.Float64Range(0, 1.5).Draw(t, "two")
		in, ok := s.NetLeft(sixFeet, ball, release, b.At(min(one, two)))
		require.True(t, ok)
		out, ok := s.NetLeft(sixFeet, ball, release, b.At(max(one, two)))
		require.True(t, ok)
		for name, pair := range map[string][2]float64{
			"right high": {in.RightHigh, out.RightHigh}, "right low": {in.RightLow, out.RightLow},
			"left high": {in.LeftHigh, out.LeftHigh}, "left low": {in.LeftLow, out.LeftLow},
		} {
			assert.LessOrEqual(t, pair[1], pair[0]+1e-9, name)
		}
		if release <= s.ReachM() {
			assert.LessOrEqual(t, out.Above, in.Above+1e-9)
		} else {
			assert.GreaterOrEqual(t, out.Above, in.Above-1e-9)
		}
	})
}

func TestAReleaseAboveTheReachShowsMoreAboveFurtherOut(t *testing.T) {
	low := Silhouette{BodyWidthM: .5, BodyHeightM: 1.4}
	in, _ := low.NetLeft(sixFeet, Spot{0, 8}, 2, Spot{0, .2})
	out, _ := low.NetLeft(sixFeet, Spot{0, 8}, 2, Spot{0, 1})
	assert.Greater(t, out.Above, in.Above+.01)
	in, _ = low.NetLeft(sixFeet, Spot{0, 8}, 1, Spot{0, .2})
	out, _ = low.NetLeft(sixFeet, Spot{0, 8}, 1, Spot{0, 1})
	assert.Less(t, out.Above, in.Above-.01)
}

func TestNetLeftMirrors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ball := drawFront(t, 85, 2, 20)
		keeper := Spot{rapid.Float64Range(-1, 1).Draw(t, "x"), rapid.Float64Range(0, 1).Draw(t, "y")}
		other := keeperShape
		other.StickRight = false
		a, ok := keeperShape.NetLeft(sixFeet, ball, 1.2, keeper)
		b, also := other.NetLeft(sixFeet, mirrored(ball), 1.2, mirrored(keeper))
		require.Equal(t, ok, also)
		assert.InDelta(t, a.RightHigh, b.LeftHigh, 1e-9)
		assert.InDelta(t, a.RightLow, b.LeftLow, 1e-9)
		assert.InDelta(t, a.LeftHigh, b.RightHigh, 1e-9)
		assert.InDelta(t, a.LeftLow, b.RightLow, 1e-9)
		assert.InDelta(t, a.Above, b.Above, 1e-9)
		for _, v := range []float64{a.RightHigh, a.RightLow, a.LeftHigh, a.LeftLow, a.Above} {
			assert.True(t, v >= 0 && v <= 1)
		}
	})
}

func TestSilhouetteCheckNamesTheNumber(t *testing.T) {
	assert.NoError(t, keeperShape.Check())
	for field, s := range map[string]Silhouette{
		"body_width_m": {.05, 1.5, 0, 0, true}, "body_height_m": {.5, math.NaN(), 0, 0, true},
		"crosse_width_m": {.5, 1.5, -1, 0, true}, "crosse_height_m": {.5, 1.5, 0, 3.1, true},
	} {
		var fault *Fault
		require.ErrorAs(t, s.Check(), &fault, field)
		assert.Equal(t, field, fault.Field)
	}
}
