package api_test

import (
	"fmt"
	"maps"
	"math"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
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

// TestAnArcTellsTravelAndDepth: the arc is set after the game was charted. The shot is straight out, so that the arc has its
// goalie at its apex, and the pass came along the goal line's extension, for which it has them at its end: the travel is the
// third side of a right triangle.
func TestAnArcTellsTravelAndDepth(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	path := "/v1/shots/" + s.id("derived")
	s.do(call{method: http.MethodPut, path: path, body: map[string]any{"game_id": s.game("game", "2014-02-08"), "outcome": "wide",
		"film_ms": 7, "ball_x_m": 0, "ball_y_m": 9, "goalie_x_m": 0, "goalie_y_m": 0.6, "ball_uncertain_m": 0.05,
		"goalie_uncertain_m": 0.05, "pass_x_m": 6, "pass_y_m": 0, "catch_to_release_s": 0.5}}).want(http.StatusCreated)
	derived := func() map[string]any {
		t.Helper()
		return s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).object()["derived"].(map[string]any)
	}
	for _, name := range []string{"travel_m", "travel_speed_ms", "depth_held"} {
		require.Nil(t, derived()[name], name)
	}
	require.Equal(t, "yes", derived()["on_angle"])
	set := func(fields map[string]any) answer {
		return s.do(call{method: http.MethodPatch, path: competitionPath, ifMatch: "*", body: fields})
	}
	set(map[string]any{"arc_apex_m": 0.8}).want(http.StatusOK)
	travel := math.Hypot(1.829/2-0.2, 0.8)
	require.InDelta(t, travel, derived()["travel_m"], 1e-9)
	require.InDelta(t, 2*travel, derived()["travel_speed_ms"], 1e-9)
	require.Equal(t, "yes", derived()["depth_held"])
	set(map[string]any{"arc_apex_m": 1, "arc_half_stance_m": 0.3}).want(http.StatusOK)
	require.InDelta(t, math.Hypot(1.829/2-0.3, 1), derived()["travel_m"], 1e-9)
	require.Equal(t, "no", derived()["depth_held"], "0.4 m off")
	set(map[string]any{"arc_apex_m": nil, "shade_near_m": 0.1}).want(http.StatusOK)
	require.Nil(t, derived()["travel_m"])

	set(map[string]any{"arc_apex_m": 0.05}).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/arc_apex_m")
	set(map[string]any{"arc_half_stance_m": 0.6}).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/arc_half_stance_m")
	set(map[string]any{"shade_near_m": -0.6}).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/shade_near_m")
	set(map[string]any{"goal_width_m": 1.83}).want(http.StatusConflict).wantProblem(domain.InUse, "")
}

// TestSpotsCountInTargets: a swing that was marked makes a feed one that went across, and a target of a program's own counts
// whether the depth was held, which nobody read.
func TestSpotsCountInTargets(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	s.do(call{method: http.MethodPatch, path: competitionPath, ifMatch: "*", body: map[string]any{"arc_apex_m": 0.8}}).want(http.StatusOK)
	s.do(call{method: http.MethodPut, path: "/v1/targets/" + s.id("depth"), body: map[string]any{
		"code": "depth", "name": "Held the depth", "cue": "Stay on the arc", "of": []any{map[string]any{"field": "on_goal", "is": true}},
		"hit": []any{map[string]any{"field": "depth_held", "is": "yes"}}, "kinds": []string{"game"}, "weeks": 4, "min_tries": 1,
		"cause": 20, "rates": []any{}, "active": true}}).want(http.StatusCreated)
	game := s.game("game", "2014-02-08")
	for i, marks := range []map[string]any{
		{"arrival": "cross_feed"},
		{"arrival": "feed"},
		{"arrival": "feed", "ball_x_m": 0, "ball_y_m": 9, "pass_x_m": 7, "pass_y_m": 4},  // 60.3 degrees
		{"arrival": "dodge", "ball_x_m": 0, "ball_y_m": 9, "pass_x_m": 6, "pass_y_m": 4}, // 56.3 degrees
		{"goalie_x_m": 0, "goalie_y_m": 0.9, "ball_uncertain_m": 0.05, "goalie_uncertain_m": 0.05, "ball_x_m": 0, "ball_y_m": 9},
		{"goalie_x_m": 0, "goalie_y_m": 1.2, "ball_uncertain_m": 0.05, "goalie_uncertain_m": 0.05, "ball_x_m": 0, "ball_y_m": 9},
	} {
		body := map[string]any{"game_id": game, "goalie_id": idIn(goaliePath), "outcome": "save", "film_ms": i}
		maps.Copy(body, marks)
		s.do(call{method: http.MethodPut, path: "/v1/shots/" + s.id(fmt.Sprint("shot ", i)), body: body}).want(http.StatusCreated)
	}
	var week struct {
		Plays []struct {
			Rates []struct {
				Code                string
				Hits, Tries, Unseen int
			}
		}
	}
	s.week("application/json").want(http.StatusOK).into(&week)
	got := map[string][3]int{}
	for _, r := range week.Plays[0].Rates {
		got[r.Code] = [3]int{r.Hits, r.Tries, r.Unseen}
	}
	require.Equal(t, [3]int{2, 2, 0}, got["across_save"])
	require.Equal(t, [3]int{1, 2, 4}, got["depth"])
}
