package field

import (
	"embed"
	"encoding/json"
	"math"
	"sync"
)

// Ground is the goal, the marked areas and the bounds of a code of play, in metres and degrees: the numbers that every
// formula of this package takes from here and from nowhere else. A measure that a code of play does not have is 0. A
// competition has sizes of its own; set them with [Ground.With].
type Ground struct {
	GoalWidthM        float64 `json:"goal_width_m"`        // inside, between the posts
	GoalHeightM       float64 `json:"goal_height_m"`       // inside, under the bar
	PostM             float64 `json:"post_m"`              // outside diameter of the posts and the bar
	NetDepthM         float64 `json:"net_depth_m"`         // from the goal line to the ground frame's furthest point
	CreaseRadiusM     float64 `json:"crease_radius_m"`     // of the goal circle, from the middle of the goal line
	GoalMouthRadiusM  float64 `json:"goal_mouth_radius_m"` // of the arc inside the crease, from the same point
	ArcBeyondM        float64 `json:"arc_beyond_m"`        // how far the women's inner arc lies beyond the goal circle
	ArcSideDeg        float64 `json:"arc_side_deg"`        // of its straight sides to the goal line
	FanBeyondM        float64 `json:"fan_beyond_m"`        // how far the women's fan reaches beyond the goal circle
	HashM             float64 `json:"hash_m"`              // between hash marks, along the inner arc
	GoalToEndM        float64 `json:"goal_to_end_m"`       // from the goal line to the end line, or to the end boards
	GoalToGoalM       float64 `json:"goal_to_goal_m"`      // between the two goal lines
	WidthM            float64 `json:"width_m"`             // between the sidelines, or the side boards
	CornerRadiusM     float64 `json:"corner_radius_m"`     // of the boards' corners; 0 where the corners are square
	RestrainingM      float64 `json:"restraining_m"`       // from the goal line up-field to the restraining line
	GoalAreaWidthM    float64 `json:"goal_area_width_m"`   // of the men's box round the goal
	WingFromSideM     float64 `json:"wing_from_side_m"`    // from the sideline to the men's wing line
	WingLengthM       float64 `json:"wing_length_m"`       // of the wing line, half on either side of the centre line
	MostWidthM        float64 `json:"most_width_m"`        // of the widest field that any rule book allows
	MostBehindM       float64 `json:"most_behind_m"`       // from the goal line to the furthest end line behind it
	MostUpM           float64 `json:"most_up_m"`           // from the goal line to the furthest end line up-field
	InsideM           float64 `json:"inside_m"`            // how far the inside reaches from the middle of the goal line
	OutsideM          float64 `json:"outside_m"`           // from where on a shot is from outside
	OnAngleToleranceM float64 `json:"on_angle_m"`          // how far off the bisector is still on the angle
	DepthToleranceM   float64 `json:"depth_held_m"`        // how far off the arc's depth is still the depth held
}

// Measure is where a number of a Ground comes from.
type Measure struct {
	Value       float64 `json:"value"`
	Rule        string  `json:"rule"` // as the rule book has it, in its own unit
	Source      string  `json:"source"`
	Unconfirmed bool    `json:"unconfirmed"` // nobody has seen it in a rule book yet
}

// started is what a code of play starts with.
type started struct {
	CodeOfPlay     string             `json:"code_of_play"`
	Measures       map[string]Measure `json:"measures"`
	ReferenceSpots map[Area]polar     `json:"reference_spots"`
	ground         Ground
}

// polar is a place by its distance from the middle of the goal line and its bearing there.
type polar struct {
	DistanceM  float64 `json:"distance_m"`
	BearingDeg float64 `json:"bearing_deg"`
}

//go:embed grounds.json
var groundFile embed.FS

// grounds reads the file once. It cannot fail: the file is embedded, and a test reads it strictly.
var grounds = sync.OnceValue(func() map[string]started {
	data, _ := groundFile.ReadFile("grounds.json")
	var list []started
	_ = json.Unmarshal(data, &list)
	out := make(map[string]started, len(list))
	for _, s := range list {
		values := make(map[string]float64, len(s.Measures))
		for name, m := range s.Measures {
			values[name] = m.Value
		}
		raw, _ := json.Marshal(values)
		_ = json.Unmarshal(raw, &s.ground)
		out[s.CodeOfPlay] = s
	}
	return out
})

// GroundOf gives what a code of play starts with; ok is false when there is no such code.
func GroundOf(codeOfPlay string) (g Ground, ok bool) {
	s, ok := grounds()[codeOfPlay]
	return s.ground, ok
}

// MeasuresOf gives the numbers of a code of play by their names in JSON, each with its source; nil when there is no such
// code. The map is the caller's own.
func MeasuresOf(codeOfPlay string) map[string]Measure {
	s, ok := grounds()[codeOfPlay]
	if !ok {
		return nil
	}
	out := make(map[string]Measure, len(s.Measures))
	for name, m := range s.Measures {
		out[name] = m
	}
	return out
}

// With gives the ground with a competition's own goal and goal circle, in metres. The women's arc and fan move with the
// circle, for they are measured from it.
func (g Ground) With(goalWidthM, goalHeightM, creaseRadiusM float64) Ground {
	g.GoalWidthM, g.GoalHeightM, g.CreaseRadiusM = goalWidthM, goalHeightM, creaseRadiusM
	return g
}

// Opening gives the goal's opening.
func (g *Ground) Opening() Opening { return Opening{WidthM: g.GoalWidthM, HeightM: g.GoalHeightM} }

// ArcRadiusM gives the radius of the women's inner arc from the middle of the goal line; 0 where the code of play has
// none.
func (g *Ground) ArcRadiusM() float64 {
	if g.ArcBeyondM == 0 {
		return 0
	}
	return g.CreaseRadiusM + g.ArcBeyondM
}

// FanRadiusM gives the radius of the women's fan from the middle of the goal line; 0 where the code of play has none.
func (g *Ground) FanRadiusM() float64 {
	if g.FanBeyondM == 0 {
		return 0
	}
	return g.CreaseRadiusM + g.FanBeyondM
}

// InArc tells whether a spot lies in the women's inner arc: above the goal line, between the straight sides that leave
// the goal circle where it crosses the goal line, and no further out than the arc. The front half of the circle counts
// as in it: nothing is nearer. The lines belong to the area.
func (g *Ground) InArc(s Spot) bool {
	if g.ArcBeyondM == 0 || s.YM < 0 || math.Hypot(s.XM, s.YM) > g.ArcRadiusM() {
		return false
	}
	return (math.Abs(s.XM)-g.CreaseRadiusM)*math.Tan(g.ArcSideDeg*radian) <= s.YM
}

// InFan tells whether a spot lies in the women's fan: above the goal line and no further out than the fan, which touches
// the goal line extended. The lines belong to the area.
func (g *Ground) InFan(s Spot) bool {
	return g.FanBeyondM > 0 && s.YM >= 0 && math.Hypot(s.XM, s.YM) <= g.FanRadiusM()
}

// radian is a degree in radians.
const radian = math.Pi / 180
