package api_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

const fitPath = "/v1/fits/"

func TestAFitBySteps(t *testing.T) {
	t.Parallel()
	s := newService(t)
	w := &world{name: "fits", seed: s.program}
	w.build(s, everything(s.director))
	path := fitPath + w.id("with the shot")
	body := `{"code_of_play":"mens_field","level":"high_school","fitted_on":"2026-04-12"}`
	made := s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated)
	first := s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK)
	require.JSONEq(t, string(made.body), string(first.body))
	fit := first.object()
	require.Equal(t, false, fit["enough"])
	require.Contains(t, fit["reason"], "30 of each are needed")
	require.InDelta(t, 1, fit["shots"], 0, "the example's shot")
	require.Nil(t, fit["model"])
	habits, _ := s.do(call{method: http.MethodGet, path: "/v1/habits?limit=200"}).object()["items"].([]any)
	require.Len(t, fit["habits"], len(habits), "the program's habits")

	again := s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusOK)
	require.JSONEq(t, string(first.body), string(again.body))
	require.Equal(t, first.header.Get("ETag"), again.header.Get("ETag"))

	shot := s.do(call{method: http.MethodPatch, path: w.put["shot"], ifMatch: "*", body: `{"outcome":"goal","save_by":null,"rebound":null,"outlet":null}`})
	shot.want(http.StatusOK)
	require.JSONEq(t, string(first.body), string(s.do(call{method: http.MethodGet, path: path}).body), "a correction does not change it")
	anew := s.do(call{method: http.MethodPut, path: fitPath + w.id("anew"), body: body}).want(http.StatusCreated).object()
	require.InDelta(t, 0, anew["saves"], 0, "a new one sees it")

	changes := s.do(call{method: http.MethodGet, path: "/v1/changes/" + idIn(path)}).want(http.StatusOK).object()
	require.Len(t, changes["items"], 1)
	s.do(call{method: http.MethodPost, path: "/v1/changes/" + idIn(path) + "/undo", ifMatch: first.header.Get("ETag"), body: "{}"}).
		wantProblem(domain.Conflict, "")
}

func TestFitsAreNeitherChangedNorRemoved(t *testing.T) {
	t.Parallel()
	s := newService(t)
	path := fitPath + s.id("fit")
	s.do(call{method: http.MethodPut, path: path, body: `{"code_of_play":"box","level":"10u","fitted_on":"2026-04-12"}`}).
		want(http.StatusCreated)
	s.do(call{method: http.MethodPatch, path: path, ifMatch: "*", body: `{"level":"12u"}`}).want(http.StatusMethodNotAllowed)
	s.do(call{method: http.MethodDelete, path: path, ifMatch: "*"}).want(http.StatusMethodNotAllowed)
	s.do(call{method: http.MethodPut, path: path, body: `{"code_of_play":"box","level":"12u","fitted_on":"2026-04-12"}`}).
		wantProblem(domain.Conflict, "")
	s.do(call{method: http.MethodPut, path: fitPath + s.id("late"), body: `{"code_of_play":"box","level":"12u","fitted_on":"2199-01-01"}`}).
		wantProblem(domain.Invalid, "/fitted_on")
	s.do(call{method: http.MethodPut, path: fitPath + s.id("found"), body: `{"code_of_play":"box","level":"12u","fitted_on":"2026-04-12","enough":true}`}).
		wantProblem(domain.Invalid, "/enough")
}

