package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"cagework/domain/field"
)

func goodCompetition() CompetitionFields { return Starter(ID{}).Competitions[0].Fields }

func TestCompetitionCheckFromBothSidesOfEachBorder(t *testing.T) {
	for name, change := range map[string]func(*CompetitionFields){
		"smallest": func(f *CompetitionFields) {
			f.GoalWidthM, f.GoalHeightM, f.CreaseRadiusM, f.Periods, f.PeriodS, f.OvertimeS, f.AverageMinutes = .5, .5, .5, 1, 60, 60, 1
		},
		"largest": func(f *CompetitionFields) {
			f.GoalWidthM, f.GoalHeightM, f.CreaseRadiusM, f.Periods = 3, 3, 6, 8
			f.PeriodS, f.OvertimeS, f.AverageMinutes = MaxClock, MaxClock, 120
		},
		"least arc":           func(f *CompetitionFields) { f.ArcApexM, f.ArcHalfStanceM, f.ShadeNearM = new(.1), new(0.), new(-.5) },
		"most arc":            func(f *CompetitionFields) { f.ArcApexM, f.ArcHalfStanceM, f.ShadeNearM = new(3.), new(.5), new(.5) },
		"ends but no arc":     func(f *CompetitionFields) { f.ArcHalfStanceM, f.ShadeNearM = new(.3), new(.1) },
		"no rule book":        func(f *CompetitionFields) { f.RuleBook = nil },
		"nothing unconfirmed": func(f *CompetitionFields) { f.Unconfirmed = []string{} },
		"all unconfirmed":     func(f *CompetitionFields) { f.Unconfirmed = CompetitionMeasures },
	} {
		f := goodCompetition()
		change(&f)
		assert.Empty(t, f.Check(), name)
	}
	refuses(t, goodCompetition, map[string]func(*CompetitionFields){
		"/goal_width_m":          func(f *CompetitionFields) { f.GoalWidthM = .49 },
		"/goal_height_m":         func(f *CompetitionFields) { f.GoalHeightM = 3.01 },
		"/crease_radius_m":       func(f *CompetitionFields) { f.CreaseRadiusM = 6.01 },
		"/periods":               func(f *CompetitionFields) { f.Periods = 9 },
		"/arc_apex_m":            func(f *CompetitionFields) { f.ArcApexM = new(.09) },
		"/arc_apex_m#far":        func(f *CompetitionFields) { f.ArcApexM = new(3.01) },
		"/arc_half_stance_m":     func(f *CompetitionFields) { f.ArcHalfStanceM = new(.51) },
		"/arc_half_stance_m#all": func(f *CompetitionFields) { f.GoalWidthM, f.ArcHalfStanceM = .8, new(.4) },
		"/shade_near_m":          func(f *CompetitionFields) { f.ShadeNearM = new(.51) },
		"/shade_near_m#far":      func(f *CompetitionFields) { f.ShadeNearM = new(-.51) },
		"/unconfirmed":           func(f *CompetitionFields) { f.Unconfirmed = nil },
		"/unconfirmed/0":         func(f *CompetitionFields) { f.Unconfirmed = []string{"name"} },
		"/unconfirmed/1#twice":   func(f *CompetitionFields) { f.Unconfirmed = []string{"periods", "periods"} },
	})
}

func TestNamesAndMarksAreNoMeasures(t *testing.T) {
	for name, c := range map[string]struct {
		same   bool
		change func(*CompetitionFields)
	}{
		"name":      {true, func(f *CompetitionFields) { f.Name = "another" }},
		"rule book": {true, func(f *CompetitionFields) { f.RuleBook = nil }},
		"confirmed": {true, func(f *CompetitionFields) { f.Unconfirmed = []string{} }},
		"arc":       {true, func(f *CompetitionFields) { f.ArcApexM, f.ArcHalfStanceM, f.ShadeNearM = new(.8), new(.2), new(.1) }},
		"width":     {false, func(f *CompetitionFields) { f.GoalWidthM = 1.83 }},
		"overtime":  {false, func(f *CompetitionFields) { f.OvertimeS++ }},
		"line":      {false, func(f *CompetitionFields) { f.ClearLine = "attack_area" }},
	} {
		f := goodCompetition()
		c.change(&f)
		assert.Equal(t, c.same, goodCompetition().SameMeasures(f), name)
	}
}

func TestStarterCompetitions(t *testing.T) {
	program := NameID(ID{}, "a program")
	names, plays := map[string]bool{}, map[CodeOfPlay]bool{}
	for _, c := range Starter(program).Competitions {
		f := c.Fields
		assert.Empty(t, f.Check(), f.Name)
		assert.False(t, names[f.Name], "two named %s", f.Name)
		names[f.Name], plays[f.CodeOfPlay] = true, true
		assert.NotNil(t, f.RuleBook, f.Name)
		assert.Equal(t, f.Periods*f.PeriodS, 60*f.AverageMinutes, "%s: the average is over the regulation time", f.Name)
		assert.Contains(t, f.Unconfirmed, "overtime_s", f.Name)
		assert.Equal(t, f.CodeOfPlay == "womens_field", f.OwnGoalRule == "defender_in_possession", f.Name)
		assert.Equal(t, f.CodeOfPlay == "womens_field", f.ClearLine == "restraining_line", f.Name)
	}
	assert.Len(t, plays, len(CodesOfPlay))
	assert.Equal(t, NameID(program, "competition:mens_field_college"), Starter(program).Competitions[0].ID)
}

// Whatever competition passes the check has an arc that the field takes in its goal.
func TestAnArcThatPassesFitsTheGoal(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		f := goodCompetition()
		f.GoalWidthM = rapid.Float64Range(0.5, 3).Draw(r, "width")
		f.ArcApexM = new(rapid.Float64Range(-1, 4).Draw(r, "apex"))
		if rapid.Bool().Draw(r, "inset") {
			f.ArcHalfStanceM = new(rapid.Float64Range(-1, 1).Draw(r, "inset"))
		}
		if len(f.Check()) > 0 {
			r.Skip("refused")
		}
		arc, ok := f.Arc()
		assert.True(r, ok)
		ground := f.Ground()
		assert.NoError(r, arc.Check(ground.Opening()))
	})
	f := goodCompetition()
	_, ok := f.Arc()
	assert.False(t, ok, "no program has set one at first")
	f.ArcApexM = new(.8)
	arc, _ := f.Arc()
	assert.Equal(t, field.ArcTo(.8), arc)
}
