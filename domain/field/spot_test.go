package field

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// anyCode draws a code of play.
var anyCode = rapid.SampledFrom([]string{"mens_field", "womens_field", "box", "sixes"})

// drawBall draws a spot where a ball may be.
func drawBall(t *rapid.T, g *Ground, name string) Spot {
	x := rapid.Float64Range(-g.MostWidthM/2, g.MostWidthM/2)
	y := rapid.Float64Range(-g.MostBehindM, math.Min(40, g.MostUpM))
	return rapid.Custom(func(t *rapid.T) Spot { return Spot{x.Draw(t, "x"), y.Draw(t, "y")} }).
		Filter(func(s Spot) bool { return g.CheckBall(s) == nil }).Draw(t, name)
}

// drawFront draws a ball in front of the goal line whose bearing is below most degrees, between two distances.
func drawFront(t *rapid.T, most, from, to float64) Spot {
	x, y := at(rapid.Float64Range(from, to).Draw(t, "distance"), rapid.Float64Range(0, most).Draw(t, "bearing"))
	if rapid.Bool().Draw(t, "left") {
		x = -x
	}
	return Spot{x, y}
}

func mirrored(s Spot) Spot { return Spot{-s.XM, s.YM} }

func TestSpotsThatCannotBeAreRefusedByName(t *testing.T) {
	men := groundOf(t, "mens_field")
	for name, c := range map[string]struct {
		spot  Spot
		field string
	}{
		"x is no number":                 {Spot{math.NaN(), 3}, "x_m"},
		"x is infinite":                  {Spot{math.Inf(-1), 3}, "x_m"},
		"y is no number":                 {Spot{3, math.NaN()}, "y_m"},
		"y is infinite":                  {Spot{3, math.Inf(1)}, "y_m"},
		"beyond the right sideline":      {Spot{32.1, 5}, "x_m"},
		"beyond the left sideline":       {Spot{-32.1, 5}, "x_m"},
		"beyond the end line":            {Spot{0, -17.1}, "y_m"},
		"beyond the far end line":        {Spot{0, 98.1}, "y_m"},
		"in the middle of the goal line": {Spot{0, 0}, "y_m"},
		"on the goal line at a post":     {Spot{.9144, 0}, "y_m"},
		"in the net":                     {Spot{0, -1}, "y_m"},
		"in a corner of the net":         {Spot{-.85, -.1}, "y_m"},
		"at the back of the net":         {Spot{0, -2.13}, "y_m"},
	} {
		_, err := men.See(c.spot)
		var fault *Fault
		require.ErrorAs(t, err, &fault, name)
		assert.Equal(t, c.field, fault.Field, name)
		assert.Contains(t, fault.Error(), c.field+" ", name)
	}
	for name, s := range map[string]Spot{
		"just out of the goal": {0, .01}, "beside the post": {.92, 0}, "on the line wide of it": {-4, 0}, "behind the net": {0, -2.14},
		"beside the net": {.5, -1}, "leaning over the sideline": {31.9, 5}, "at the far goal": {0, 70},
	} {
		assert.NoError(t, men.CheckBall(s), name)
	}
	assert.NoError(t, men.CheckSpot(Spot{}), "a goalkeeper may stand on the goal line")
	assert.Error(t, groundOf(t, "box").CheckBall(Spot{0, 70}), "a box floor is shorter")
	assert.Error(t, groundOf(t, "sixes").CheckBall(Spot{25, 10}), "and a sixes field narrower")
}

// Closed forms of right triangles.
func TestSee(t *testing.T) {
	g := groundOf(t, "mens_field").With(2, 2, 3)
	s, err := g.See(Spot{-4, 3})
	require.NoError(t, err)
	assert.InDelta(t, 5, s.DistanceM, 1e-12)
	assert.InDelta(t, 2, s.CreaseEdgeM, 1e-12)
	assert.InDelta(t, math.Sqrt(18), s.NearPostM, 1e-12)
	assert.InDelta(t, math.Sqrt(34), s.FarPostM, 1e-12)
	assert.InDelta(t, 53.13010235415598, s.BearingDeg, 1e-9, "the 3-4-5 triangle")
	// The law of cosines: 2² = 18 + 34 - 2 sqrt(18*34) cos a.
	assert.InDelta(t, math.Acos((18+34-4)/(2*math.Sqrt(18*34)))*180/math.Pi, s.GoalAngleDeg, 1e-9)
	assert.Equal(t, BallLeft, s.Side)
	assert.Equal(t, Inside, s.Area)
	near, err := g.See(Spot{0, 2})
	require.NoError(t, err)
	assert.InDelta(t, -1, near.CreaseEdgeM, 1e-12, "inside the circle it is negative")
	assert.Equal(t, BallMiddle, near.Side)
	// Thales: at half the width straight out the angle is a right one.
	right, err := g.See(Spot{math.Sin(1), math.Cos(1)})
	require.NoError(t, err)
	assert.InDelta(t, 90, right.GoalAngleDeg, 1e-9)
}