func TestListsOfFits(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for name, body := range map[string]string{
		"a": `{"code_of_play":"box","level":"10u","fitted_on":"2026-04-11"}`,
		"b": `{"code_of_play":"box","level":"12u","fitted_on":"2026-04-11"}`,
		"c": `{"code_of_play":"sixes","level":"12u","fitted_on":"2026-04-11"}`,
	} {
		s.do(call{method: http.MethodPut, path: fitPath + s.id(name), body: body}).want(http.StatusCreated)
	}
	for query, n := range map[string]int{
		"": 3, "?code_of_play=box": 2, "?level=12u": 2, "?code_of_play=box&level=12u": 1, "?code_of_play=mens_field": 0,
	} {
		page := s.do(call{method: http.MethodGet, path: "/v1/fits" + query}).want(http.StatusOK).object()
		require.Len(t, page["items"], n, query)
	}
	page := s.do(call{method: http.MethodGet, path: "/v1/fits?level=12u&limit=1"}).want(http.StatusOK).object()
	next, _ := page["next_cursor"].(string)
	page = s.do(call{method: http.MethodGet, path: "/v1/fits?level=12u&limit=1&cursor=" + next}).want(http.StatusOK).object()
	require.Len(t, page["items"], 1)
	require.Nil(t, page["next_cursor"])
	s.do(call{method: http.MethodGet, path: "/v1/fits?limit=1&cursor=" + next}).wantProblem(domain.Malformed, "cursor")
	s.do(call{method: http.MethodGet, path: "/v1/fits?level=13u"}).wantProblem(domain.Malformed, "level")
	s.do(call{method: http.MethodGet, path: "/v1/fits?code_of_play=chess"}).wantProblem(domain.Malformed, "code_of_play")
}

// TestExpectedSavesNameTheirFit: wherever saves expected stand, the fit that they stand on can be asked for.
func TestExpectedSavesNameTheirFit(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	game := s.game("game", "2014-02-08")
	goalie := s.id("keeper")
	s.do(call{method: http.MethodPut, path: "/v1/goalies/" + goalie, body: map[string]any{
		"name": "Juno Ashe", "stick_hand": "left", "availability": "full", "allowed_drill_ids": []string{}}}).want(http.StatusCreated)
	for i, outcome := range []string{"save", "save", "goal", "wide"} {
		s.do(call{method: http.MethodPut, path: "/v1/shots/" + s.id(outcome+strconvItoa(i)), body: map[string]any{
			"game_id": game, "goalie_id": goalie, "outcome": outcome, "film_ms": 1000 * i}}).want(http.StatusCreated)
	}
	expected := func(path string, at func(map[string]any) any) any {
		t.Helper()
		line, is := at(s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).object()).(map[string]any)
		require.True(t, is, path)
		require.Contains(t, line, "expected", path)
		return line["expected"]
	}
	first := func(v any) map[string]any {
		t.Helper()
		list, _ := v.([]any)
		require.NotEmpty(t, list)
		object, _ := list[0].(map[string]any)
		return object
	}
	lines := func(o map[string]any) any { return first(o["lines"]) }
	places := map[string]func(map[string]any) any{
		"/v1/goalies/" + goalie + "/lines":                lines,
		"/v1/goalies/" + goalie + "/lines?by=game":        lines,
		"/v1/teams/" + idIn(teamPath) + "/lines":          lines,
		"/v1/goalies/" + goalie + "/weeks/2014-W06":       func(o map[string]any) any { return first(o["plays"])["line_week"] },
		"/v1/teams/" + idIn(teamPath) + "/weeks/2014-W06": func(o map[string]any) any { return first(o["lines_week"]) },
	}
	for path, at := range places {
		require.Nil(t, expected(path, at), path)
	}
	s.do(call{method: http.MethodPut, path: fitPath + s.id("fit"), body: `{"code_of_play":"mens_field","level":"college","fitted_on":"2014-02-09"}`}).
		want(http.StatusCreated)
	for path, at := range places {
		e, _ := expected(path, at).(map[string]any)
		require.Equal(t, s.id("fit"), e["fit_id"], path)
		require.InDelta(t, 3, e["shots"], 0, path)
		require.InDelta(t, 2, e["saves"], 0, path)
		require.InDelta(t, 3*2.5/4, e["expected"], 1e-12, "half a save and half a goal added: %s", path)
		require.Equal(t, true, e["pooled"], path)
	}
}
