package summary

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
	"cagework/domain/judgement"
)

// given is a season of which the low shots were bad up to a Monday, on which a block of some weeks was given, and in which
// every game since has so many saves and goals; and the week at whose end it is looked at.
func given(saves, goals, weeks int, look string) domain.WeekRecords {
	s := newSeason(domain.Full)
	for i := range 5 {
		g := s.game(date("2026-02-14").AddDays(7*i).String(), domain.KindGame, highSchool, 2880)
		s.add(g, highSchool, 2, domain.Save, low)
		s.add(g, highSchool, 6, domain.Goal, low)
	}
	known := s.week("2026-W11", 30) // ends on 15 March
	a := domain.Assignment{ID: idOf("assignment", 1), Fields: domain.AssignmentFields{
		GoalieID: s.goalie.ID, TargetID: codeID("target", "low_save"), DrillID: codeID("drill", "drop_beat"),
		RuleID: p(codeID("rule", "Low: beat the drop")),
		Dose:   domain.Dose{Minutes: 3, Repetitions: 15, TimesAWeek: 3}, StartsOn: date("2026-03-16"), Weeks: weeks, Status: domain.Assigned,
	}}
	a.Found.Baselines = p(judgement.Judge{}.Baselines(known, targets[2]))
	for i := range 3 {
		g := s.game(date("2026-03-21").AddDays(7*i).String(), domain.KindGame, highSchool, 2880)
		s.add(g, highSchool, saves, domain.Save, low)
		s.add(g, highSchool, goals, domain.Goal, low)
	}
	r := s.week(look, 30)
	r.Assignments = []domain.Assignment{a}
	return r
}

func TestABlockSaysWhatWillCountAndWhetherItHelped(t *testing.T) {
	block := func(r domain.WeekRecords) *Help {
		v := OfGoalie(r)
		require.Len(t, v.Blocks, 1)
		require.Len(t, v.Blocks[0].Counts, 1)
		return v.Blocks[0].Counts[0].Help
	}
	before := block(given(4, 4, 3, "2026-W11"))
	require.NotNil(t, before)
	assert.Equal(t, judgement.TooFewTries, before.Verdict)
	assert.Equal(t, 20, before.PlannedTries, "40 in six weeks, so 20 in three")
	require.NotNil(t, before.PlannedNeeded)
	assert.Equal(t, "Of about 20 shots in its weeks 10 hits or more will count as help.", before.Sentence)
	assert.Equal(t, 10, *before.PlannedNeeded)

	helped := block(given(6, 2, 3, "2026-W14"))
	assert.Equal(t, judgement.Worked, helped.Verdict)
	assert.True(t, helped.Final)
	assert.Contains(t, helped.Sentence, "Helped: 18 of 24 since; ")
	assert.Contains(t, helped.Sentence, "the chance that the true rate rose is")
	running := block(given(6, 2, 3, "2026-W13"))
	assert.False(t, running.Final)
	assert.Contains(t, running.Sentence, "So far: helped: 12 of 16 since")
	same := block(given(2, 6, 3, "2026-W14"))
	assert.Equal(t, judgement.CannotSay, same.Verdict)
	assert.Contains(t, same.Sentence, "Can't say: 6 of 24 since")

	older := given(6, 2, 3, "2026-W14")
	older.Assignments[0].Found.Baselines = nil
	assert.Nil(t, block(older), "nothing was kept")
	dropped := given(6, 2, 3, "2026-W12")
	dropped.Assignments[0].Fields.Status, dropped.Assignments[0].Fields.Reason = domain.Dropped, p("no wall")
	assert.Empty(t, OfGoalie(dropped).Blocks[0].Counts)
}

// What is kept does not change when old shots are corrected, so neither does what is expected of the block.
func TestCorrectedShotsDoNotMoveTheBar(t *testing.T) {
	r := given(4, 4, 3, "2026-W14")
	want := OfGoalie(r).Blocks[0].Counts[0]
	for _, s := range r.Faced.Shots {
		if s.Game.Fields.PlayedOn.Before(date("2026-03-16")) {
			s.Shot.Fields.Outcome = domain.Save
		}
	}
	got := OfGoalie(r).Blocks[0].Counts[0]
	assert.Equal(t, want, got)
}

func TestDrillsAndRulesAreTotalled(t *testing.T) {
	var group domain.GroupRecords
	group.Week = domain.Week{Year: 2026, Number: 15}
	for range 3 {
		group.Weeks = append(group.Weeks, given(6, 2, 3, "2026-W15"))
	}
	group.Weeks[2] = given(2, 6, 3, "2026-W15")
	v := OfProgram(group).Helped
	require.Len(t, v.Drills, 1)
	d := v.Drills[0]
	assert.Equal(t, "Beat the drop", d.Name)
	assert.Equal(t, []int{3, 3, 2, 42, 72}, []int{d.Blocks, d.Told, d.Worked, d.Hits, d.Tries})
	assert.Contains(t, d.Sentence, "Beat the drop: 3 blocks over; of 3 with enough shots 2 helped, 0 went backwards: 42 of 72 since")
	assert.Less(t, d.Chance, .05)
	require.Len(t, v.Rules, 1)
	assert.Equal(t, "Low: beat the drop", v.Rules[0].Name)
	assert.Equal(t, d.Hits, v.Rules[0].Hits)

	running := domain.GroupRecords{Week: domain.Week{Year: 2026, Number: 13}, Weeks: []domain.WeekRecords{given(6, 2, 3, "2026-W13")}}
	assert.Empty(t, OfProgram(running).Helped.Drills, "a block that runs is not totalled")
}

func TestABlockWithMoreHitsIsNeverJudgedWorse(t *testing.T) {
	rank := map[judgement.Verdict]int{judgement.Backwards: 0, judgement.CannotSay: 1, judgement.Worked: 2}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 8).Draw(t, "shots a game")
		hits := rapid.IntRange(0, n-1).Draw(t, "saves a game")
		help := func(saves int) *Help {
			return OfGoalie(given(saves, n-saves, 3, "2026-W14")).Blocks[0].Counts[0].Help
		}
		worse, better := help(hits), help(hits+1)
		assert.LessOrEqual(t, rank[worse.Verdict], rank[better.Verdict])
		assert.LessOrEqual(t, worse.Better, better.Better+1e-9)
		assert.LessOrEqual(t, worse.Gain, better.Gain+1e-9)
	})
}
