package summary

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
)

var second = domain.Goalie{ID: idOf("goalie", 2), Fields: domain.GoalieFields{Name: "Sam Birchwood"}}

func byNobody(how domain.CageHow) func(*domain.CountedShot) {
	return func(c *domain.CountedShot) { c.Shot.Found = domain.ShotFound{FacedHow: how} }
}

// The team lines of an empty net as the statistics service prints them, by the team's own part of the line.
func TestATeamsOwnLineAsPublished(t *testing.T) {
	var table struct{ Lines []published }
	readLines(t, "empty_cage", &table)
	for _, want := range table.Lines {
		s, comp := newSeason(domain.Full), college("mens_field")
		g := s.game("2014-04-11", domain.KindGame, comp, 3600-want.Seconds)
		s.add(g, comp, 9, domain.Goal, nil)
		s.stint(g, comp, want.Seconds, nil)
		s.add(g, comp, want.GoalsAgainst, domain.Goal, byNobody(domain.CageEmpty))
		lines := TeamLines(domain.LineRecords{Faced: s.faced, Goalies: []domain.Goalie{s.goalie}}, BySpan)
		require.Len(t, lines, 1)
		own := lines[0].Own.Line
		assert.Equal(t, want.Average, *own.GoalsAgainstAverageText, want.Team)
		assert.Equal(t, want.Seconds, own.Seconds)
		assert.True(t, own.Short)
		assert.Equal(t, 3600, lines[0].Seconds)
		assert.False(t, lines[0].Short)
		assert.Equal(t, 10, lines[0].GoalsAgainst)
		assert.Equal(t, "10.000", *lines[0].GoalsAgainstAverageText)
	}
}

func TestWhatStandsBesideATeamsLine(t *testing.T) {
	s, comp := newSeason(domain.Full), college("mens_field")
	g := s.game("2026-04-11", domain.KindGame, comp, 3600)
	s.add(g, comp, 4, domain.Save, nil)
	s.add(g, comp, 1, domain.Goal, nil)
	s.add(g, comp, 2, domain.OwnGoal, nil)
	s.add(g, comp, 1, domain.OwnGoal, byNobody(domain.CageUnresolved))
	s.add(g, comp, 3, domain.Goal, byNobody(domain.CageUnresolved))
	s.add(g, comp, 1, domain.Goal, func(c *domain.CountedShot) { c.Shot.Fields.WavedOff = true })
	s.add(g, comp, 1, domain.Goal, func(c *domain.CountedShot) {
		c.Shot.Fields.WavedOff, c.Shot.Found = true, domain.ShotFound{FacedHow: domain.CageUnresolved}
	})
	line := TeamLines(domain.LineRecords{Faced: s.faced, Goalies: []domain.Goalie{second, s.goalie}}, BySpan)[0]
	assert.Equal(t, []int{5, 5, 4, 1}, []int{line.Shots, line.ShotsOnGoal, line.Saves, line.GoalsAgainst})
	assert.Equal(t, []int{3, 4, 3}, []int{line.OwnGoals, line.GoalsAllowed, line.Unresolved})
	require.Len(t, line.Goalies, 1, "only those who played")
	assert.Equal(t, "Robin Ashgrove", line.Goalies[0].Name)
	assert.Zero(t, line.Own.Line.Games)
}

// Shots are often charted before anybody has charted who stood in the cage.
func TestATeamsLineIsThereWhenAllOfItWaits(t *testing.T) {
	s, comp := newSeason(domain.Full), college("womens_field")
	s.add(s.game("2026-04-11", domain.KindGame, comp, 0), comp, 6, domain.Save, byNobody(domain.CageUnresolved))
	s.add(s.game("2026-04-12", domain.KindScrimmage, college("box"), 0), college("box"), 6, domain.Save, byNobody(domain.CageUnresolved))
	for _, by := range []LinesBy{BySpan, ByGame} {
		lines := TeamLines(domain.LineRecords{Faced: s.faced}, by)
		require.Len(t, lines, 1)
		assert.Equal(t, 6, lines[0].Unresolved)
		assert.Zero(t, lines[0].Shots)
		assert.Nil(t, lines[0].SavePercentage)
		raw, err := json.Marshal(lines[0])
		require.NoError(t, err)
		assert.Contains(t, string(raw), `"goalies":[]`)
	}
}

