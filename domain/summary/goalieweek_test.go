package summary

import (
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden compares the JSON of a summary with the file that the pages' tests draw from as well.
func golden(t *testing.T, name string, v GoalieWeek) {
	t.Helper()
	got, err := json.MarshalIndent(v, "", "  ")
	require.NoError(t, err)
	got = append(got, '\n')
	file := filepath.Join("..", "..", "testdata", "summary", name+".json")
	if *update {
		require.NoError(t, os.WriteFile(file, got, 0o600))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got))
}

func TestAWeekWithAGap(t *testing.T) {
	v := OfGoalie(spring(domain.Full).week("2026-W15", 30))
	require.Len(t, v.WorkOns, 1)
	w := v.WorkOns[0]
	assert.Nil(t, v.NoWorkOn)
	assert.Equal(t, "Low shots: 9 saved of 31 in six weeks; the target is .50.", w.Sentence)
	assert.Equal(t, domain.ClearGap, *w.Target.State)
	require.Len(t, w.Drills, 1)
	assert.Equal(t, "drop_beat", w.Drills[0].Code)
	assert.Equal(t, 9, w.Drills[0].WeekMinutes)
	assert.Equal(t, "Head of the stick first, then the knees.", w.Drills[0].Advice)
	assert.Nil(t, w.Kept)
	require.Len(t, w.Watch, 4)
	notes := map[string]int{}
	for i, shot := range w.Watch {
		notes[shot.Note]++
		if i > 0 {
			assert.False(t, w.Watch[i-1].PlayedOn.Before(shot.PlayedOn), "newest first")
		}
	}
	assert.Equal(t, map[string]int{Missed: 2, Made: 2}, notes)
	require.Len(t, v.HeldBack, 1, "a live drill comes after its step")
	assert.EqualValues(t, "tried_before", v.HeldBack[0].Gate)
	assert.Equal(t, "Low-shot save rate", *v.HeldBack[0].For)
	assert.Equal(t, &LiveShots{270, 90, 17, 253, "starting value, from memory, of high school"}, v.LiveShots)
	require.Len(t, v.WentWell, 1)
	assert.Equal(t, "High shots: 16 saved of 24 in six weeks; the target is .55: probably met.", v.WentWell[0].Sentence)
	assert.Contains(t, v.Plays[0].Rates, w.Target, "it says the same wherever it stands, its signal too")
	assert.Contains(t, v.Plays[0].Rates, v.WentWell[0].Target)
	assert.NotNil(t, w.Target.Signal)
	week, season := v.Plays[0].LineWeek, v.Plays[0].LinesSeason[0].Line
	assert.Equal(t, []int{3, 4, 2, 2}, []int{week.ClearsMade, week.ClearsTried, week.ClearsAfterSaveMade, week.ClearsAfterSaveTried})
	assert.Equal(t, []int{12, 16, 8, 8}, []int{season.ClearsMade, season.ClearsTried, season.ClearsAfterSaveMade, season.ClearsAfterSaveTried})
	assert.Equal(t, ".750", *season.ClearPercentageText)
	golden(t, "gap", v)
}

