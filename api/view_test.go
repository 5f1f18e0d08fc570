package api_test

import (
	"net/http"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// TestAViewMapsClicks follows a view from its marks to a thousand spots.
func TestAViewMapsClicks(t *testing.T) {
	t.Parallel()
	s := newService(t)
	w := &world{name: "film", seed: s.program}
	w.build(s, everything(s.director))
	path := w.put["view"]
	view := s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).object()
	require.Len(t, view["residuals_px"], 8)
	require.Empty(t, view["warnings"])

	click := map[string]any{"u_px": 1153.5, "v_px": 563}
	clicks := slices.Repeat([]any{click}, domain.MaxClicks)
	clicks[1] = map[string]any{"u_px": 1153.5, "v_px": 3}
	clicks[2] = map[string]any{"u_px": -1, "v_px": 3}
	mapped := s.do(call{method: http.MethodPost, path: path + "/map", body: map[string]any{"clicks": clicks}}).want(http.StatusOK).object()
	require.Equal(t, view["rev"], mapped["view_rev"])
	items := mapped["items"].([]any)
	require.Len(t, items, domain.MaxClicks)
	for i, item := range items {
		item := item.(map[string]any)
		require.EqualValues(t, i, item["index"])
		switch i {
		case 1:
			require.Equal(t, "on_horizon", item["refusal"].(map[string]any)["code"])
		case 2:
			require.Equal(t, "outside_picture", item["refusal"].(map[string]any)["code"])
		default:
			require.InDelta(t, 8, item["spot"].(map[string]any)["y_m"], .1)
			require.Nil(t, item["refusal"])
		}
	}

	for _, bad := range []any{
		map[string]any{"clicks": append(clicks, click)}, map[string]any{"clicks": []any{}},
		map[string]any{"clicks": []any{map[string]any{"u_px": 1}}}, map[string]any{},
		map[string]any{"clicks": []any{map[string]any{"u_px": 1, "v_px": 1, "pixel_error_px": 0}}},
	} {
		s.do(call{method: http.MethodPost, path: path + "/map", body: bad}).want(http.StatusUnprocessableEntity)
	}
	s.do(call{method: http.MethodPost, path: "/v1/views/" + s.id("no view") + "/map", body: map[string]any{"clicks": []any{click}}}).
		want(http.StatusNotFound)
}

// TestAViewThatCannotBeIsRefused: the reason names the marks.
func TestAViewThatCannotBeIsRefused(t *testing.T) {
	t.Parallel()
	s := newService(t)
	w := &world{name: "film", seed: s.program}
	w.build(s, everything(s.director))
	view := s.do(call{method: http.MethodGet, path: w.put["view"]}).want(http.StatusOK).object()
	for _, name := range []string{"id", "rev", "places", "residuals_px", "warnings"} {
		delete(view, name)
	}
	view["marks"] = view["marks"].([]any)[:4] // all on the goal line
	a := s.do(call{method: http.MethodPut, path: "/v1/views/" + s.id("flat"), body: view}).want(http.StatusUnprocessableEntity)
	require.Contains(t, string(a.body), "in a line lie post_left, post_right, crease_goal_line_left, crease_goal_line_right")
}

// TestAViewByNamesAlone: a film tool lists the marks that the competition knows, sends which of them it clicked, and gets the
// places that were used.
func TestAViewByNamesAlone(t *testing.T) {
	t.Parallel()
	s := newService(t)
	w := &world{name: "film", seed: s.program}
	w.build(s, everything(s.director))
	known := s.do(call{method: http.MethodGet, path: w.put["competition"] + "/marks"}).want(http.StatusOK).object()
	require.Equal(t, idIn(w.put["competition"]), known["competition_id"])
	require.Equal(t, "mens_field", known["code_of_play"])
	place := func(mark any) map[string]any { return mark.(map[string]any) }
	var marks, places []any
	for _, m := range known["ground"].([]any)[:6] { // straight from above: 100 pixels are a metre
		m := place(m)
		marks = append(marks, map[string]any{"name": m["name"], "u_px": 1000 + 100*m["x_m"].(float64), "v_px": 500 - 100*m["y_m"].(float64)})
		places = append(places, map[string]any{"name": m["name"], "x_m": m["x_m"], "y_m": m["y_m"], "up_m": nil, "unconfirmed": m["unconfirmed"]})
	}
	body := map[string]any{"game_id": idIn(w.put["game"]), "name": "Drone", "plane": "ground", "width_px": 2000, "height_px": 1000,
		"pixel_error_px": 1, "marks": marks}
	path := "/v1/views/" + s.id("by names")
	view := s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated).object()
	require.Equal(t, places, view["places"])
	require.Nil(t, place(view["marks"].([]any)[0])["x_m"])
	require.Equal(t, view, s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusOK).object())
	mapped := s.do(call{method: http.MethodPost, path: path + "/map",
		body: map[string]any{"clicks": []any{map[string]any{"u_px": 1250, "v_px": 300}}}}).want(http.StatusOK).object()
	spot := place(place(mapped["items"].([]any)[0])["spot"])
	require.InDelta(t, 2.5, spot["x_m"], 1e-6)
	require.InDelta(t, 2, spot["y_m"], 1e-6)

	place(marks[2])["name"] = "flag"
	bad := s.do(call{method: http.MethodPut, path: "/v1/views/" + s.id("flag"), body: body}).want(http.StatusUnprocessableEntity)
	bad.wantProblem(domain.Invalid, "/marks/2/name")
	for _, m := range known["ground"].([]any) {
		require.Contains(t, string(bad.body), place(m)["name"], "the refusal lists the known names")
	}
	place(marks[2])["x_m"] = 1
	s.do(call{method: http.MethodPut, path: "/v1/views/" + s.id("half"), body: body}).want(http.StatusUnprocessableEntity).
		wantProblem(domain.Invalid, "/marks/2")
	place(marks[2])["x_m"], place(marks[2])["y_m"] = 2.743, 0.
	measured := s.do(call{method: http.MethodPut, path: "/v1/views/" + s.id("measured"), body: body}).want(http.StatusCreated).object()
	require.Len(t, measured["places"], 5, "a mark with a place of its own keeps it")
	s.do(call{method: http.MethodGet, path: "/v1/competitions/" + s.id("none") + "/marks"}).want(http.StatusNotFound)
}