// The angle of a 6 ft goal straight on, 2 atan(3 ft / d), as published figures have it to a hundredth of a degree.
func TestGoalAngleTable(t *testing.T) {
	g := groundOf(t, "mens_field")
	for yards, want := range map[float64]float64{5: 22.62, 8: 14.25, 10: 11.42, 12: 9.53, 15: 7.63} {
		s, err := g.See(Spot{0, yards * .9144})
		require.NoError(t, err)
		assert.InDelta(t, want, s.GoalAngleDeg, .005, "%g yd", yards)
		assert.InDelta(t, 2*math.Atan(3/(3*yards))*180/math.Pi, s.GoalAngleDeg, 1e-9, "%g yd", yards)
	}
}

func TestNoGoalShowsOnTheExtensionOrBehind(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, _ := GroundOf(anyCode.Draw(t, "code"))
		s := drawBall(t, &g, "ball")
		sight, err := g.See(s)
		require.NoError(t, err)
		if s.YM <= 0 {
			assert.Zero(t, sight.GoalAngleDeg)
			return
		}
		assert.Positive(t, sight.GoalAngleDeg)
		assert.LessOrEqual(t, sight.GoalAngleDeg, 180.0)
		// It vanishes toward the extension: there it is below the width over the gap to the post, times the height.
		low, err := g.See(Spot{math.Copysign(math.Abs(s.XM)+1, s.XM), 1e-6})
		require.NoError(t, err)
		assert.Less(t, low.GoalAngleDeg, 1e-3)
	})
}

func TestTheAngleIsLargestOnTheAxisBeyondHalfTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, _ := GroundOf(anyCode.Draw(t, "code"))
		distance := rapid.Float64Range(g.GoalWidthM/2+.01, 30).Draw(t, "distance")
		a, b := rapid.Float64Range(0, 90).Draw(t, "a"), rapid.Float64Range(0, 90).Draw(t, "b")
		ax, ay := at(distance, min(a, b))
		bx, by := at(distance, max(a, b))
		o := g.Opening()
		assert.GreaterOrEqual(t, o.AngleDeg(Spot{ax, ay})+1e-9, o.AngleDeg(Spot{bx, by}), "further round it is smaller")
	})
}

func TestSeeIsTheSameOnBothSides(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, _ := GroundOf(anyCode.Draw(t, "code"))
		s := drawBall(t, &g, "ball")
		a, err := g.See(s)
		require.NoError(t, err)
		b, err := g.See(mirrored(s))
		require.NoError(t, err)
		assert.Equal(t, s.XM == 0, a.Side == b.Side)
		b.Side = a.Side
		assert.Equal(t, a, b)
	})
}

// TestDistancesAgreeWithTheTriangle: the posts and the ball make a triangle, so its sides obey the law of cosines, and the
// line to the middle of the goal obeys Apollonius' theorem.
func TestDistancesAgreeWithTheTriangle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, _ := GroundOf(anyCode.Draw(t, "code"))
		s, err := g.See(drawBall(t, &g, "ball"))
		require.NoError(t, err)
		w, n, f := g.GoalWidthM, s.NearPostM, s.FarPostM
		assert.LessOrEqual(t, n, f)
		assert.InDelta(t, n*n+f*f, 2*s.DistanceM*s.DistanceM+w*w/2, 1e-6)
		if s.GoalAngleDeg > 0 {
			assert.InDelta(t, w*w, n*n+f*f-2*n*f*math.Cos(s.GoalAngleDeg*math.Pi/180), 1e-6)
		}
		assert.InDelta(t, g.CreaseRadiusM, s.DistanceM-s.CreaseEdgeM, 1e-12)
	})
}

// TestNumbersDoNotJumpAtTheBordersOfAreas steps over each border by a tenth of a millimetre.
func TestNumbersDoNotJumpAtTheBordersOfAreas(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g, _ := GroundOf(anyCode.Draw(t, "code"))
		bearing := rapid.SampledFrom([]float64{30, 60, 80, 100, 160}).Draw(t, "border")
		distance := rapid.Float64Range(5.6, 7).Draw(t, "distance") // the borders in front of the goal line begin beyond the inside
		var seen [2]Sight
		if rapid.Bool().Draw(t, "at the edge of the inside") {
			bearing = rapid.Float64Range(0, 79).Draw(t, "bearing")
			for i, step := range []float64{-5e-5, 5e-5} {
				x, y := at(g.InsideM+step, bearing)
				seen[i] = g.see(Spot{x, y})
			}
		} else {
			for i, step := range []float64{-5e-5, 5e-5} {
				x, y := at(distance, bearing+step/distance*180/math.Pi)
				seen[i] = g.see(Spot{x, y})
			}
		}
		assert.NotEqual(t, seen[0].Area, seen[1].Area)
		for name, pair := range map[string][2]float64{
			"distance": {seen[0].DistanceM, seen[1].DistanceM}, "bearing": {seen[0].BearingDeg, seen[1].BearingDeg},
			"near": {seen[0].NearPostM, seen[1].NearPostM}, "far": {seen[0].FarPostM, seen[1].FarPostM},
			"edge": {seen[0].CreaseEdgeM, seen[1].CreaseEdgeM}, "angle": {seen[0].GoalAngleDeg, seen[1].GoalAngleDeg},
		} {
			assert.InDelta(t, pair[0], pair[1], .01, name)
		}
	})
}
