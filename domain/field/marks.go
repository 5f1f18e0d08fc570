package field

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// Mark is a place on the ground that can be seen in a picture and whose spot is known: a post's foot, where two lines meet,
// where one ends. Right and left are the goalkeeper's.
type Mark struct {
	Name     string
	Spot     Spot
	Measures []string // the measures of the [Ground] that the spot stands on
	Source   string   // of those measures
	// Unconfirmed says that nobody has seen one of the measures in a rule book yet, or that each field has its own.
	Unconfirmed bool
}

// Marks gives the marks round one goal of a code of play on a ground, which may have a competition's own sizes. own names
// the measures that the competition gives itself, each with whether it is unconfirmed; the rest are as [MeasuresOf] has them.
// Lines are taken without their breadth; a post's foot is the inner side of the post. Marks that only some rule books have,
// or that a field may lack, are in the list all the same. Not in it: the women's outermost hash marks, which the source puts
// 12 m along an arc that ends before that, and the dots behind the women's goal, whose place to a side was not found.
func Marks(codeOfPlay string, g *Ground, own map[string]bool) []Mark {
	m := marker{measures: MeasuresOf(codeOfPlay), own: own}
	half, centre := g.WidthM/2, g.GoalToGoalM/2
	m.pair("post", g.GoalWidthM/2, 0, "goal_width_m")
	m.pair("crease_goal_line", g.CreaseRadiusM, 0, "crease_radius_m")
	m.one("crease_top", g.CreaseRadiusM, "crease_radius_m")
	m.one("crease_back", -g.CreaseRadiusM, "crease_radius_m")
	if g.GoalMouthRadiusM > 0 {
		m.one("goal_mouth_arc_top", g.GoalMouthRadiusM, "goal_mouth_radius_m")
	}
	m.womensAreas(g)
	if g.CornerRadiusM == 0 {
		m.pair("corner", half, -g.GoalToEndM, "width_m", "goal_to_end_m")
	}
	if g.GoalAreaWidthM > 0 {
		m.pair("goal_area_end", g.GoalAreaWidthM/2, -g.GoalToEndM, "goal_area_width_m", "goal_to_end_m")
		m.pair("goal_area_front", g.GoalAreaWidthM/2, g.RestrainingM, "goal_area_width_m", "restraining_m")
	}
	if g.RestrainingM > 0 {
		m.pair("restraining_sideline", half, g.RestrainingM, "width_m", "restraining_m")
	}
	if g.WingLengthM > 0 {
		names := []string{"width_m", "wing_from_side_m", "wing_length_m", "goal_to_goal_m"}
		m.pair("wing_near", half-g.WingFromSideM, centre-g.WingLengthM/2, names...)
		m.pair("wing_far", half-g.WingFromSideM, centre+g.WingLengthM/2, names...)
	}
	m.one("centre", centre, "goal_to_goal_m")
	m.pair("centre_sideline", half, centre, "width_m", "goal_to_goal_m")
	return m.marks
}

// MarkSpots gives the spots of marks by their names.
func MarkSpots(marks []Mark) map[string]Spot {
	out := make(map[string]Spot, len(marks))
	for _, m := range marks {
		out[m.Name] = m.Spot
	}
	return out
}

// OpeningCorners gives the corners of the opening in the goal's plane by their names: the feet of the posts and where they
// meet the bar, at the inner sides.
func OpeningCorners(o Opening) map[string]Finish {
	half := o.WidthM / 2
	return map[string]Finish{
		"post_foot_right": {half, 0}, "post_top_right": {half, o.HeightM},
		"post_foot_left": {-half, 0}, "post_top_left": {-half, o.HeightM},
	}
}

// marker collects marks.
type marker struct {
	measures map[string]Measure
	own      map[string]bool
	marks    []Mark
}

func (m *marker) add(name string, s Spot, measures ...string) {
	mark := Mark{Name: name, Spot: s, Measures: measures}
	var sources []string
	for _, measure := range measures {
		from := m.measures[measure]
		if unconfirmed, is := m.own[measure]; is {
			from = Measure{Source: "the competition", Unconfirmed: unconfirmed}
		}
		mark.Unconfirmed = mark.Unconfirmed || from.Unconfirmed
		if !slices.Contains(sources, from.Source) {
			sources = append(sources, from.Source)
		}
	}
	mark.Source = strings.Join(sources, "; ")
	m.marks = append(m.marks, mark)
}

// one adds a mark on the middle line.
func (m *marker) one(name string, y float64, measures ...string) {
	m.add(name, Spot{YM: y}, measures...)
}

// pair adds a mark on either side.
func (m *marker) pair(name string, x, y float64, measures ...string) {
	m.add(name+"_right", Spot{x, y}, measures...)
	m.add(name+"_left", Spot{-x, y}, measures...)
}

// womensAreas adds the marks of the inner arc and the fan, both measured from the goal circle.
func (m *marker) womensAreas(g *Ground) {
	if fan := g.FanRadiusM(); fan > 0 {
		m.one("fan_top", fan, "crease_radius_m", "fan_beyond_m")
		m.pair("fan_goal_line", fan, 0, "crease_radius_m", "fan_beyond_m")
	}
	radius := g.ArcRadiusM()
	if radius == 0 {
		return
	}
	m.one("arc_top", radius, "crease_radius_m", "arc_beyond_m")
	end := g.arcEnd()
	m.pair("arc_end", end.XM, end.YM, "crease_radius_m", "arc_beyond_m", "arc_side_deg")
	length := radius * math.Atan2(end.XM, end.YM)
	for along := g.HashM; g.HashM > 0 && along < length; along += g.HashM {
		sin, cos := math.Sincos(along / radius)
		m.pair(fmt.Sprintf("hash_%g", along), radius*sin, radius*cos, "crease_radius_m", "arc_beyond_m", "hash_m")
	}
}

// arcEnd gives where the right one of the inner arc's straight sides meets the arc: of the points that lie up the side from
// the circle's crossing of the goal line, the one at the arc's radius.
func (g *Ground) arcEnd() Spot {
	sin, cos := math.Sincos(g.ArcSideDeg * radian)
	radius, circle := g.ArcRadiusM(), g.CreaseRadiusM
	up := -circle*cos + math.Sqrt(radius*radius-circle*circle*sin*sin)
	return Spot{circle + up*cos, up * sin}
}
