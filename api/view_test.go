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
	for _, name := range []string{"id", "rev", "residuals_px", "warnings"} {
		delete(view, name)
	}
	view["marks"] = view["marks"].([]any)[:4] // all on the goal line
	a := s.do(call{method: http.MethodPut, path: "/v1/views/" + s.id("flat"), body: view}).want(http.StatusUnprocessableEntity)
	require.Contains(t, string(a.body), "in a line lie post_left, post_right, crease_goal_line_left, crease_goal_line_right")
}
