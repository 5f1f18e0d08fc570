package field

import (
	"math"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func playMarks(t *testing.T, code string) ([]Mark, map[string]Spot) {
	t.Helper()
	marks := Marks(code, groundOf(t, code), nil)
	return marks, MarkSpots(marks)
}

// The spots are the rule books' figures: 1 ft = 0.3048 m, 1 yd = 0.9144 m.
func TestMarksOfARuleBook(t *testing.T) {
	const ft, yd = .3048, .9144
	_, men := playMarks(t, "mens_field")
	_, women := playMarks(t, "womens_field")
	_, box := playMarks(t, "box")
	for name, c := range map[string]struct{ want, got Spot }{
		"right post":                  {Spot{3 * ft, 0}, men["post_right"]},
		"left post":                   {Spot{-3 * ft, 0}, men["post_left"]},
		"crease on the goal line":     {Spot{9 * ft, 0}, men["crease_goal_line_right"]},
		"crease's top":                {Spot{0, 9 * ft}, men["crease_top"]},
		"crease's back":               {Spot{0, -9 * ft}, men["crease_back"]},
		"goal area's front corner":    {Spot{20 * yd, 20 * yd}, men["goal_area_front_right"]},
		"goal area at the end line":   {Spot{-20 * yd, -15 * yd}, men["goal_area_end_left"]},
		"restraining line's end":      {Spot{30 * yd, 20 * yd}, men["restraining_sideline_right"]},
		"near end of the wing line":   {Spot{20 * yd, 30 * yd}, men["wing_near_right"]},
		"far end of the wing line":    {Spot{20 * yd, 50 * yd}, men["wing_far_right"]},
		"centre":                      {Spot{0, 40 * yd}, men["centre"]},
		"corner":                      {Spot{-30 * yd, -15 * yd}, men["corner_left"]},
		"women's arc":                 {Spot{0, 10.6}, women["arc_top"]},
		"women's fan on the line":     {Spot{14.6, 0}, women["fan_goal_line_right"]},
		"women's fan":                 {Spot{0, 14.6}, women["fan_top"]},
		"hash mark, 4 m round 10.6 m": {Spot{10.6 * math.Sin(4/10.6), 10.6 * math.Cos(4/10.6)}, women["hash_4_right"]},
		"women's restraining line":    {Spot{-35 * yd, 30 * yd}, women["restraining_sideline_left"]},
		"box post":                    {Spot{2 * ft, 0}, box["post_right"]},
		"box centre line":             {Spot{42.5 * ft, 88 * ft}, box["centre_sideline_right"]},
	} {
		assert.InDelta(t, 0, distance(c.want, c.got), 1e-4, name)
	}
	assert.Contains(t, women, "hash_8_left")
	assert.NotContains(t, women, "hash_12_left", "the arc ends before it")
	assert.NotContains(t, women, "goal_area_front_right")
	assert.NotContains(t, men, "arc_top")
	assert.NotContains(t, box, "corner_right", "its corners are round")
}

func TestMarksAreNamedMirroredAndSourced(t *testing.T) {
	named := regexp.MustCompile(`^[a-z]+(_[a-z0-9]+)*$`)
	for code := range grounds() {
		marks, spots := playMarks(t, code)
		assert.GreaterOrEqual(t, len(marks), 8, code)
		require.Len(t, spots, len(marks), "%s: a name is there twice", code)
		for _, m := range marks {
			assert.Regexp(t, named, m.Name)
			assert.NotEmpty(t, m.Source, "%s %s", code, m.Name)
			for _, measure := range m.Measures {
				assert.Contains(t, MeasuresOf(code), measure, "%s %s", code, m.Name)
			}
			if base, is := cutSide(m.Name); is {
				assert.InDelta(t, 0, distance(mirrored(spots[base+"_right"]), spots[base+"_left"]), 0, m.Name)
			} else {
				assert.Zero(t, m.Spot.XM, m.Name)
			}
			assert.NoError(t, groundOf(t, code).CheckSpot(m.Spot), "%s %s", code, m.Name)
		}
	}
}

func cutSide(name string) (base string, is bool) {
	found := regexp.MustCompile(`^(.*)_(right|left)$`).FindStringSubmatch(name)
	if found == nil {
		return "", false
	}
	return found[1], true
}

func TestAMarkSaysWhetherItIsConfirmed(t *testing.T) {
	of := func(code, name string, own map[string]bool) Mark {
		for _, m := range Marks(code, groundOf(t, code), own) {
			if m.Name == name {
				return m
			}
		}
		t.Fatalf("no %s", name)
		return Mark{}
	}
	assert.False(t, of("mens_field", "crease_top", nil).Unconfirmed)
	assert.True(t, of("sixes", "crease_top", nil).Unconfirmed)
	assert.True(t, of("womens_field", "arc_end_right", nil).Unconfirmed)
	confirmed := of("sixes", "crease_top", map[string]bool{"crease_radius_m": false})
	assert.False(t, confirmed.Unconfirmed, "a competition knows its own")
	assert.Equal(t, "the competition", confirmed.Source)
	assert.True(t, of("mens_field", "crease_top", map[string]bool{"crease_radius_m": true}).Unconfirmed)

	g := groundOf(t, "womens_field").With(1.8, 1.8, 3)
	spots := MarkSpots(Marks("womens_field", &g, nil))
	assert.InDelta(t, 11, spots["arc_top"].YM, 1e-12, "marks follow a competition's circle")
	assert.InDelta(t, 3, spots["crease_goal_line_right"].XM, 1e-12)
}

func TestOpeningCorners(t *testing.T) {
	assert.Equal(t, map[string]Finish{
		"post_foot_right": {.9144, 0}, "post_top_right": {.9144, 1.8288}, "post_foot_left": {-.9144, 0}, "post_top_left": {-.9144, 1.8288},
	}, OpeningCorners(sixFeet))
}
