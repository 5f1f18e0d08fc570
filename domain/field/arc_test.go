package field

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func drawArc(t *rapid.T) Arc { return ArcTo(rapid.Float64Range(.2, 1.2).Draw(t, "apex")) }

func TestArcCheckNamesTheNumber(t *testing.T) {
	assert.NoError(t, ArcTo(.6).Check(sixFeet))
	for field, a := range map[string]Arc{
		"apex_m": {0, .2, .4}, "half_stance_m": {.6, .92, .4}, "behind_m": {.6, .2, -.1},
	} {
		var fault *Fault
		require.ErrorAs(t, a.Check(sixFeet), &fault, field)
		assert.Equal(t, field, fault.Field)
	}
	assert.Error(t, ArcTo(math.NaN()).Check(sixFeet))
}

func TestPostsThatCanBeReadOff(t *testing.T) {
	a := ArcTo(.6)
	end := .9144 - .2
	for name, c := range map[string]struct {
		ball, want Spot
		how        PostHow
	}{
		"straight out":        {Spot{0, 9}, Spot{0, .6}, OnBisector},
		"goal-line extended":  {Spot{6, 0}, Spot{end, 0}, OnBisector},
		"on the left":         {Spot{-6, 0}, Spot{-end, 0}, OnBisector},
		"at X":                {Spot{0, -4}, Spot{0, .45}, BallBehind},
		"halfway behind":      {Spot{4, -4}, Spot{end / 2, .225}, BallBehind},
		"tight on the post":   {Spot{1, .05}, Spot{end, 0}, OnPipe},
		"tight on the left":   {Spot{-1, .05}, Spot{-end, 0}, OnPipe},
		"behind, at the line": {Spot{5, -1e-9}, Spot{end, 0}, BallBehind},
	} {
		p, ok := a.PostFor(sixFeet, c.ball, 0)
		require.True(t, ok, name)
		assert.Equal(t, c.how, p.How, name)
		assert.InDelta(t, c.want.XM, p.Spot.XM, 1e-8, name)
		assert.InDelta(t, c.want.YM, p.Spot.YM, 1e-8, name)
	}
	for name, ball := range map[string]Spot{"in the goal": {0, 0}, "inside the arc": {.1, .3}} {
		_, ok := a.PostFor(sixFeet, ball, 0)
		assert.False(t, ok, name)
	}
}

// With the ball at goal-line extended the near foot seals the pipe, and the feet are about shoulder width apart: common
// practice.
func TestTheNearFootSealsThePipe(t *testing.T) {
	p, ok := ArcTo(.7).PostFor(sixFeet, Spot{5, 0}, 0)
	require.True(t, ok)
	assert.InDelta(t, sixFeet.WidthM/2, p.Spot.XM+HalfStanceM, 1e-9)
	assert.InDelta(t, .4, 2*HalfStanceM, 1e-12)
}

func TestAPostLiesOnTheArcAndOnTheBisector(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawArc(t)
		ball := drawFront(t, 90, 2, 25)
		p, ok := a.PostFor(sixFeet, ball, 0)
		require.True(t, ok)
		require.Equal(t, OnBisector, p.How, "from 2 m off the middle on the bisector always meets the arc")
		end := sixFeet.WidthM/2 - a.HalfStanceM
		assert.InDelta(t, 1, p.Spot.XM*p.Spot.XM/end/end+p.Spot.YM*p.Spot.YM/a.ApexM/a.ApexM, 1e-9)
		assert.GreaterOrEqual(t, p.Spot.YM, 0.0)
		b, _ := BisectorFrom(sixFeet, ball)
		// Twice the area of the triangle ball, foot, post is 0 on one line.
		cross := (b.Foot.XM-ball.XM)*(p.Spot.YM-ball.YM) - (b.Foot.YM-ball.YM)*(p.Spot.XM-ball.XM)
		assert.InDelta(t, 0, cross, 1e-8)
		assert.LessOrEqual(t, distance(p.Spot, ball), distance(b.Foot, ball)+1e-9, "it is met on the ball's side")

		m, _ := a.PostFor(sixFeet, mirrored(ball), 0)
		assert.InDelta(t, 0, distance(mirrored(p.Spot), m.Spot), 1e-9)
	})
}

func TestAShadedPostIsNotOff(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ball := drawFront(t, 70, 4, 15)
		shade := rapid.Float64Range(-.1, .1).Draw(t, "shade")
		p, ok := ArcTo(.7).PostFor(sixFeet, ball, shade)
		require.True(t, ok)
		b, _ := BisectorFrom(sixFeet, ball)
		assert.InDelta(t, 0, b.Stance(p.Spot, shade).OffCM, 1e-7)
		assert.InDelta(t, 100*shade, b.Stance(p.Spot, 0).OffCM, 1e-7)
	})
}

// TestAPostMovesWithTheBall: over every border, goal-line extended and 80 degrees included, a ball that moves a millimetre
// moves the post by little.
func TestAPostMovesWithTheBall(t *testing.T) {
	a := ArcTo(.7)
	for _, away := range []float64{2.5, 5, 10} {
		last := Spot{0, .7}
		for deg := 0.0; deg <= 180; deg += .01 {
			x, y := at(away, deg)
			p, ok := a.PostFor(sixFeet, Spot{x, y}, 0)
			require.True(t, ok)
			require.Less(t, distance(last, p.Spot), .02, "%g m, %g degrees", away, deg)
			last = p.Spot
		}
		assert.InDelta(t, 0, distance(last, Spot{0, BehindM}), .01)
	}
}

// A circle is an ellipse: half of it is pi times the radius. And from Abramowitz and Stegun, Handbook of Mathematical
// Functions, table 17.1: E(m = 0.75) = 1.21105603, which is a quarter of the ellipse with half axes 1 and sqrt(1-m) = 1/2.
func TestTheLengthOfAnArc(t *testing.T) {
	o := Opening{2.4, 1.8}
	round := Arc{ApexM: 1, HalfStanceM: .2}
	assert.InDelta(t, math.Pi, round.along(Spot{1, 0}, Spot{-1, 0}, round.endM(o)), 1e-12)
	assert.InDelta(t, math.Pi/2, round.along(Spot{0, 1}, Spot{-1, 0}, 1), 1e-12)
	assert.InDelta(t, math.Pi/6, round.along(Spot{.5, math.Sqrt(.75)}, Spot{0, 1}, 1), 1e-12)
	flat := Arc{ApexM: .5, HalfStanceM: .2}
	assert.InDelta(t, 1.21105603, flat.along(Spot{1, 0}, Spot{0, .5}, 1), 1e-6)
	assert.InDelta(t, 2*1.21105603, flat.along(Spot{1, 0}, Spot{-1, 0}, 1), 1e-6)
}

func TestTheWayRoundIsNeverShorter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := groundOf(t, "mens_field")
		a := drawArc(t)
		from, to := drawBall(t, g, "from"), drawBall(t, g, "to")
		way, ok := a.Travel(g.Opening(), from, to, 0, 0)
		if !ok {
			return
		}
		assert.GreaterOrEqual(t, way.AroundM, way.StraightM-1e-3)
		back, _ := a.Travel(g.Opening(), to, from, 0, 0)
		assert.InDelta(t, way.StraightM, back.StraightM, 1e-12)
		assert.InDelta(t, way.AroundM, back.AroundM, 1e-9)
		other, _ := a.Travel(g.Opening(), mirrored(from), mirrored(to), 0, 0)
		assert.InDelta(t, way.StraightM, other.StraightM, 1e-9)
		assert.InDelta(t, way.AroundM, other.AroundM, 1e-6)
	})
}
