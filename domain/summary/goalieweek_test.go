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
	require.NotNil(t, v.WorkOn)
	assert.Nil(t, v.NoWorkOn)
	assert.Equal(t, "Low shots: 9 saved of 31 in six weeks; the target is .50.", v.WorkOn.Sentence)
	assert.Equal(t, domain.ClearGap, *v.WorkOn.Target.State)
	assert.Equal(t, "drop_beat", v.WorkOn.Drill.Code)
	assert.Equal(t, 9, v.WorkOn.Drill.WeekMinutes)
	require.Len(t, v.WorkOn.Watch, 4)
	notes := map[string]int{}
	for i, w := range v.WorkOn.Watch {
		notes[w.Note]++
		if i > 0 {
			assert.False(t, v.WorkOn.Watch[i-1].PlayedOn.Before(w.PlayedOn), "newest first")
		}
	}
	assert.Equal(t, map[string]int{Missed: 2, Made: 2}, notes)
	week, season := v.Plays[0].LineWeek, v.Plays[0].LinesSeason[0].Line
	assert.Equal(t, []int{3, 4, 2, 2}, []int{week.ClearsMade, week.ClearsTried, week.ClearsAfterSaveMade, week.ClearsAfterSaveTried})
	assert.Equal(t, []int{12, 16, 8, 8}, []int{season.ClearsMade, season.ClearsTried, season.ClearsAfterSaveMade, season.ClearsAfterSaveTried})
	assert.Equal(t, ".750", *season.ClearPercentageText)
	golden(t, "gap", v)
}

func TestALimitedGoalieIsGivenNoHarderDrill(t *testing.T) {
	v := OfGoalie(spring(domain.Limited).week("2026-W15", 30))
	require.NotNil(t, v.WorkOn)
	assert.Nil(t, v.WorkOn.Drill)
	require.Len(t, v.HeldBack, 2)
	for _, h := range v.HeldBack {
		assert.EqualValues(t, "availability", h.Gate)
	}
	golden(t, "limited", v)
}

func TestAHeldGoalieIsRecommendedNothing(t *testing.T) {
	v := OfGoalie(spring(domain.Held).week("2026-W15", 30))
	assert.Nil(t, v.WorkOn)
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
	require.NotNil(t, v.WorkOn)
	assert.Equal(t, "Set before release: 8 of 25 in four weeks (5 more are not known); the target is .80.", v.WorkOn.Sentence)
	assert.Equal(t, 5, v.WorkOn.Target.Unseen)
	require.Len(t, v.Cautions, 1)
	assert.Equal(t, "film_pause", v.WorkOn.Drill.Code, "call and freeze takes 12 minutes; there are 8")
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
	assert.Equal(t, []int{8, 25, 0}, []int{v.WorkOn.Target.Hits, v.WorkOn.Target.Tries, v.WorkOn.Target.Unseen})
	assert.Empty(t, v.Cautions)
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
	assert.Equal(t, 31, v.WorkOn.Target.Tries)
	assert.Equal(t, 5, v.Plays[0].LinesSeason[0].Line.Games, "the season holds the early game, not the late one")
	assert.Equal(t, 20, v.Plays[0].LinesSeason[0].Line.ClearsTried, "16 and 4: one was another goalie's")
}

func TestListsAreNeverNull(t *testing.T) {
	raw, err := json.Marshal(OfGoalie(domain.WeekRecords{Week: domain.Week{Year: 2026, Number: 15}}))
	require.NoError(t, err)
	var v map[string]any
	require.NoError(t, json.Unmarshal(raw, &v))
	for _, list := range []string{"plays", "held_back", "cautions"} {
		assert.Equal(t, []any{}, v[list], list)
	}
	assert.Nil(t, v["work_on"])
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
