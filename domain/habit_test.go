package domain

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func goodHabit() HabitFields {
	return HabitFields{
		Code: "low_hands", Name: "Low hands", Definition: "The hands are below the hip.",
		ReadableOn: []Clause{}, CodesOfPlay: []CodeOfPlay{"box"}, Cause: 1, Active: true,
	}
}

func TestHabitCheckFromBothSidesOfEachBorder(t *testing.T) {
	for name, change := range map[string]func(*HabitFields){
		"as it is":     func(*HabitFields) {},
		"last cause":   func(f *HabitFields) { f.Cause = 100 },
		"longest text": func(f *HabitFields) { f.EdgeCases = strings.Repeat("x", MaxProse) },
		"a clause":     func(f *HabitFields) { f.ReadableOn = []Clause{{Field: "distance_m", LT: new(5.0)}} },
	} {
		f := goodHabit()
		change(&f)
		assert.Empty(t, f.Check(), name)
	}
	refuses(t, goodHabit, map[string]func(*HabitFields){
		"/code":              func(f *HabitFields) { f.Code = "x" },
		"/code#field":        func(f *HabitFields) { f.Code = "rebound" },
		"/name":              func(f *HabitFields) { f.Name = "" },
		"/definition":        func(f *HabitFields) { f.Definition = " " },
		"/edge_cases":        func(f *HabitFields) { f.EdgeCases = strings.Repeat("x", MaxProse+1) },
		"/readable_on":       func(f *HabitFields) { f.ReadableOn = nil },
		"/readable_on/0":     func(f *HabitFields) { f.ReadableOn = []Clause{{Field: "bounce", Is: "yes"}} },
		"/readable_on/0#own": func(f *HabitFields) { f.ReadableOn = []Clause{{Field: "on_angle", Is: "yes"}} },
		"/codes_of_play":     func(f *HabitFields) { f.CodesOfPlay = nil },
		"/codes_of_play/0":   func(f *HabitFields) { f.CodesOfPlay = []CodeOfPlay{"field"} },
		"/cause":             func(f *HabitFields) { f.Cause = 0 },
		"/cause#high":        func(f *HabitFields) { f.Cause = 101 },
	})
}

func TestStarterHabits(t *testing.T) {
	program := NameID(ID{}, "a program")
	codes := map[string]bool{}
	var active []string
	for _, h := range Starter(program).Habits {
		f := h.Fields
		assert.Empty(t, f.Check(), f.Code)
		assert.False(t, codes[f.Code], "two of code %s", f.Code)
		codes[f.Code] = true
		assert.Equal(t, NameID(program, "habit:"+f.Code), h.ID)
		for _, flag := range []string{"deflected", "waved_off", "goalie_out"} {
			assert.Contains(t, f.ReadableOn, Clause{Field: flag, Is: false}, f.Code)
		}
		if f.Active {
			active = append(active, f.Code)
		}
	}
	assert.Equal(t, []string{
		"saw_release", "on_angle", "set_before_release", "square_to_ball", "held_ground", "matched_stick",
		"stepped_to_ball", "stick_beat_ball",
	}, active, "in the order of causes")
}

func TestReadable(t *testing.T) {
	habits := Starter(ID{}).Habits
	for _, c := range []struct {
		habit string
		code  CodeOfPlay
		shot  ShotFields
		want  Truth
	}{
		{"set_before_release", "box", ShotFields{Outcome: Wide, Arrival: new(Arrival("dodge"))}, True},
		{"set_before_release", "mens_field", ShotFields{Outcome: Wide}, Unknown},
		{"set_before_release", "mens_field", ShotFields{Outcome: Goal, Arrival: new(Arrival("rebound"))}, False},
		{"set_before_release", "mens_field", ShotFields{Outcome: Goal, Deflected: true}, False},
		{"set_before_release", "mens_field", ShotFields{Outcome: Goal, GoalieOut: true}, False},
		{"set_before_release", "mens_field", ShotFields{Outcome: Goal, WavedOff: true}, False},
		{"matched_stick", "sixes", ShotFields{Outcome: Wide}, True},
		{"matched_stick", "box", ShotFields{Outcome: Wide}, False},
		{"stepped_to_ball", "mens_field", ShotFields{Outcome: Save, BallXM: new(0.0), BallYM: new(5.5)}, True},
		{"stepped_to_ball", "mens_field", ShotFields{Outcome: Save, BallXM: new(0.0), BallYM: new(5.49)}, False},
		{"stepped_to_ball", "mens_field", ShotFields{Outcome: Pipe, BallXM: new(0.0), BallYM: new(9.0)}, False},
		{"stepped_to_ball", "mens_field", ShotFields{Outcome: Save}, Unknown},
		{"stick_beat_ball", "womens_field", ShotFields{Outcome: Goal, FinishBand: new(Low)}, True},
		{"stick_beat_ball", "womens_field", ShotFields{Outcome: Goal, FinishBand: new(Mid)}, False},
		{"five_hole_closed", "box", ShotFields{Outcome: Wide}, True},
		{"five_hole_closed", "sixes", ShotFields{Outcome: Wide}, False},
	} {
		h := HabitNamed(habits, c.habit)
		require.NotNil(t, h, c.habit)
		s := shotOf(c.shot)
		s.Competition.CodeOfPlay = c.code
		assert.Equal(t, c.want, h.Readable(s), "%+v", c)
	}
	assert.Nil(t, HabitNamed(habits, "no_such"))
}

func TestUnknownHabitsAreNamedByClause(t *testing.T) {
	clauses := []Clause{{Field: "on_goal", Is: true}, {Field: "on_angle", Is: "yes"}, {Field: "no_such", Is: "no"}}
	faults := UnknownHabits("/hit", clauses, Starter(ID{}).Habits)
	require.Len(t, faults, 1)
	assert.Equal(t, "/hit/2", faults[0].Pointer)
	assert.Len(t, UnknownHabits("/hit", clauses, nil), 2)
}

func TestAReadingOfAHabitThatCannotBeReadIsNotBelieved(t *testing.T) {
	s := readAs(Yes)
	s.Habits, s.Competition.CodeOfPlay = Starter(ID{}).Habits, "box"
	clause := Clause{Field: "on_angle", Is: "yes"}
	assert.Equal(t, True, clause.Eval(s))
	s.Shot.Fields.Deflected = true
	assert.Equal(t, Unknown, clause.Eval(s))
	s.Habits = nil
	assert.Equal(t, True, clause.Eval(s), "a habit that the program does not describe is read as it stands")
}
