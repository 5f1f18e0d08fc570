package field

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestTheBisectorHalvesTheAngle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := Opening{rapid.Float64Range(1, 2.5).Draw(t, "width"), 1.8}
		ball := drawFront(t, 89, 1.5, 25)
		b, ok := BisectorFrom(o, ball)
		require.True(t, ok)
		half := o.WidthM / 2
		whole := o.AngleDeg(ball)
		for name, post := range map[string]float64{"right": half, "left": -half} {
			toPost := math.Atan2(post-ball.XM, ball.YM)
			toFoot := math.Atan2(b.Foot.XM-ball.XM, ball.YM)
			assert.InDelta(t, whole/2, math.Abs(toPost-toFoot)*180/math.Pi, 1e-6, name)
		}
		assert.Less(t, math.Abs(b.Foot.XM), half)
		assert.InDelta(t, 1, math.Hypot(b.inX, b.inY), 1e-12)
		// Any spot on it is as far from both lines of sight: its offset is nil.
		out := rapid.Float64Range(0, 1).Draw(t, "out")
		st := b.Stance(b.At(out), 0)
		assert.InDelta(t, 0, st.OffCM, 1e-7)
		assert.InDelta(t, out, st.OutAlongBisectorM, 1e-9)
		assert.InDelta(t, b.At(out).YM, st.DepthM, 0)
	})
}

func TestNoBisectorWhereNoGoalShows(t *testing.T) {
	for _, s := range []Spot{{0, 0}, {.5, 0}, {0, -3}, {5, -.1}} {
		_, ok := BisectorFrom(sixFeet, s)
		assert.False(t, ok, "%v", s)
	}
	b, ok := BisectorFrom(sixFeet, Spot{5, 0})
	require.True(t, ok, "on the extension it runs along the goal line")
	assert.InDelta(t, 0, b.At(1).YM, 1e-12)
}

// Straight out everything can be read off: right is +x.
func TestStanceStraightOut(t *testing.T) {
	b, ok := BisectorFrom(sixFeet, Spot{0, 10})
	require.True(t, ok)
	st := b.Stance(Spot{.12, .8}, 0)
	assert.InDelta(t, 12, st.OffCM, 1e-9, "toward the right post")
	assert.InDelta(t, math.Atan(.12/9.2)*180/math.Pi, st.OffDeg, 1e-9)
	assert.InDelta(t, .8, st.DepthM, 1e-12)
	assert.InDelta(t, .8, st.OutAlongBisectorM, 1e-12)
	assert.InDelta(t, -12, b.Stance(Spot{-.12, .8}, 0).OffCM, 1e-9)
	assert.InDelta(t, 7, b.Stance(Spot{.12, .8}, .05).OffCM, 1e-9, "a shade of 5 cm to the right is no fault")
	assert.InDelta(t, 0, b.Stance(b.Shifted(b.At(.5), .05), .05).OffCM, 1e-9)
	assert.False(t, b.Stance(Spot{0, 10.5}, 0).OffKnown, "past the ball")
}

func TestOffTheBisectorIsNotToldFrom80Degrees(t *testing.T) {
	for bearing, want := range map[float64]bool{0: true, 45: true, 79.99: true, 80.01: false, 90: false} {
		x, y := at(8, bearing)
		for _, ball := range []Spot{{x, y}, {-x, y}} {
			b, ok := BisectorFrom(sixFeet, ball)
			require.True(t, ok)
			st := b.Stance(Spot{.5, .1}, 0)
			assert.Equal(t, want, st.OffKnown, "%g", bearing)
			assert.InDelta(t, .1, st.DepthM, 1e-12, "how far off the goal line is always told")
			if !want {
				assert.Zero(t, st.OffCM)
			}
		}
	}
}