// TestAShotIsClickedOnTheGround: the pass and the goalie are clicked, the ball is tapped; a corrected view moves what was
// clicked, by a change in the shot's own history.
func TestAShotIsClickedOnTheGround(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	game := s.game("filmed", "2014-02-15")
	marks := func(leftPx float64) []any { // straight from above: 100 pixels are a metre
		var out []any
		for name, at := range map[string][2]float64{"a": {-2, 0}, "b": {2, 0}, "c": {-1.5, 4}, "d": {1.5, 4}, "e": {0, 6}, "f": {3, 7}} {
			out = append(out, map[string]any{"name": name, "u_px": 1000 - leftPx + 100*at[0], "v_px": 900 - 100*at[1], "x_m": at[0], "y_m": at[1]})
		}
		return out
	}
	view := "/v1/views/" + s.id("drone")
	s.do(call{method: http.MethodPut, path: view, body: map[string]any{"game_id": game, "name": "Drone", "plane": "ground",
		"width_px": 2000, "height_px": 1000, "pixel_error_px": 1, "marks": marks(0)}}).want(http.StatusCreated)
	body := map[string]any{"game_id": game, "outcome": "wide", "film_ms": 7, "ball_x_m": 3, "ball_y_m": 4, "ground_view_id": idIn(view),
		"pass_u_px": 700, "pass_v_px": 500, "goalie_u_px": 1020, "goalie_v_px": 840, "goalie_facing_deg": 30}
	path := "/v1/shots/" + s.id("clicked")
	shot := s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated).object()
	require.InDelta(t, -3, shot["clicked_pass_x_m"], 1e-6)
	require.InDelta(t, 4, shot["clicked_pass_y_m"], 1e-6)
	require.InDelta(t, .2, shot["clicked_goalie_x_m"], 1e-6)
	require.InDelta(t, .6, shot["clicked_goalie_y_m"], 1e-6)
	require.Less(t, shot["clicked_goalie_error_m"], .1)
	require.Nil(t, shot["clicked_ball_x_m"])
	require.Nil(t, shot["goalie_x_m"], "what a client wrote stays as it was")
	derived := shot["derived"].(map[string]any)
	require.InDelta(t, .6, derived["depth_m"], 1e-6)
	require.Equal(t, true, derived["crossed_middle"])

	s.do(call{method: http.MethodPatch, path: view, ifMatch: "*", body: map[string]any{"marks": marks(50)}}).want(http.StatusOK)
	moved := s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).object()
	require.InDelta(t, -2.5, moved["clicked_pass_x_m"], 1e-6)
	require.InDelta(t, .7, moved["clicked_goalie_x_m"], 1e-6)
	require.EqualValues(t, 3, moved["ball_x_m"])
	require.NotEqual(t, derived["off_angle_cm"], moved["derived"].(map[string]any)["off_angle_cm"])
	changes := s.do(call{method: http.MethodGet, path: "/v1/changes/" + idIn(path)}).want(http.StatusOK).object()["items"].([]any)
	require.Len(t, changes, 2)
	require.InDelta(t, .2, changes[1].(map[string]any)["before_found"].(map[string]any)["clicked_goalie_x_m"], 1e-6)

	for pointer, change := range map[string]map[string]any{
		"/ground_view_id": {"goalie_v_px": nil},
		"/pass_x_m":       {"pass_x_m": 1, "pass_y_m": 1},
		"/goalie_x_m":     {"goalie_x_m": 1, "goalie_y_m": 1},
		"/pass_u_px":      {"pass_u_px": 2001},
	} {
		s.do(call{method: http.MethodPatch, path: path, ifMatch: "*", body: change}).want(http.StatusUnprocessableEntity).
			wantProblem(domain.Invalid, pointer)
	}
}
