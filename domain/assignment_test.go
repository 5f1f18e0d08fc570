package domain

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestAssignmentCheckFromBothSidesOfEachBorder(t *testing.T) {
	nameless := NameID(ID{}, "another record")
	good := func() AssignmentFields {
		return AssignmentFields{
			GoalieID: me, TargetID: teamA, DrillID: teamB, Dose: Dose{Minutes: 4, Repetitions: 20, TimesAWeek: 3},
			StartsOn: dateOf(t, "2026-04-06"), Weeks: 1, Status: Assigned,
		}
	}
	for name, change := range map[string]func(*AssignmentFields){
		"as it is":        func(*AssignmentFields) {},
		"longest":         func(f *AssignmentFields) { f.Weeks = 12 },
		"largest dose":    func(f *AssignmentFields) { f.Dose = Dose{60, 500, 7} },
		"swapped":         func(f *AssignmentFields) { f.Reason = new("no wall at this field") },
		"dropped and why": func(f *AssignmentFields) { f.Status, f.Reason = Dropped, new("the team moved on") },
		"by a rule":       func(f *AssignmentFields) { f.RuleID = new(nameless) },
		"swapped away": func(f *AssignmentFields) {
			f.Status, f.Reason, f.SwappedForID = Dropped, new("no wall"), new(nameless)
		},
		"finished": func(f *AssignmentFields) { f.Status = Finished },
	} {
		f := good()
		change(&f)
		assert.Empty(t, f.Check(), name)
	}
	refuses(t, good, map[string]func(*AssignmentFields){
		"/goalie_id":               func(f *AssignmentFields) { f.GoalieID = ID{} },
		"/target_id":               func(f *AssignmentFields) { f.TargetID = ID{} },
		"/drill_id":                func(f *AssignmentFields) { f.DrillID = ID{} },
		"/minutes":                 func(f *AssignmentFields) { f.Minutes = 0 },
		"/repetitions":             func(f *AssignmentFields) { f.Repetitions = 501 },
		"/times_a_week":            func(f *AssignmentFields) { f.TimesAWeek = 8 },
		"/starts_on":               func(f *AssignmentFields) { f.StartsOn = Date{} },
		"/starts_on#sunday":        func(f *AssignmentFields) { f.StartsOn = dateOf(t, "2026-04-05") },
		"/starts_on#tuesday":       func(f *AssignmentFields) { f.StartsOn = dateOf(t, "2026-04-07") },
		"/weeks":                   func(f *AssignmentFields) { f.Weeks = 0 },
		"/weeks#long":              func(f *AssignmentFields) { f.Weeks = 13 },
		"/status":                  func(f *AssignmentFields) { f.Status = "done" },
		"/swapped_for_id":          func(f *AssignmentFields) { f.SwappedForID = new(nameless) },
		"/swapped_for_id#finished": func(f *AssignmentFields) { f.Status, f.SwappedForID = Finished, new(nameless) },
		"/reason":                  func(f *AssignmentFields) { f.Status = Dropped },
		"/reason#blank":            func(f *AssignmentFields) { f.Reason = new(" ") },
		"/reason#long":             func(f *AssignmentFields) { f.Reason = new(strings.Repeat("x", MaxProse+1)) },
	})
}