func TestStanceMirrors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ball := drawFront(t, 79, 2, 20)
		keeper := Spot{rapid.Float64Range(-1, 1).Draw(t, "x"), rapid.Float64Range(0, 1).Draw(t, "y")}
		shade := rapid.Float64Range(-.2, .2).Draw(t, "shade")
		b, _ := BisectorFrom(sixFeet, ball)
		m, _ := BisectorFrom(sixFeet, mirrored(ball))
		one, other := b.Stance(keeper, shade), m.Stance(mirrored(keeper), -shade)
		assert.InDelta(t, one.OffCM, -other.OffCM, 1e-9)
		assert.InDelta(t, one.OffDeg, -other.OffDeg, 1e-9)
		assert.InDelta(t, one.OutAlongBisectorM, other.OutAlongBisectorM, 1e-12)
		assert.Equal(t, one.OffKnown, other.OffKnown)
		// The offset and the distance along make the two legs of a right triangle from the ball.
		if one.OffKnown {
			away := distance(ball, b.Shifted(keeper, -shade))
			assert.InDelta(t, away*math.Sin(one.OffDeg*math.Pi/180)*100, one.OffCM, 1e-7)
		}
	})
}

func TestShade(t *testing.T) {
	for _, c := range []struct {
		ball Spot
		want float64
	}{
		{Spot{6, 6}, .1}, {Spot{-6, 6}, -.1}, {Spot{0, 9}, 0}, {Spot{2, 9}, 0}, {Spot{0, 0}, 0}, {Spot{0, -3}, 0}, {Spot{3, -3}, .1},
	} {
		assert.InDelta(t, c.want, ShadeToRight(c.ball, .1), 0, "%v", c.ball)
	}
}

// Square to a shooter means the shoulders at 90 degrees to the line to the ball: common practice.
func TestSquareIsAtRightAnglesToTheLineToTheBall(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ball := drawFront(t, 85, 3, 15)
		keeper := Spot{rapid.Float64Range(-.8, .8).Draw(t, "x"), rapid.Float64Range(0, 1).Draw(t, "y")}
		facing := rapid.Float64Range(-180, 180).Draw(t, "facing")
		off := OffSquareDeg(keeper, ball, facing)
		// The shoulders are at right angles to where the hips face: (cos f, -sin f).
		sin, cos := math.Sincos(facing * math.Pi / 180)
		dx, dy := ball.XM-keeper.XM, ball.YM-keeper.YM
		between := math.Acos((cos*dx-sin*dy)/math.Hypot(dx, dy)) * 180 / math.Pi
		assert.InDelta(t, math.Abs(math.Sin(off*math.Pi/180)), math.Abs(math.Cos(between*math.Pi/180)), 1e-9)
		assert.True(t, off >= 0 && off <= 180)
		assert.InDelta(t, off, OffSquareDeg(mirrored(keeper), mirrored(ball), -facing), 1e-9)
	})
	assert.InDelta(t, 0, OffSquareDeg(Spot{0, .5}, Spot{0, 9}, 0), 1e-12)
	assert.InDelta(t, 45, OffSquareDeg(Spot{0, 0}, Spot{5, 5}, 0), 1e-12)
	assert.InDelta(t, 10, OffSquareDeg(Spot{0, 0}, Spot{-.0001, -5}, 170), .01, "the shorter way round")
	assert.True(t, Square(20))
	assert.False(t, Square(20.01))
}

// With the ball at 45 degrees the line through the feet of a goalkeeper who is square on the bisector makes about 45 degrees
// with the goal line, 44 to 45, and the foot nearer the middle is up-field: common practice.
func TestFeetWithTheBallAt45Degrees(t *testing.T) {
	for _, away := range []float64{5, 7, 9, 12} {
		x, y := at(away, 45)
		b, ok := BisectorFrom(sixFeet, Spot{x, y})
		require.True(t, ok)
		spot := b.At(.6)
		right, left := b.Shifted(spot, HalfStanceM), b.Shifted(spot, -HalfStanceM)
		slope := math.Atan2(left.YM-right.YM, right.XM-left.XM) * 180 / math.Pi
		assert.True(t, slope > 44 && slope < 45, "%g m: %g degrees", away, slope)
		assert.Less(t, math.Abs(left.XM), math.Abs(right.XM))
		assert.Greater(t, left.YM, right.YM)
	}
}