// blockWeek is a full week: three things short, one of them in the second week of its block, games to come.
func blockWeek(t *testing.T) domain.WeekRecords {
	t.Helper()
	s := spring(domain.Full)
	g := s.game("2026-04-12", domain.KindGame, highSchool, 2880)
	s.add(g, highSchool, 14, domain.Save, read(domain.Yes))
	s.add(g, highSchool, 12, domain.Goal, read(domain.No))
	mid := func(c *domain.CountedShot) { c.Shot.Fields.FinishBand = p(domain.Mid) }
	s.add(g, highSchool, 8, domain.Save, mid)
	s.add(g, highSchool, 18, domain.Goal, mid)
	r := s.week("2026-W15", 60)
	r.Assignments = []domain.Assignment{
		{ID: idOf("assignment", 1), Fields: domain.AssignmentFields{
			GoalieID: s.goalie.ID, TargetID: codeID("target", "low_save"), DrillID: codeID("drill", "drop_beat"),
			Dose: domain.Dose{Minutes: 3, Repetitions: 15, TimesAWeek: 3}, StartsOn: date("2026-03-30"), Weeks: 3, Status: domain.Assigned,
		}},
		{ID: idOf("assignment", 2), Fields: domain.AssignmentFields{
			GoalieID: s.goalie.ID, TargetID: codeID("target", "high_save"), DrillID: codeID("drill", "hands_only"),
			Dose: domain.Dose{Minutes: 4, Repetitions: 30, TimesAWeek: 2}, StartsOn: date("2026-03-09"), Weeks: 2, Status: domain.Finished,
		}},
		{ID: idOf("assignment", 3), Fields: domain.AssignmentFields{
			GoalieID: s.goalie.ID, TargetID: codeID("target", "mid_save"), DrillID: codeID("drill", "hands_only"),
			Dose: domain.Dose{Minutes: 4, Repetitions: 30, TimesAWeek: 2}, StartsOn: date("2026-04-06"), Weeks: 2, Status: domain.Dropped,
			Reason: p("no wall"), SwappedForID: p(idOf("assignment", 4)),
		}},
		{ID: idOf("assignment", 4), Fields: domain.AssignmentFields{
			GoalieID: s.goalie.ID, TargetID: codeID("target", "mid_save"), DrillID: codeID("drill", "film_pause"),
			Dose: domain.Dose{Minutes: 8, Repetitions: 8, TimesAWeek: 1}, StartsOn: date("2026-04-13"), Weeks: 2, Status: domain.Assigned,
		}},
	}
	r.Assignments[0].Found.Baselines = &[]domain.BlockBaseline{{
		CodeOfPlay: "mens_field", Level: "high_school", From: date("2026-02-16"), To: date("2026-03-29"), Hits: 5, Tries: 21,
		TargetRate: .5, ChanceBelow: .99,
	}}
	for i, day := range []string{"2026-03-31", "2026-04-02", "2026-04-07", "2026-04-09"} {
		r.Logs = append(r.Logs, domain.PracticeLog{ID: idOf("log", i), Fields: domain.PracticeLogFields{
			GoalieID: s.goalie.ID, TeamID: idOf("team", 1), PractisedOn: date(day), TeamShots: 12,
			Done: []domain.PracticeDone{{DrillID: codeID("drill", "drop_beat"), Minutes: 3, Repetitions: 15}},
		}})
	}
	r.Fits = []domain.Fit{modelFit()}
	r.NextGames = []domain.Game{{ID: idOf("game", 90), Fields: domain.GameFields{PlayedOn: date("2026-04-18"), Kind: domain.KindGame}}}
	return r
}

func TestAWeekInABlock(t *testing.T) {
	v := OfGoalie(blockWeek(t))
	require.Len(t, v.WorkOns, 3)
	first := v.WorkOns[0]
	assert.Equal(t, "low_save", first.Target.Code)
	assert.Equal(t, "Kept for its block, week 2 of 3.", *first.Kept)
	require.Len(t, first.Drills, 2)
	assert.Equal(t, idOf("assignment", 1), *first.Drills[0].AssignmentID)
	assert.Nil(t, first.Drills[0].Rule)
	assert.Equal(t, "called_low", first.Drills[1].Code, "its step was logged four times")
	assert.Equal(t, []string{"Not on the day before a game (18 April): no hard drill, half the live shots."}, first.Drills[1].Notes)
	for _, w := range v.WorkOns[1:] {
		assert.Equal(t, w.Target.Code == "mid_save", w.Kept != nil)
		assert.NotEmpty(t, w.Drills)
	}
	require.Len(t, v.HeldBack, 2)
	assert.EqualValues(t, "dropped", v.HeldBack[0].Gate)
	assert.Equal(t, "The coach dropped it for this target, from 6 April to 19 April. Reason: no wall.", v.HeldBack[0].Why)
	require.Len(t, v.Blocks, 4)
	assert.Equal(t, "Stop at the release, for Mid-shot save rate: begins on 13 April, 2 times planned.", v.Blocks[0].Sentence)
	assert.Nil(t, v.Blocks[0].SwappedFor)
	swapped := v.Blocks[1]
	assert.Equal(t, "Hands only, for Mid-shot save rate: swapped for Stop at the release. Reason: no wall.", swapped.Sentence)
	assert.Equal(t, "no wall", *swapped.Reason)
	assert.Equal(t, "Stop at the release", *swapped.SwappedFor)
	assert.Empty(t, swapped.Counts)
	b := v.Blocks[2]
	assert.Equal(t, "Beat the drop, for Low-shot save rate: week 2 of 3, practised 4 times of 6 planned by 12 April.", b.Sentence)
	require.Len(t, b.Counts, 1)
	assert.Equal(t, []int{5, 21}, []int{b.Counts[0].Before.Hits, b.Counts[0].Before.Tries}, "6 by now: one was corrected")
	assert.True(t, b.Counts[0].Kept)
	assert.False(t, v.Blocks[3].Counts[0].Kept)
	assert.Equal(t, []int{3, 10}, []int{b.Counts[0].Since.Hits, b.Counts[0].Since.Tries})
	assert.Equal(t, "Hands only, for High-shot save rate: finished, practised 0 times of 4 planned.", v.Blocks[3].Sentence)
	assert.Equal(t, 17+52+24, v.LiveShots.Used, "two games' shots on goal, the waved-off one too, and two practices' team shots")
	var codes []string
	for _, h := range v.ReadingList {
		codes = append(codes, h.Code)
	}
	assert.Equal(t, "set_before_release", codes[0])
	assert.Len(t, codes, 2)
	assert.Equal(t, []int{3, 26}, []int{v.ReadingList[0].Games, v.ReadingList[0].Read})
	assert.Equal(t, warm, v.SharedCautions[0])
	golden(t, "block", v)
}

