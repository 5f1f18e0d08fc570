package field

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSwingThatCanBeReadOff(t *testing.T) {
	for name, c := range map[string]struct {
		from, to Spot
		want     float64
	}{
		"alley to alley":        {Spot{5, 5}, Spot{-5, 5}, 90},
		"same line":             {Spot{2, 2}, Spot{6, 6}, 0},
		"X to the top":          {Spot{0, -4}, Spot{0, 9}, 180},
		"pipe to pipe":          {Spot{4, 0}, Spot{-4, 0}, 180},
		"behind, right to left": {Spot{1, -math.Sqrt(3)}, Spot{-1, -math.Sqrt(3)}, 60},
		"behind to the alley":   {Spot{3, -3}, Spot{3, 3}, 90},
	} {
		got, ok := Swing(c.from, c.to)
		assert.True(t, ok, name)
		assert.InDelta(t, c.want, got, 1e-9, name)
	}
	_, ok := Swing(Spot{}, Spot{1, 1})
	assert.False(t, ok)
}

// TestSwingTurnsWithTheField: to turn both spots about the goal-line centre changes nothing, and turning one of them by some
// degrees swings the ball by as much, the shorter way.
func TestSwingTurnsWithTheField(t *testing.T) {
	turned := func(s Spot, deg float64) Spot {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		return Spot{s.XM*cos - s.YM*sin, s.XM*sin + s.YM*cos}
	}
	rapid.Check(t, func(t *rapid.T) {
		away := rapid.Float64Range(1, 30)
		a := turned(Spot{away.Draw(t, "a"), 0}, rapid.Float64Range(-180, 180).Draw(t, "at"))
		by, turn := rapid.Float64Range(0, 180).Draw(t, "by"), rapid.Float64Range(-360, 360).Draw(t, "turn")
		b := turned(a, by)
		stretch := away.Draw(t, "b")
		b = Spot{b.XM * stretch, b.YM * stretch}
		swing, ok := Swing(a, b)
		require.True(t, ok)
		assert.InDelta(t, by, swing, 1e-6)
		same, _ := Swing(turned(a, turn), turned(b, turn))
		assert.InDelta(t, swing, same, 1e-6)
		back, _ := Swing(b, a)
		assert.InDelta(t, swing, back, 1e-12)
		mirror, _ := Swing(mirrored(a), mirrored(b))
		assert.InDelta(t, swing, mirror, 1e-9)
	})
}

func TestCrossedAndBehind(t *testing.T) {
	assert.True(t, CrossedMiddle(Spot{3, 5}, Spot{-1, 5}))
	assert.True(t, CrossedMiddle(Spot{-3, -5}, Spot{1, 5}))
	assert.False(t, CrossedMiddle(Spot{3, 5}, Spot{1, 9}), "a skip on one side crosses nothing")
	assert.False(t, CrossedMiddle(Spot{0, 9}, Spot{5, 5}), "from the line")
	assert.True(t, WentBehind(Spot{3, -1}, Spot{3, 4}))
	assert.True(t, WentBehind(Spot{3, 4}, Spot{3, -1}))
	assert.False(t, WentBehind(Spot{3, 0}, Spot{-3, 4}), "on goal-line extended is not behind it")
}

// From the right post to the left one, straight across the opening less a stance, and round half a circle of that width.
func TestTravel(t *testing.T) {
	a := ArcTo(.9144 - .2)
	way, ok := a.Travel(sixFeet, Spot{6, 0}, Spot{-6, 0}, 0, 0)
	require.True(t, ok)
	assert.InDelta(t, 1.8288-.4, way.StraightM, 1e-9)
	assert.InDelta(t, math.Pi*(.9144-.2), way.AroundM, 1e-9)
	speed, ok := way.SpeedMS(.5)
	assert.True(t, ok)
	assert.InDelta(t, 2*(1.8288-.4), speed, 1e-9)
	for _, s := range []float64{0, -1, math.NaN()} {
		_, ok := way.SpeedMS(s)
		assert.False(t, ok)
	}
	_, ok = a.Travel(sixFeet, Spot{0, 0}, Spot{0, 9}, 0, 0)
	assert.False(t, ok)
	_, ok = a.Travel(sixFeet, Spot{0, 9}, Spot{0, .1}, 0, 0)
	assert.False(t, ok)

	// X to straight out: by either pipe and half of the arc.
	behind, ok := a.Travel(sixFeet, Spot{0, -4}, Spot{0, 9}, 0, 0)
	require.True(t, ok)
	end := .9144 - .2
	assert.InDelta(t, math.Hypot(end, BehindM)+math.Pi/2*end, behind.AroundM, 1e-9)
	// From one side behind to the other: past the middle.
	across, ok := a.Travel(sixFeet, Spot{4, -4}, Spot{-4, -4}, 0, 0)
	require.True(t, ok)
	assert.InDelta(t, end, across.StraightM, 1e-9)
	assert.InDelta(t, math.Hypot(end, BehindM), across.AroundM, 1e-9)
}
