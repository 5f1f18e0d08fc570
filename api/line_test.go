package api_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// publishedSeason is a season as it was published game by game; testdata/lines/by_game.json names the source.
type publishedSeason struct {
	Source     string
	Time       string // in the cage, minutes and seconds
	Average    string
	Percentage string
	Games      []struct {
		GoalsAgainst int `json:"goals_against"`
		Saves        int
	}
}

// collegeSeason makes a men's college competition, a team, a goalie and a season for a published line.
func (s *service) collegeSeason() {
	s.t.Helper()
	put := func(path string, body any) {
		s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated)
	}
	put(competitionPath, map[string]any{
		"name": "Men's college", "code_of_play": "mens_field", "level": "college", "goal_width_m": 1.829,
		"goal_height_m": 1.829, "crease_radius_m": 2.743, "periods": 4, "period_s": 900, "overtime_s": 240,
		"average_minutes": 60, "clear_line": "centre", "own_goal_rule": "any_defender", "unconfirmed": []string{},
	})
	put(teamPath, map[string]any{"name": "A college team", "competition_id": idIn(competitionPath), "practice_minutes": 60})
	put(goaliePath, goalieBody)
	put(seasonPath, map[string]any{"name": "2014", "starts_on": "2014-01-01", "ends_on": "2014-06-30"})
}

const seasonPath = "/v1/seasons/0195b000-0000-7000-8000-000000000004"

func idIn(path string) string { return path[len(path)-36:] }

// TestAPublishedSeasonShotByShot posts a whole published season through the API, one shot at a time, and asks for
// the line. The source gives no minutes a game, so the stints are such that they add up to the season's.
func TestAPublishedSeasonShotByShot(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("../testdata/lines/by_game.json")
	require.NoError(t, err)
	var published publishedSeason
	require.NoError(t, json.Unmarshal(text, &published))
	require.NotEmpty(t, published.Source)
	var minutes, seconds int
	_, err = fmt.Sscanf(published.Time, "%d:%d", &minutes, &seconds)
	require.NoError(t, err)
	seconds += 60 * minutes

	s := newService(t)
	s.collegeSeason()
	overtime, goals, saves := seconds-3600*len(published.Games), 0, 0
	for i, game := range published.Games {
		s.postGame(i, 3600+max(0, min(240, overtime-240*i)), game.Saves, game.GoalsAgainst)
		goals, saves = goals+game.GoalsAgainst, saves+game.Saves
	}
	line := s.lines("?season_id=" + idIn(seasonPath))
	require.Len(t, line, 1)
	require.EqualValues(t, goals, line[0]["goals_against"])
	require.EqualValues(t, saves, line[0]["saves"])
	require.EqualValues(t, saves+goals, line[0]["shots_on_goal"])
	require.EqualValues(t, seconds, line[0]["seconds"])
	require.EqualValues(t, len(published.Games), line[0]["games"])
	require.Equal(t, published.Percentage, line[0]["save_percentage_text"])
	require.Equal(t, published.Average, line[0]["goals_against_average_text"])
	require.Empty(t, s.lines("?from=2015-01-01"), "no line over a span without a game")
}

func (s *service) lines(query string) []map[string]any {
	s.t.Helper()
	var body struct{ Lines []map[string]any }
	s.do(call{method: http.MethodGet, path: goaliePath + "/lines" + query}).want(http.StatusOK).into(&body)
	return body.Lines
}

// postGame posts a game with one stint of the given seconds, its shots on goal, and shots that are in no shots on
// goal: off a pipe, wide, blocked, a goal that was waved off and an own goal.
func (s *service) postGame(number, seconds, saves, goals int) {
	s.t.Helper()
	id := func(name string) string { return domain.NameID(s.program, strconvItoa(number)+name).String() }
	day := domain.Date{Year: 2014, Month: 2, Day: 8}.AddDays(7 * number)
	put := func(path string, body any) {
		s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated)
	}
	game := id("game")
	put("/v1/games/"+game, map[string]any{"team_id": idIn(teamPath), "competition_id": idIn(competitionPath),
		"played_on": day, "kind": "game"})
	stint := map[string]any{"game_id": game, "goalie_id": idIn(goaliePath), "start_period": 1, "start_clock_s": 900,
		"end_period": 4, "end_clock_s": 0}
	if seconds > 3600 {
		stint["end_period"], stint["end_clock_s"] = 5, 240-(seconds-3600)
	}
	put("/v1/stints/"+id("stint"), stint)
	posted := 0
	shot := func(body map[string]any) {
		posted++
		body["game_id"], body["period"], body["clock_s"] = game, 1+posted%4, 900-posted
		put("/v1/shots/"+id("shot "+strconvItoa(posted)), body)
	}
	for range saves {
		shot(map[string]any{"outcome": "save"})
	}
	for range goals {
		shot(map[string]any{"outcome": "goal"})
	}
	for _, outcome := range []string{"pipe", "wide", "blocked", "own_goal"} {
		shot(map[string]any{"outcome": outcome})
	}
	shot(map[string]any{"outcome": "goal", "waved_off": true})
}

// TestARateNobodyHadATryAt is null in JSON and "no shots" on the page, never 0.
func TestARateNobodyHadATryAt(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	s.postGame(0, 3600, 0, 0)
	line := s.lines("")
	require.Len(t, line, 1)
	require.Nil(t, line[0]["save_percentage"])
	require.Equal(t, "0.000", line[0]["goals_against_average_text"], "an hour without a goal against")

	path := goaliePath + "/weeks/2014-W06"
	var week struct {
		Plays []struct {
			Rates []map[string]any
		}
	}
	s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).into(&week)
	require.Len(t, week.Plays, 1)
	require.NotEmpty(t, week.Plays[0].Rates)
	for _, rate := range week.Plays[0].Rates {
		require.EqualValues(t, 0, rate["tries"])
		require.Nil(t, rate["rate"])
		require.Nil(t, rate["low"])
		if rate["target_rate"] == nil {
			require.Nil(t, rate["state"], "the target is not judged here")
			continue
		}
		require.Equal(t, "no_data", rate["state"])
	}
	page := s.do(call{method: http.MethodGet, path: path, header: http.Header{"Accept": {"text/html"}}}).want(http.StatusOK)
	require.Contains(t, string(page.body), "no shots")
	require.NotContains(t, string(page.body), "0 of 0")
}
