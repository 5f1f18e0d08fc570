package field

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func goodQuestion() Question {
	return Question{
		Ball: Spot{-3, 8}, ReleaseUpM: 1.2, SpeedMS: 31, Keeper: keeperShape, Arc: ArcTo(.7), OutsM: []float64{0, .4, .8, 1.2},
	}
}

func TestTeachSetsDepthsSideBySide(t *testing.T) {
	g := groundOf(t, "mens_field")
	q := goodQuestion()
	l, err := Teach(g, q)
	require.NoError(t, err)
	require.Len(t, l.Depths, 4)
	toFoot := distance(q.Ball, l.Foot)
	assert.InDelta(t, toFoot/31, l.ToLineS, 1e-12)
	drag, _ := DragFlightS(31, toFoot)
	assert.InDelta(t, drag, l.DragToLineS, 0)
	for i, d := range l.Depths {
		assert.InDelta(t, q.OutsM[i], d.OutAlongBisectorM, 0, "as it was asked")
		b, _ := BisectorFrom(g.Opening(), q.Ball)
		assert.InDelta(t, q.OutsM[i], b.Stance(d.Spot, 0).OutAlongBisectorM, 1e-9)
		assert.InDelta(t, (toFoot-q.OutsM[i])/31, d.TimeS, 1e-12, "on the bisector every metre out is a metre less of flight")
		assert.InDelta(t, q.OutsM[i]/31, d.CostS, 1e-12)
		assert.Greater(t, d.DragTimeS, d.TimeS)
		assert.InDelta(t, d.Spot.YM, d.DepthM, 0)
		want, _ := keeperShape.NetLeft(g.Opening(), q.Ball, q.ReleaseUpM, d.Spot)
		assert.Equal(t, want, d.Net)
		if i > 0 {
			assert.Greater(t, d.Net.CoveredLow(), l.Depths[i-1].Net.CoveredLow(), "cover grows as time shrinks")
			assert.Less(t, d.TimeS, l.Depths[i-1].TimeS)
		}
	}
	assert.Equal(t, OnBisector, l.Post.How)
	assert.InDelta(t, 0, distance(l.Post.Spot, l.AtArc.Spot), 0)
	assert.Equal(t, Top, l.Sight.Area, "20.6 degrees")
}

func TestTeachRecommendsNoDepth(t *testing.T) {
	g := groundOf(t, "mens_field")
	q := goodQuestion()
	l, err := Teach(g, q)
	require.NoError(t, err)
	says := strings.Join(l.Says, "\n")
	assert.Contains(t, says, "No depth is recommended")
	assert.Contains(t, says, "From 0.00 m out to 1.20 m out")
	assert.Contains(t, says, fmt.Sprintf("With drag, whose coefficient is from memory, it would be about %.0f ms.", 1000*l.DragToLineS))
	assert.NotContains(t, says, "higher than the goalkeeper's reach", "the release is lower")

	q.ReleaseUpM, q.Keeper.BodyHeightM, q.Keeper.CrosseHeightM = 2.1, 1.3, 1.4
	l, err = Teach(g, q)
	require.NoError(t, err)
	says = strings.Join(l.Says, "\n")
	assert.Contains(t, says, "The release at 2.10 m is higher than the goalkeeper's reach of 1.40 m")
	for i, d := range l.Depths[1:] {
		assert.Greater(t, d.Net.Above, l.Depths[i].Net.Above)
	}
	q.OutsM = nil
	l, err = Teach(g, q)
	require.NoError(t, err, "the arc alone may be asked for")
	assert.Empty(t, l.Depths)
	assert.Len(t, l.Says, 3)
}

func TestTeachWithAShadeStaysOnTheShadedLine(t *testing.T) {
	g := groundOf(t, "mens_field")
	q := goodQuestion()
	q.ShadeM = -.1
	l, err := Teach(g, q)
	require.NoError(t, err)
	b, _ := BisectorFrom(g.Opening(), q.Ball)
	for _, d := range append(l.Depths[1:], l.AtArc) {
		assert.InDelta(t, 0, b.Stance(d.Spot, -.1).OffCM, 1e-7)
	}
}

func TestTeachRefusesByName(t *testing.T) {
	g := groundOf(t, "mens_field")
	for name, c := range map[string]struct {
		change func(*Question)
		field  string
	}{
		"ball in the net":             {func(q *Question) { q.Ball = Spot{0, -1} }, "y_m"},
		"ball off the field":          {func(q *Question) { q.Ball = Spot{50, 1} }, "x_m"},
		"ball behind":                 {func(q *Question) { q.Ball = Spot{0, -4} }, "y_m"},
		"ball at 81 degrees":          {func(q *Question) { q.Ball = Spot{6, .95} }, "y_m"},
		"ball inside the arc":         {func(q *Question) { q.Ball = Spot{0, .4} }, "y_m"},
		"release underground":         {func(q *Question) { q.ReleaseUpM = -.1 }, "release_up_m"},
		"release no number":           {func(q *Question) { q.ReleaseUpM = math.NaN() }, "release_up_m"},
		"no speed":                    {func(q *Question) { q.SpeedMS = 0 }, "speed_ms"},
		"too fast":                    {func(q *Question) { q.SpeedMS = 71 }, "speed_ms"},
		"shade too wide":              {func(q *Question) { q.ShadeM = .6 }, "shade_m"},
		"no goalkeeper":               {func(q *Question) { q.Keeper.BodyWidthM = 0 }, "body_width_m"},
		"no arc":                      {func(q *Question) { q.Arc.ApexM = 0 }, "apex_m"},
		"into the goal":               {func(q *Question) { q.OutsM = []float64{.5, -.1} }, "out_along_bisector_m/1"},
		"past the ball":               {func(q *Question) { q.OutsM = []float64{9} }, "out_along_bisector_m/0"},
		"no number":                   {func(q *Question) { q.OutsM = []float64{math.NaN()} }, "out_along_bisector_m/0"},
		"more distances than allowed": {func(q *Question) { q.OutsM = make([]float64, MostOuts+1) }, "out_along_bisector_m"},
	} {
		q := goodQuestion()
		c.change(&q)
		_, err := Teach(g, q)
		var fault *Fault
		require.ErrorAs(t, err, &fault, name)
		assert.Equal(t, c.field, fault.Field, name)
	}
}

func TestTeachMirrors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := groundOf(t, anyCode.Draw(t, "code"))
		q := goodQuestion()
		q.Ball = drawFront(t, 75, 4, 15)
		one, err := Teach(g, q)
		require.NoError(t, err)
		m := q
		m.Ball, m.Keeper.StickRight = mirrored(q.Ball), !q.Keeper.StickRight
		other, err := Teach(g, m)
		require.NoError(t, err)
		for i, d := range one.Depths {
			o := other.Depths[i]
			assert.InDelta(t, 0, distance(mirrored(d.Spot), o.Spot), 1e-9)
			assert.InDelta(t, d.Net.RightHigh, o.Net.LeftHigh, 1e-9)
			assert.InDelta(t, d.Net.LeftLow, o.Net.RightLow, 1e-9)
			assert.InDelta(t, d.TimeS, o.TimeS, 1e-9)
		}
	})
}
