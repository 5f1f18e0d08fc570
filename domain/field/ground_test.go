package field

import (
	"bytes"
	"encoding/json"
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTheFileOfGroundsIsWhole(t *testing.T) {
	raw, err := groundFile.ReadFile("grounds.json")
	require.NoError(t, err)
	var list []started
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	require.NoError(t, d.Decode(&list))
	require.Len(t, list, 4)

	names := map[string]bool{}
	for i := range reflect.TypeFor[Ground]().NumField() {
		names[reflect.TypeFor[Ground]().Field(i).Tag.Get("json")] = true
	}
	everywhere := []string{
		"goal_width_m", "goal_height_m", "post_m", "net_depth_m", "crease_radius_m", "goal_to_end_m", "goal_to_goal_m", "width_m",
		"most_width_m", "most_behind_m", "most_up_m", "inside_m", "outside_m", "on_angle_m", "depth_held_m",
	}
	for _, s := range list {
		for name, m := range s.Measures {
			assert.True(t, names[name], "%s has %s, which is no measure", s.CodeOfPlay, name)
			assert.Positive(t, m.Value, "%s %s", s.CodeOfPlay, name)
			assert.NotEmpty(t, m.Rule, "%s %s", s.CodeOfPlay, name)
			assert.NotEmpty(t, m.Source, "%s %s", s.CodeOfPlay, name)
			if m.Source == "from memory" || m.Source == "common practice" {
				assert.True(t, m.Unconfirmed, "%s %s", s.CodeOfPlay, name)
			}
		}
		for _, name := range everywhere {
			assert.Contains(t, s.Measures, name, s.CodeOfPlay)
		}
		assert.Len(t, s.ReferenceSpots, len(Areas), s.CodeOfPlay)
		g := groundOf(t, s.CodeOfPlay)
		assert.LessOrEqual(t, g.WidthM, g.MostWidthM, s.CodeOfPlay)
		assert.LessOrEqual(t, g.GoalToEndM, g.MostBehindM, s.CodeOfPlay)
		assert.LessOrEqual(t, g.GoalToGoalM, g.MostUpM, s.CodeOfPlay)
	}
	_, ok := GroundOf("croquet")
	assert.False(t, ok)
	assert.Nil(t, MeasuresOf("croquet"))
}

// The rule books' own figures, turned into metres here: 1 ft = 0.3048 m, 1 yd = 0.9144 m, 1 in = 25.4 mm exactly.
func TestRuleBookDimensions(t *testing.T) {
	const ft, yd, in = .3048, .9144, .0254
	men, women, box, sixes := groundOf(t, "mens_field"), groundOf(t, "womens_field"), groundOf(t, "box"), groundOf(t, "sixes")
	for name, c := range map[string]struct{ want, got float64 }{
		"men's goal, NCAA goal specification":             {6 * ft, men.GoalWidthM},
		"its height":                                      {6 * ft, men.GoalHeightM},
		"its area, 36 sq ft = 3.345 m2":                   {3.3445, men.GoalWidthM * men.GoalHeightM},
		"its pipe":                                        {1.90 * in, men.PostM},
		"its ground frame":                                {7 * ft, men.NetDepthM},
		"men's crease, US Lacrosse 2017":                  {9 * ft, men.CreaseRadiusM},
		"men's goal line to end line":                     {15 * yd, men.GoalToEndM},
		"men's goals apart":                               {80 * yd, men.GoalToGoalM},
		"men's field, 110 yd":                             {110 * yd, men.GoalToGoalM + 2*men.GoalToEndM},
		"its width":                                       {60 * yd, men.WidthM},
		"men's goal area, 35 yd long":                     {35 * yd, men.GoalToEndM + men.RestrainingM},
		"its width, 40 yd":                                {40 * yd, men.GoalAreaWidthM},
		"men's restraining lines, 40 yd apart":            {40 * yd, men.GoalToGoalM - 2*men.RestrainingM},
		"women's circle":                                  {2.6, women.CreaseRadiusM},
		"women's arc, 10.6 m from the middle of the goal": {10.6, women.ArcRadiusM()},
		"women's fan, 14.6 m":                             {14.6, women.FanRadiusM()},
		"women's restraining line":                        {30 * yd, women.RestrainingM},
		"box goal, Canadian rules":                        {4 * ft, box.GoalWidthM},
		"box crease":                                      {9*ft + 3*in, box.CreaseRadiusM},
		"box floor, 200 ft":                               {200 * ft, box.GoalToGoalM + 2*box.GoalToEndM},
		"its width, 85 ft":                                {85 * ft, box.WidthM},
		"sixes field, 70 m":                               {70, sixes.GoalToGoalM + 2*sixes.GoalToEndM},
		"its width, 36 m":                                 {36, sixes.WidthM},
	} {
		assert.InDelta(t, c.want, c.got, 1e-4, name)
	}
	assert.Zero(t, men.ArcRadiusM())
	assert.Zero(t, men.FanRadiusM())
	assert.True(t, MeasuresOf("sixes")["crease_radius_m"].Unconfirmed)
	assert.False(t, MeasuresOf("mens_field")["crease_radius_m"].Unconfirmed)
	MeasuresOf("mens_field")["crease_radius_m"] = Measure{}
	assert.NotEmpty(t, MeasuresOf("mens_field")["crease_radius_m"].Source, "the map is the caller's own")
}

func TestACompetitionsOwnSizesOverride(t *testing.T) {
	g := groundOf(t, "womens_field").With(1.5, 1.6, 3)
	assert.Equal(t, Opening{1.5, 1.6}, g.Opening())
	assert.InDelta(t, 11, g.ArcRadiusM(), 1e-12, "the arc is measured from the circle")
	assert.InDelta(t, 15, g.FanRadiusM(), 1e-12)
	assert.InDelta(t, 2.6, groundOf(t, "womens_field").CreaseRadiusM, 0, "what it started from is as it was")
}

// The straight side leaves the circle at (2.6, 0) at 45 degrees; it is at (8.682, 6.082) when it is 10.6 m from the middle:
// with y = x - 2.6, 2y² + 5.2y + 6.76 = 112.36.
func TestTheWomensAreas(t *testing.T) {
	g := groundOf(t, "womens_field")
	end := g.arcEnd()
	assert.InDelta(t, (-5.2+math.Sqrt(5.2*5.2+8*105.6))/4, end.YM, 1e-9)
	assert.InDelta(t, end.YM+2.6, end.XM, 1e-9)
	for _, c := range []struct {
		name     string
		s        Spot
		arc, fan bool
	}{
		{"straight out, on the arc", Spot{0, 10.6}, true, true},
		{"just beyond it", Spot{0, 10.61}, false, true},
		{"on the fan", Spot{0, 14.6}, false, true},
		{"beyond it", Spot{0, 14.61}, false, false},
		{"inside the circle", Spot{0, 1}, true, true},
		{"inside the straight side", Spot{5, 2.5}, true, true},
		{"on the left, too", Spot{-5, 2.5}, true, true},
		{"outside the straight side", Spot{5, 2.3}, false, true},
		{"on the left, too", Spot{-5, 2.3}, false, true},
		{"on the goal line where the fan touches it", Spot{14.6, 0}, false, true},
		{"on the goal line where the arc's side begins", Spot{2.6, 0}, true, true},
		{"behind the goal line", Spot{0, -2.5}, false, false},
	} {
		assert.Equal(t, c.arc, g.InArc(c.s), "%s: arc", c.name)
		assert.Equal(t, c.fan, g.InFan(c.s), "%s: fan", c.name)
	}
	men := groundOf(t, "mens_field")
	assert.False(t, men.InArc(Spot{0, 5}) || men.InFan(Spot{0, 5}), "men's fields have neither")
}