func TestALimitedGoalieIsGivenNoHarderDrill(t *testing.T) {
	s := spring(domain.Limited)
	v := OfGoalie(s.week("2026-W15", 30))
	require.Len(t, v.WorkOns, 1)
	assert.Empty(t, v.WorkOns[0].Drills)
	require.Len(t, v.HeldBack, 2)
	for _, h := range v.HeldBack {
		assert.EqualValues(t, "availability", h.Gate)
	}
	golden(t, "limited", v)
	s.goalie.Fields.AllowedDrillIDs = []domain.ID{codeID("drill", "drop_beat")}
	v = OfGoalie(s.week("2026-W15", 30))
	require.Len(t, v.WorkOns[0].Drills, 1)
	assert.Contains(t, v.AvailabilityNote, "1 drill that a coach ticked")
}

func TestAHeldGoalieIsRecommendedNothing(t *testing.T) {
	v := OfGoalie(spring(domain.Held).week("2026-W15", 30))
	assert.Empty(t, v.WorkOns)
	assert.Empty(t, v.ReadingList)
	assert.Empty(t, v.Advice)
	require.NotNil(t, v.NoWorkOn)
	assert.Contains(t, *v.NoWorkOn, "film included")
	assert.NotEmpty(t, v.Plays, "what was charted is still shown")
	golden(t, "held", v)
}

func TestAWeekWithoutShots(t *testing.T) {
	v := OfGoalie(newSeason(domain.Full).week("2026-W15", 0))
	assert.Equal(t, "No shots charted in the look-back.", *v.NoWorkOn)
	golden(t, "no_shots", v)
}

func TestAStintWithoutShotsHasNullsNeverZeroes(t *testing.T) {
	s := newSeason(domain.Full)
	s.game("2026-04-11", domain.KindGame, highSchool, 600)
	v := OfGoalie(s.week("2026-W15", 20))
	require.Len(t, v.Plays, 1)
	for _, r := range v.Plays[0].Rates {
		assert.Nil(t, r.Rate)
		assert.Nil(t, r.ChanceBelow)
		assert.Equal(t, domain.NoData, *r.State)
	}
	assert.Nil(t, v.Plays[0].LineWeek.SavePercentage)
	assert.Equal(t, "0.000", *v.Plays[0].LineWeek.GoalsAgainstAverageText)
	golden(t, "no_tries", v)
}

