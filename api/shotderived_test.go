package api_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestEveryAnswerOfAShotSaysWhatFollows: a new shot, a repeat, a change, one read alone and one of a list say the same.
func TestEveryAnswerOfAShotSaysWhatFollows(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	path := "/v1/shots/" + s.id("derived")
	body := map[string]any{"game_id": s.game("game", "2014-02-08"), "outcome": "wide", "film_ms": 7,
		"ball_x_m": 3, "ball_y_m": 4, "goalie_x_m": 0.3, "goalie_y_m": 0.4}
	derived := func(record any) map[string]any {
		t.Helper()
		return record.(map[string]any)["derived"].(map[string]any)
	}
	first := s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated).object()
	require.EqualValues(t, 5, derived(first)["distance_m"])
	require.InDelta(t, 0.4, derived(first)["depth_m"], 1e-12)
	require.Equal(t, "right", derived(first)["ball_side"])
	require.Nil(t, derived(first)["flight_time_s"])
	again := s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusOK).object()
	require.Equal(t, derived(first), derived(again))
	alone := s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).object()
	require.Equal(t, derived(first), derived(alone))
	list := s.do(call{method: http.MethodGet, path: "/v1/shots"}).want(http.StatusOK).object()["items"].([]any)
	require.Equal(t, derived(first), derived(list[0]))
	changed := s.do(call{method: http.MethodPatch, path: path, ifMatch: "*",
		body: map[string]any{"speed_ms": 25, "ball_uncertain_m": 1.5}}).want(http.StatusOK).object()
	require.Equal(t, true, derived(changed)["coarse"])
	require.Nil(t, derived(changed)["distance_m"])
	require.NotEmpty(t, changed["warnings"])
}
