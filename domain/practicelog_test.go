package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestPracticeLogCheckFromBothSidesOfEachBorder(t *testing.T) {
	good := func() PracticeLogFields {
		return PracticeLogFields{
			GoalieID: me, TeamID: teamA, PractisedOn: dateOf(t, "2026-04-07"),
			Done: []PracticeDone{{DrillID: teamB, Minutes: 4, Repetitions: 20}},
		}
	}
	for name, change := range map[string]func(*PracticeLogFields){
		"as it is":       func(*PracticeLogFields) {},
		"team play only": func(f *PracticeLogFields) { f.Done, f.TeamShots = []PracticeDone{}, MaxShotsLogged },
		"nothing done":   func(f *PracticeLogFields) { f.Done[0] = PracticeDone{DrillID: teamB} },
		"most": func(f *PracticeLogFields) {
			f.Done[0] = PracticeDone{teamB, 240, MaxShotsLogged, MaxShotsLogged}
		},
		"same drill twice": func(f *PracticeLogFields) { f.Done = append(f.Done, f.Done[0]) },
	} {
		f := good()
		change(&f)
		assert.Empty(t, f.Check(), name)
	}
	refuses(t, good, map[string]func(*PracticeLogFields){
		"/goalie_id":          func(f *PracticeLogFields) { f.GoalieID = ID{} },
		"/team_id":            func(f *PracticeLogFields) { f.TeamID = ID{} },
		"/practised_on":       func(f *PracticeLogFields) { f.PractisedOn = Date{} },
		"/done":               func(f *PracticeLogFields) { f.Done = nil },
		"/done#long":          func(f *PracticeLogFields) { f.Done = append(make([]PracticeDone, MaxItems), f.Done[0]) },
		"/done/0/drill_id":    func(f *PracticeLogFields) { f.Done[0].DrillID = ID{} },
		"/done/0/minutes":     func(f *PracticeLogFields) { f.Done[0].Minutes = 241 },
		"/done/0/minutes#low": func(f *PracticeLogFields) { f.Done[0].Minutes = -1 },
		"/done/0/repetitions": func(f *PracticeLogFields) { f.Done[0].Repetitions = MaxShotsLogged + 1 },
		"/done/0/live_shots":  func(f *PracticeLogFields) { f.Done[0].LiveShots = -1 },
		"/done/0/live_shots#more than repetitions": func(f *PracticeLogFields) { f.Done[0].LiveShots = 21 },
		"/team_shots":     func(f *PracticeLogFields) { f.TeamShots = MaxShotsLogged + 1 },
		"/team_shots#low": func(f *PracticeLogFields) { f.TeamShots = -1 },
	})
}
