package domain

import (
	"reflect"

	"cagework/domain/field"
)

// ClearLine is the line that a clear must carry the ball over.
type ClearLine string

// OwnGoalRule says when a defender's play into the own goal is an own goal rather than the shooter's goal.
type OwnGoalRule string

// The lists of a competition's codes.
var (
	ClearLines   = []ClearLine{"centre", "attack_area", "restraining_line"}
	OwnGoalRules = []OwnGoalRule{"any_defender", "defender_in_possession"}
)

// CompetitionFields is a code of play at a level under a rule book: sizes, times and definitions that logic must
// never carry as constants, and the arc on which the program has its goalies stand. What a game has used cannot change;
// make a new competition instead. The arc can: it is what a program teaches, and charted games do not stand on it.
type CompetitionFields struct {
	Name           string      `db:"name"            json:"name"`
	CodeOfPlay     CodeOfPlay  `db:"code_of_play"    json:"code_of_play"`
	Level          Level       `db:"level"           json:"level"`
	RuleBook       *string     `db:"rule_book"       json:"rule_book"`
	GoalWidthM     float64     `db:"goal_width_m"    json:"goal_width_m"`
	GoalHeightM    float64     `db:"goal_height_m"   json:"goal_height_m"`
	CreaseRadiusM  float64     `db:"crease_radius_m" json:"crease_radius_m"`
	Periods        int         `db:"periods"         json:"periods"`
	PeriodS        int         `db:"period_s"        json:"period_s"`
	OvertimeS      int         `db:"overtime_s"      json:"overtime_s"`
	AverageMinutes int         `db:"average_minutes" json:"average_minutes"` // minutes behind a goals-against average
	ClearLine      ClearLine   `db:"clear_line"      json:"clear_line"`
	OwnGoalRule    OwnGoalRule `db:"own_goal_rule"   json:"own_goal_rule"`
	ArcApexM       *float64    `db:"arc_apex_m"      json:"arc_apex_m"`          // of the program's arc; see [field.Arc]; nil: it has set none
	ArcHalfStanceM *float64    `db:"arc_half_stance_m" json:"arc_half_stance_m"` // from the arc's ends to the posts; nil: [field.HalfStanceM]
	ShadeNearM     *float64    `db:"shade_near_m"    json:"shade_near_m"`        // off the bisector on purpose, toward the near pipe; nil: none
	Unconfirmed    []string    `db:"unconfirmed"     json:"unconfirmed"`         // the fields whose values nobody has checked yet
}

// Competition is the stored competition.
type Competition = Record[CompetitionFields, None]

// Check gives the faults of the fields.
func (f CompetitionFields) Check() []FieldError {
	var c checks
	c.name("/name", f.Name)
	oneOf(&c, "/code_of_play", f.CodeOfPlay, CodesOfPlay)
	oneOf(&c, "/level", f.Level, Levels)
	if f.RuleBook != nil {
		c.name("/rule_book", *f.RuleBook)
	}
	c.number("/goal_width_m", f.GoalWidthM, 0.5, 3)
	c.number("/goal_height_m", f.GoalHeightM, 0.5, 3)
	c.number("/crease_radius_m", f.CreaseRadiusM, 0.5, 6)
	c.whole("/periods", f.Periods, 1, 8)
	c.whole("/period_s", f.PeriodS, 60, MaxClock)
	c.whole("/overtime_s", f.OvertimeS, 60, MaxClock)
	c.whole("/average_minutes", f.AverageMinutes, 1, 120)
	oneOf(&c, "/clear_line", f.ClearLine, ClearLines)
	oneOf(&c, "/own_goal_rule", f.OwnGoalRule, OwnGoalRules)
	c.arc("/", f.ArcApexM, f.ArcHalfStanceM, f.ShadeNearM, f.GoalWidthM)
	c.when(f.Unconfirmed == nil, "/unconfirmed", "must be a list")
	setOf(&c, "/unconfirmed", f.Unconfirmed, CompetitionMeasures, true)
	return c.faults
}

// arc refuses an arc, or a shade, that no program teaches: the same wherever one is given, its names after a prefix.
func (c *checks) arc(prefix string, apexM, halfStanceM, shadeNearM *float64, goalWidthM float64) {
	c.numberIf(prefix+"arc_apex_m", apexM, 0.1, 3)
	c.numberIf(prefix+"arc_half_stance_m", halfStanceM, 0, 0.5)
	c.when(halfStanceM != nil && *halfStanceM >= goalWidthM/2, prefix+"arc_half_stance_m", "must be less than half of goal_width_m")
	c.numberIf(prefix+"shade_near_m", shadeNearM, -0.5, 0.5)
}

// CompetitionMeasures are the fields that charted games stand on, and that may be marked as unconfirmed.
var CompetitionMeasures = []string{
	"goal_width_m", "goal_height_m", "crease_radius_m", "periods", "period_s", "overtime_s", "average_minutes",
	"clear_line", "own_goal_rule",
}

// SameMeasures tells whether two versions agree in what charted games stand on: everything but names, marks and
// the program's arc.
func (f CompetitionFields) SameMeasures(other CompetitionFields) bool {
	f.Name, f.RuleBook, f.Unconfirmed = other.Name, other.RuleBook, other.Unconfirmed
	f.ArcApexM, f.ArcHalfStanceM, f.ShadeNearM = other.ArcApexM, other.ArcHalfStanceM, other.ShadeNearM
	return reflect.DeepEqual(f, other)
}

// Clock gives the competition's periods as a clock.
func (f CompetitionFields) Clock() field.Clock {
	return field.Clock{Periods: f.Periods, PeriodS: f.PeriodS, OvertimeS: f.OvertimeS}
}

// Ground gives the goal, the marked areas and the bounds of the code of play with the competition's own sizes.
func (f CompetitionFields) Ground() field.Ground {
	g, _ := field.GroundOf(string(f.CodeOfPlay))
	return g.With(f.GoalWidthM, f.GoalHeightM, f.CreaseRadiusM)
}

// Arc gives the program's path of spots; ok is false when it has set none.
func (f *CompetitionFields) Arc() (a field.Arc, ok bool) {
	if f.ArcApexM == nil {
		return field.Arc{}, false
	}
	a = field.ArcTo(*f.ArcApexM)
	if f.ArcHalfStanceM != nil {
		a.HalfStanceM = *f.ArcHalfStanceM
	}
	return a, true
}
