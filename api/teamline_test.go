package api_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// TestWhoseShotAndTheTeamsLine: two goalies and an empty cage in one game. What is not settled is listed, counts in
// no line, and is found again when the stints say more.
func TestWhoseShotAndTheTeamsLine(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	second := "/v1/goalies/" + s.id("second")
	s.do(call{method: http.MethodPut, path: second, body: `{"name":"Juno Ashe","stick_hand":"left","availability":"full","allowed_drill_ids":[]}`}).want(201)
	game := s.game("game", "2014-02-08")
	put := func(path string, body map[string]any) {
		s.do(call{method: http.MethodPut, path: path, body: body}).want(201)
	}
	stint := func(name string, goalie any, fromPeriod, fromClock, toPeriod, toClock int) {
		put("/v1/stints/"+s.id(name), map[string]any{"game_id": game, "goalie_id": goalie, "start_period": fromPeriod,
			"start_clock_s": fromClock, "end_period": toPeriod, "end_clock_s": toClock})
	}
	shot := func(name, outcome string, period, clock int) {
		put("/v1/shots/"+s.id(name), map[string]any{"game_id": game, "outcome": outcome, "period": period, "clock_s": clock})
	}
	stint("starter", idIn(goaliePath), 1, 900, 2, 0)
	stint("nobody", nil, 4, 57, 4, 0)
	shot("a", "save", 1, 800)
	shot("b", "goal", 2, 100)
	shot("late", "save", 3, 500)
	shot("empty", "goal", 4, 30)
	shot("own", "own_goal", 1, 700)
	put("/v1/clears/"+s.id("clear"), map[string]any{"game_id": game, "shot_id": s.id("a"), "result": "cleared"})

	unresolved := func() []string {
		return s.everyPage("/v1/shots", s.director, s.do(call{method: http.MethodGet, path: "/v1/shots?unresolved=true"}).want(200))
	}
	team := func() map[string]any {
		var body struct{ Lines []map[string]any }
		s.do(call{method: http.MethodGet, path: teamPath + "/lines?by=game"}).want(200).into(&body)
		require.Len(t, body.Lines, 1)
		return body.Lines[0]
	}
	require.Equal(t, []string{s.id("late")}, unresolved())
	line := team()
	require.EqualValues(t, 1, line["unresolved"])
	require.EqualValues(t, 1, line["own_goals"])
	require.EqualValues(t, 2, line["goals_against"])
	require.EqualValues(t, 3, line["goals_allowed"])
	require.EqualValues(t, 1, line["saves"])
	own := line["own"].(map[string]any)["line"].(map[string]any)
	require.EqualValues(t, 57, own["seconds"])
	require.Equal(t, "63.158", own["goals_against_average_text"], "1 goal in 57 seconds over 60 minutes")
	require.Equal(t, true, own["short"])

	before := s.do(call{method: http.MethodGet, path: "/v1/shots/" + s.id("late")}).object()
	require.Equal(t, "unresolved", before["faced_how"])
	require.NotEmpty(t, before["warnings"])
	stint("relief", idIn(second), 3, 900, 4, 57)
	require.Empty(t, unresolved())
	after := s.do(call{method: http.MethodGet, path: "/v1/shots/" + s.id("late")}).object()
	require.Equal(t, "stint_clock", after["faced_how"])
	require.Equal(t, idIn(second), after["faced_goalie_id"])
	require.Len(t, s.history("/v1/shots/"+s.id("late")), 2)
	require.Len(t, s.history("/v1/shots/"+s.id("a")), 1, "what did not change has no change")
	line = team()
	require.EqualValues(t, 0, line["unresolved"])
	require.EqualValues(t, 2, line["saves"])
	require.Len(t, line["goalies"], 2)
	require.EqualValues(t, 3600, line["seconds"])
	require.EqualValues(t, 1, line["clears_made"])
	require.EqualValues(t, 1, line["clears_after_save_made"])
}

// TestListsNarrow: the filters that a user needs.
func TestListsNarrow(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	s.postGame(0, 3600, 2, 1) // 2014-02-08, week 6
	s.postGame(1, 3600, 1, 0) // a week later
	for path, want := range map[string]int{
		"/v1/games": 2, "/v1/games?week=2014-W06": 1, "/v1/games?season_id=" + idIn(seasonPath): 2,
		"/v1/games?goalie_id=" + idIn(goaliePath): 2,
		"/v1/shots": 14, "/v1/shots?week=2014-W06": 8, "/v1/shots?week=2014-W06&team_id=" + idIn(teamPath): 8,
		"/v1/shots?season_id=" + idIn(seasonPath): 14, "/v1/shots?goalie_id=" + idIn(goaliePath): 14,
		"/v1/shots?game_id=" + s.id("1game"): 6, "/v1/shots?unresolved=true": 0, "/v1/shots?unresolved=false": 14,
		"/v1/stints?game_id=" + s.id("0game"): 1, "/v1/stints?goalie_id=" + idIn(goaliePath): 2,
	} {
		got := s.everyPage("/v1/shots", s.director, s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK))
		require.Len(t, got, want, path)
	}
	s.do(call{method: http.MethodGet, path: "/v1/games?week=2014-W60"}).want(http.StatusBadRequest)
	for _, list := range []string{"/v1/games?season_id=", "/v1/shots?game_id=", "/v1/games?team_id=", "/v1/clears?goalie_id="} {
		_, name, _ := strings.Cut(strings.TrimSuffix(list, "="), "?")
		s.do(call{method: http.MethodGet, path: list + s.id("none")}).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, name)
	}
}
