package summary

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

func named(name, from, to string) domain.Season {
	return domain.Season{
		ID:     domain.NameID(program, name),
		Fields: domain.SeasonFields{Name: name, StartsOn: date(from), EndsOn: date(to)},
	}
}

// twoMonths is three games: two in March, one of them a save of two shots, and one in April in another play.
func twoMonths() (*season, domain.LineRecords) {
	s, field, box := newSeason(domain.Full), college("mens_field"), college("box")
	later := s.game("2026-03-20", domain.KindGame, field, 3600)
	s.add(later, field, 6, domain.Save, nil)
	s.clear(later, field, 3, domain.Cleared, true)
	first := s.game("2026-03-07", domain.KindGame, field, 1800)
	s.add(first, field, 1, domain.Save, nil)
	s.add(first, field, 1, domain.Goal, nil)
	s.clear(first, field, 1, domain.ClearFailed, false)
	last := s.game("2026-04-01", domain.KindGame, box, 3600)
	s.add(last, box, 4, domain.Goal, nil)
	scrimmage := s.game("2026-03-08", domain.KindScrimmage, field, 3600)
	s.add(scrimmage, field, 9, domain.Goal, nil)
	s.clear(scrimmage, field, 9, domain.ClearFailed, false)
	s.faced.From, s.faced.To = date("2026-03-01"), date("2026-04-30")
	return s, domain.LineRecords{Faced: s.faced, Seasons: []domain.Season{
		named("March", "2026-03-01", "2026-03-31"), named("all", "2026-03-07", "2026-04-01"), named("empty", "2026-05-01", "2026-06-01"),
	}}
}

// cut is what a test looks at of a line.
type cut struct {
	code                       domain.CodeOfPlay
	from, to                   string
	games, saves, goals, clear int
}

func cutsOf(lines []SpanLine) []cut {
	var out []cut
	for _, l := range lines {
		out = append(out, cut{l.CodeOfPlay, l.From.String(), l.To.String(), l.Games, l.Saves, l.GoalsAgainst, l.ClearsTried})
	}
	return out
}

func TestLinesOfTheSpan(t *testing.T) {
	_, r := twoMonths()
	lines := GoalieLines(r, BySpan)
	assert.Equal(t, []cut{
		{"mens_field", "2026-03-01", "2026-04-30", 2, 7, 1, 4}, {"box", "2026-03-01", "2026-04-30", 1, 0, 4, 0},
	}, cutsOf(lines))
	assert.Equal(t, ".750", *lines[0].ClearPercentageText)
	assert.Equal(t, 3, lines[0].ClearsAfterSaveTried)
	assert.Nil(t, lines[1].ClearPercentage)
	assert.Nil(t, lines[0].GameID)
	assert.Nil(t, lines[0].SeasonID)
	r.Faced.From, r.Faced.To = domain.Date{}, domain.Date{}
	assert.Nil(t, GoalieLines(r, BySpan)[0].From, "a span that is open")
	assert.Nil(t, GoalieLines(r, BySpan)[0].To)
}

func TestLinesBySeasonMayOverlap(t *testing.T) {
	_, r := twoMonths()
	lines := GoalieLines(r, BySeason)
	assert.Equal(t, []cut{
		{"mens_field", "2026-03-01", "2026-03-31", 2, 7, 1, 4},
		{"mens_field", "2026-03-07", "2026-04-01", 2, 7, 1, 4}, {"box", "2026-03-07", "2026-04-01", 1, 0, 4, 0},
	}, cutsOf(lines))
	assert.Equal(t, r.Seasons[0].ID, *lines[0].SeasonID)
	assert.Equal(t, r.Seasons[1].ID, *lines[2].SeasonID)
	assert.Nil(t, lines[0].GameID)
}

func TestLinesByGameAreInTheOrderOfDays(t *testing.T) {
	s, r := twoMonths()
	lines := GoalieLines(r, ByGame)
	assert.Equal(t, []cut{
		{"mens_field", "2026-03-07", "2026-03-07", 1, 1, 1, 1}, {"mens_field", "2026-03-20", "2026-03-20", 1, 6, 0, 3},
		{"box", "2026-04-01", "2026-04-01", 1, 0, 4, 0},
	}, cutsOf(lines))
	assert.Equal(t, s.faced.Stints[1].Game.ID, *lines[0].GameID)
	assert.Equal(t, "1.000", *lines[1].SavePercentageText)
}

func TestASpanLineIsOneFlatObject(t *testing.T) {
	_, r := twoMonths()
	raw, err := json.Marshal(GoalieLines(r, ByGame)[0])
	require.NoError(t, err)
	var flat map[string]any
	require.NoError(t, json.Unmarshal(raw, &flat))
	assert.Contains(t, flat, "season_id")
	assert.Nil(t, flat["season_id"])
	assert.Equal(t, "2026-03-07", flat["from"])
	assert.InDelta(t, 1, flat["clears_tried"], 0)
	for _, by := range []LinesBy{BySpan, BySeason, ByGame} {
		none, err := json.Marshal(GoalieLines(domain.LineRecords{}, by))
		require.NoError(t, err)
		assert.JSONEq(t, "[]", string(none))
	}
}

func TestClears(t *testing.T) {
	s, comp := newSeason(domain.Full), college("mens_field")
	g := s.game("2026-04-11", domain.KindGame, comp, 3600)
	s.clear(g, comp, 2, domain.NotTried, true)
	none := Lines(s.faced, nil)[0]
	assert.Zero(t, none.ClearsTried)
	assert.Nil(t, none.ClearPercentage, "none tried is no percentage, not .000")
	s.clear(g, comp, 1, domain.ClearFailed, true)
	assert.Equal(t, ".000", *Lines(s.faced, nil)[0].ClearPercentageText)
	s.clear(g, comp, 6, domain.Cleared, false)
	s.clear(g, comp, 1, domain.Cleared, true)
	s.clear(g, comp, 1, domain.ClearFailed, true)
	s.faced.Clears[len(s.faced.Clears)-1].Clear.Found = domain.ClearFound{CageHow: domain.CageUnresolved}
	line := Lines(s.faced, nil)[0]
	assert.Equal(t, []int{8, 7, 2, 1}, []int{line.ClearsTried, line.ClearsMade, line.ClearsAfterSaveTried, line.ClearsAfterSaveMade})
	assert.Equal(t, ".875", *line.ClearPercentageText)
}

func TestShortIsUnderTenMinutes(t *testing.T) {
	for seconds, short := range map[int]bool{1: true, ShortSeconds - 1: true, ShortSeconds: false, 3600: false} {
		s, comp := newSeason(domain.Full), college("mens_field")
		s.add(s.game("2026-04-11", domain.KindGame, comp, seconds), comp, 1, domain.Goal, nil)
		line := Lines(s.faced, nil)[0]
		assert.Equal(t, short, line.Short, seconds)
		assert.NotNil(t, line.GoalsAgainstAverage, "the number is carried all the same")
	}
}
