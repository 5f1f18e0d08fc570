package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
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
		"no rule book":        func(f *CompetitionFields) { f.RuleBook = nil },
		"nothing unconfirmed": func(f *CompetitionFields) { f.Unconfirmed = []string{} },
		"all unconfirmed":     func(f *CompetitionFields) { f.Unconfirmed = CompetitionMeasures },
	} {
		f := goodCompetition()
		change(&f)
		assert.Empty(t, f.Check(), name)
	}
	refuses(t, goodCompetition, map[string]func(*CompetitionFields){
		"/goal_width_m":        func(f *CompetitionFields) { f.GoalWidthM = .49 },
		"/goal_height_m":       func(f *CompetitionFields) { f.GoalHeightM = 3.01 },
		"/crease_radius_m":     func(f *CompetitionFields) { f.CreaseRadiusM = 6.01 },
		"/periods":             func(f *CompetitionFields) { f.Periods = 9 },
		"/unconfirmed":         func(f *CompetitionFields) { f.Unconfirmed = nil },
		"/unconfirmed/0":       func(f *CompetitionFields) { f.Unconfirmed = []string{"name"} },
		"/unconfirmed/1#twice": func(f *CompetitionFields) { f.Unconfirmed = []string{"periods", "periods"} },
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