func TestUnreadHabitsAreUnseenAndSaid(t *testing.T) {
	s := newSeason(domain.Full)
	g := s.game("2026-04-11", domain.KindGame, highSchool, 2880)
	s.add(g, highSchool, 8, domain.Save, read(domain.Yes))
	s.add(g, highSchool, 17, domain.Goal, read(domain.No))
	s.add(g, highSchool, 3, domain.Goal, read(domain.NotSeen))
	s.add(g, highSchool, 2, domain.Goal, nil)
	v := OfGoalie(s.week("2026-W15", 8))
	require.Len(t, v.WorkOns, 1)
	w := v.WorkOns[0]
	assert.Equal(t, "Set before release: 8 of 25 in four weeks (5 more are not known); the target is .80.", w.Sentence)
	assert.Equal(t, 5, w.Target.Unseen)
	assert.Equal(t, []string{"Of 2 rates some shots are not known; they are left out, never counted as misses."}, v.Cautions)
	require.Len(t, w.Drills, 1)
	assert.Equal(t, "film_pause", w.Drills[0].Code, "call and freeze takes 12 minutes; there are 8")
	require.Len(t, v.HeldBack, 1)
	assert.EqualValues(t, "minutes", v.HeldBack[0].Gate)
	golden(t, "unseen", v)
}

func TestAReboundIsNoTryOfBeingSet(t *testing.T) {
	rebound := func(answer domain.Answer) func(*domain.CountedShot) {
		return func(c *domain.CountedShot) {
			read(answer)(c)
			c.Shot.Fields.Arrival = p(domain.Arrival("rebound"))
		}
	}
	s := newSeason(domain.Full)
	g := s.game("2026-04-11", domain.KindGame, highSchool, 2880)
	s.add(g, highSchool, 8, domain.Save, read(domain.Yes))
	s.add(g, highSchool, 17, domain.Goal, read(domain.No))
	s.add(g, highSchool, 4, domain.Goal, rebound(domain.No))
	s.add(g, highSchool, 2, domain.Goal, rebound(domain.NotSeen))
	v := OfGoalie(s.week("2026-W15", 8))
	set := v.WorkOns[0].Target
	assert.Equal(t, []int{8, 25, 0}, []int{set.Hits, set.Tries, set.Unseen})
}

func TestOnlyTheLookBackAndTheGoalieCount(t *testing.T) {
	s := spring(domain.Full)
	late := s.game("2026-04-13", domain.KindGame, highSchool, 2880) // the Monday after
	s.add(late, highSchool, 30, domain.Save, low)
	early := s.game("2026-03-01", domain.KindGame, highSchool, 2880) // the Sunday before the six weeks
	s.add(early, highSchool, 30, domain.Save, low)
	s.add(late, highSchool, 5, domain.Goal, func(c *domain.CountedShot) { c.Shot.Found.FacedGoalieID = nil })
	s.clear(late, highSchool, 3, domain.Cleared, false)
	s.clear(early, highSchool, 5, domain.Cleared, false)
	s.faced.Clears[len(s.faced.Clears)-1].Clear.Found.CageGoalieID = p(idOf("goalie", 2))
	v := OfGoalie(s.week("2026-W15", 30))
	assert.Equal(t, 31, v.WorkOns[0].Target.Tries)
	assert.Equal(t, 5, v.Plays[0].LinesSeason[0].Line.Games, "the season holds the early game, not the late one")
	assert.Equal(t, 20, v.Plays[0].LinesSeason[0].Line.ClearsTried, "16 and 4: one was another goalie's")
}

func TestListsAreNeverNull(t *testing.T) {
	raw, err := json.Marshal(OfGoalie(domain.WeekRecords{Week: domain.Week{Year: 2026, Number: 15}}))
	require.NoError(t, err)
	var v map[string]any
	require.NoError(t, json.Unmarshal(raw, &v))
	for _, list := range []string{
		"plays", "work_ons", "advice", "went_well", "blocks", "reading_list", "held_back", "shared_cautions", "cautions",
	} {
		assert.Equal(t, []any{}, v[list], list)
	}
	assert.Nil(t, v["live_shots"])
}

func TestDifferentMinutesAreNotPooled(t *testing.T) {
	s := spring(domain.Full)
	longer := highSchool
	longer.AverageMinutes = 60
	g := s.game("2026-04-10", domain.KindGame, longer, 3600)
	s.add(g, longer, 10, domain.Goal, high)
	v := OfGoalie(s.week("2026-W15", 30))
	require.Len(t, v.Plays, 2)
	assert.Equal(t, 48, v.Plays[0].LineWeek.AverageMinutes)
	assert.Equal(t, "10.000", *v.Plays[1].LineWeek.GoalsAgainstAverageText)
	assert.NotEmpty(t, v.Plays[0].Rates)
	assert.Empty(t, v.Plays[1].Rates)
}