// scene draws what a team's cage saw over three games, a scrimmage and two plays.
func scene(t *rapid.T) domain.LineRecords {
	s := newSeason(domain.Full)
	comps := []domain.CompetitionFields{college("mens_field"), college("box")}
	days := []string{"2026-03-07", "2026-03-14", "2026-04-11"}
	goalies := []*domain.ID{&s.goalie.ID, &second.ID, nil}
	for i := range 4 {
		kind := domain.KindGame
		if i == 3 {
			kind = domain.KindScrimmage
		}
		comp := rapid.SampledFrom(comps).Draw(t, "competition")
		g := s.game(days[i%3], kind, comp, 0)
		for range rapid.IntRange(0, 3).Draw(t, "stints") {
			s.stint(g, comp, rapid.IntRange(1, 1800).Draw(t, "seconds"), rapid.SampledFrom(goalies).Draw(t, "in the cage"))
		}
		for range rapid.IntRange(0, 12).Draw(t, "shots") {
			id, waits := rapid.SampledFrom(goalies).Draw(t, "faced"), rapid.IntRange(0, 5).Draw(t, "waits") == 0
			outcome := rapid.SampledFrom(domain.Outcomes).Draw(t, "outcome")
			s.add(g, comp, 1, outcome, func(c *domain.CountedShot) {
				c.Shot.Fields.WavedOff = outcome == domain.Goal && rapid.Bool().Draw(t, "waved off")
				c.Shot.Found.FacedGoalieID, c.Shot.Found.FacedHow = faced(id, waits)
			})
		}
		for range rapid.IntRange(0, 4).Draw(t, "clears") {
			id, waits := rapid.SampledFrom(goalies).Draw(t, "cleared"), rapid.IntRange(0, 5).Draw(t, "waits") == 0
			s.clear(g, comp, 1, rapid.SampledFrom(domain.ClearResults).Draw(t, "result"), rapid.Bool().Draw(t, "after a save"))
			found := &s.faced.Clears[len(s.faced.Clears)-1].Clear.Found
			found.CageGoalieID, found.CageHow = faced(id, waits)
		}
	}
	return domain.LineRecords{
		Faced: s.faced, Goalies: []domain.Goalie{s.goalie, second},
		Seasons: []domain.Season{named("all", "2026-03-01", "2026-04-30")},
	}
}

func faced(id *domain.ID, waits bool) (*domain.ID, domain.CageHow) {
	switch {
	case waits:
		return nil, domain.CageUnresolved
	case id == nil:
		return nil, domain.CageEmpty
	}
	return id, domain.CageGiven
}

// counts are the members of a line that add up.
func counts(l Line) [9]int {
	return [9]int{
		l.Shots, l.ShotsOnGoal, l.Saves, l.GoalsAgainst, l.Seconds,
		l.ClearsTried, l.ClearsMade, l.ClearsAfterSaveTried, l.ClearsAfterSaveMade,
	}
}

func plus(a, b [9]int) [9]int {
	for i := range a {
		a[i] += b[i]
	}
	return a
}

func TestATeamsLineIsTheSumOfItsParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := scene(t)
		sums, beside := map[LinesBy]map[lineKey][9]int{}, map[LinesBy]map[lineKey][3]int{}
		for _, by := range []LinesBy{BySpan, BySeason, ByGame} {
			sums[by], beside[by] = map[lineKey][9]int{}, map[lineKey][3]int{}
			for _, line := range TeamLines(r, by) {
				parts := counts(line.Own.Line)
				for _, g := range line.Goalies {
					parts = plus(parts, counts(g.Line))
				}
				assert.Equal(t, parts, counts(line.Line), "the goalies' lines and the team's own")
				assert.Equal(t, line.GoalsAgainst+line.OwnGoals, line.GoalsAllowed)
				sums[by][line.key] = plus(sums[by][line.key], counts(line.Line))
				b := beside[by][line.key]
				beside[by][line.key] = [3]int{b[0] + line.OwnGoals, b[1] + line.Unresolved, b[2] + line.GoalsAllowed}
			}
		}
		assert.Equal(t, sums[BySpan], sums[ByGame], "games add up to the span")
		assert.Equal(t, sums[BySpan], sums[BySeason])
		assert.Equal(t, beside[BySpan], beside[ByGame])
		assert.Equal(t, countedPlainly(r.Faced), [6]int(allOf(sums[BySpan], beside[BySpan])))
	})
}

// countedPlainly counts the records of games one by one: shots in lines, their goals, own goals, shots that wait, and
// clears that were tried and made.
func countedPlainly(f domain.FacedRecords) (out [6]int) {
	for _, s := range f.Shots {
		switch {
		case s.Game.Fields.Kind != domain.KindGame || s.Shot.Fields.WavedOff:
		case s.Shot.Fields.Outcome == domain.OwnGoal:
			out[2]++
		case s.Shot.Found.FacedHow == domain.CageUnresolved:
			out[3]++
		default:
			out[0]++
			if s.Shot.Fields.Outcome == domain.Goal {
				out[1]++
			}
		}
	}
	for _, c := range f.Clears {
		result := c.Clear.Fields.Result
		if c.Game.Fields.Kind != domain.KindGame || c.Clear.Found.CageHow == domain.CageUnresolved || result == domain.NotTried {
			continue
		}
		out[4]++
		if result == domain.Cleared {
			out[5]++
		}
	}
	return out
}

func allOf(sums map[lineKey][9]int, beside map[lineKey][3]int) []int {
	out := make([]int, 6)
	for key := range sums {
		out[0] += sums[key][0]
		out[1] += sums[key][3]
		out[2] += beside[key][0]
		out[3] += beside[key][1]
		out[4] += sums[key][5]
		out[5] += sums[key][6]
	}
	return out
}

func TestTheOrderOfRecordsDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := scene(t)
		shuffled := r
		shuffled.Faced.Shots = rapid.Permutation(r.Faced.Shots).Draw(t, "shots")
		shuffled.Faced.Stints = rapid.Permutation(r.Faced.Stints).Draw(t, "stints")
		shuffled.Faced.Clears = rapid.Permutation(r.Faced.Clears).Draw(t, "clears")
		for _, by := range []LinesBy{BySpan, BySeason, ByGame} {
			assert.Equal(t, TeamLines(r, by), TeamLines(shuffled, by))
			assert.Equal(t, GoalieLines(r, by), GoalieLines(shuffled, by))
		}
	})
}
