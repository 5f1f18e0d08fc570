package api_test

import (
	"fmt"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

const positioning = "/v1/lessons/positioning"

// lesson asks for a lesson by a query.
func (s *service) lesson(query string) map[string]any {
	s.t.Helper()
	return s.do(call{method: http.MethodGet, path: positioning + query}).want(http.StatusOK).object()
}

// TestALessonTellsThePublishedTimesAndAngles holds lessons to two tables that were worked out apart from this code: the
// milliseconds of a ball from its release to the goal line, without drag and with the drag from memory, at published mean
// speeds (see TestFlightTimeTable of domain/field), and the angle of a goal of 6 ft straight on, 2 atan(3 ft / d).
func TestALessonTellsThePublishedTimesAndAngles(t *testing.T) {
	t.Parallel()
	s := newService(t)
	const yard = 0.9144
	for speed, want := range map[float64]map[float64][2]float64{
		17.14: {5 * yard: {267, 271}, 8: {467, 479}, 10 * yard: {533, 550}, 12 * yard: {640, 664}, 12: {700, 728}, 15 * yard: {800, 837}},
		31.11: {5 * yard: {147, 149}, 8: {257, 264}, 10 * yard: {294, 303}, 12 * yard: {353, 366}, 12: {386, 401}, 15 * yard: {441, 461}},
		38.33: {5 * yard: {119, 121}, 8: {209, 214}, 10 * yard: {239, 246}, 12 * yard: {286, 297}, 12: {313, 326}, 15 * yard: {358, 374}},
		44.70: {5 * yard: {102, 104}, 8: {179, 184}, 10 * yard: {205, 211}, 12 * yard: {245, 255}, 12: {268, 279}, 15 * yard: {307, 321}},
	} {
		for out, ms := range want {
			l := s.lesson(fmt.Sprintf("?ball_y_m=%g&speed_ms=%g", out, speed))
			require.InDelta(t, ms[0], 1000*l["flight_time_s"].(float64), .6)
			require.InDelta(t, ms[1], 1000*l["drag_flight_time_s"].(float64), .6)
			onLine := l["depths"].([]any)[0].(map[string]any)
			require.Equal(t, l["flight_time_s"], onLine["flight_time_s"], "the first distance is the goal line itself")
			require.Contains(t, l["says"].([]any)[0], fmt.Sprintf("The ball takes %.0f ms.", 1000*l["flight_time_s"].(float64)))
		}
	}
	for yards, degrees := range map[float64]float64{5: 22.62, 8: 14.25, 10: 11.42, 12: 9.53, 15: 7.63} {
		require.InDelta(t, degrees, s.lesson(fmt.Sprintf("?ball_y_m=%g", yards*yard))["goal_angle_deg"], .005)
	}
}

// TestALessonSetsDistancesSideBySide: every metre further out covers more beside and leaves less time, and no depth is
// named as the one to take.
func TestALessonSetsDistancesSideBySide(t *testing.T) {
	t.Parallel()
	s := newService(t)
	l := s.lesson("?code_of_play=womens_field&ball_x_m=-3&ball_y_m=8&release_up_m=2.1&speed_ms=25&body_width_m=0.45&body_height_m=1.4" +
		"&crosse_width_m=0.2&crosse_height_m=1.5&stick_hand=left&arc_apex_m=1&arc_half_stance_m=0.25&shade_near_m=-0.05" +
		"&out_along_bisector_m=0.4,0.8,1.2,2")
	require.Equal(t, map[string]any{
		"competition_id": nil, "code_of_play": "womens_field", "ball_x_m": -3., "ball_y_m": 8., "release_up_m": 2.1, "speed_ms": 25., "body_width_m": .45,
		"body_height_m": 1.4, "crosse_width_m": .2, "crosse_height_m": 1.5, "stick_hand": "left", "arc_apex_m": 1.,
		"arc_half_stance_m": .25, "shade_near_m": -.05, "out_along_bisector_m": []any{.4, .8, 1.2, 2.},
	}, l["question"])
	require.InDelta(t, 2.6, l["crease_radius_m"], 1e-12)
	depths := l["depths"].([]any)
	require.Len(t, depths, 4)
	for i := range depths[1:] {
		before, d := depths[i].(map[string]any), depths[i+1].(map[string]any)
		require.Greater(t, d["covered_low"], before["covered_low"])
		require.Less(t, d["flight_time_s"], before["flight_time_s"])
		require.Greater(t, d["drag_flight_time_s"], d["flight_time_s"])
		require.Greater(t, d["open_above"], before["open_above"], "the release is above the reach")
	}
	says := fmt.Sprint(l["says"])
	require.Contains(t, says, "No depth is recommended")
	require.Contains(t, says, "higher than the goalkeeper's reach of 1.50 m")
	require.Contains(t, says, "from memory")
	require.Equal(t, "bisector", l["arc_how"])
	require.Equal(t, "pipe", s.lesson("?ball_x_m=0.5&ball_y_m=0.7&arc_apex_m=0.1&shade_near_m=0.5&out_along_bisector_m=0")["arc_how"])
}

// TestALessonOfACompetition: its goal and arc stand where no parameter says otherwise.
func TestALessonOfACompetition(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	mine := "?competition_id=" + idIn(competitionPath)
	require.InDelta(t, 1.829, s.lesson(mine)["goal_width_m"], 1e-12)
	require.InDelta(t, 1.8288, s.lesson("")["goal_width_m"], 1e-12, "the code of play's own")
	asked := func(query, name string) any { return s.lesson(query)["question"].(map[string]any)[name] }
	require.InDelta(t, 0.75, asked(mine, "arc_apex_m"), 1e-12, "it has set none")
	s.do(call{method: http.MethodPatch, path: competitionPath, ifMatch: "*",
		body: map[string]any{"arc_apex_m": 0.9, "shade_near_m": 0.1}}).want(http.StatusOK)
	require.Equal(t, idIn(competitionPath), asked(mine, "competition_id"))
	require.InDelta(t, 0.9, asked(mine, "arc_apex_m"), 1e-12)
	require.InDelta(t, 0.2, asked(mine, "arc_half_stance_m"), 1e-12, "as before")
	require.InDelta(t, 0.1, asked(mine, "shade_near_m"), 1e-12)
	require.InDelta(t, 0.9, s.lesson(mine)["at_arc"].(map[string]any)["depth_m"], 1e-9, "straight out it is the apex")
	require.InDelta(t, 1.2, asked(mine+"&arc_apex_m=1.2&code_of_play=mens_field", "arc_apex_m"), 1e-12)
	for query, parameter := range map[string]string{
		mine + "&code_of_play=box": "code_of_play", "?competition_id=" + s.id("none"): "competition_id",
		mine + "&arc_half_stance_m=0.6": "arc_half_stance_m",
	} {
		s.do(call{method: http.MethodGet, path: positioning + query}).want(http.StatusUnprocessableEntity).
			wantProblem(domain.Invalid, parameter)
	}
	s.do(call{method: http.MethodGet, path: positioning + "?competition_id=ours"}).want(http.StatusBadRequest).
		wantProblem(domain.Malformed, "competition_id")
}

func TestALessonRefusesByItsParameter(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for query, parameter := range map[string]string{
		"code_of_play=polo": "code_of_play", "ball_x_m=60": "ball_x_m", "ball_y_m=-3": "ball_y_m", "ball_y_m=NaN": "ball_y_m",
		"release_up_m=4.1": "release_up_m", "speed_ms=-1": "speed_ms", "speed_ms=Inf": "speed_ms", "body_width_m=4": "body_width_m",
		"body_height_m=0.2": "body_height_m", "crosse_width_m=-1": "crosse_width_m", "crosse_height_m=9": "crosse_height_m",
		"stick_hand=both": "stick_hand", "arc_apex_m=0": "arc_apex_m", "arc_half_stance_m=0.6": "arc_half_stance_m",
		"shade_near_m=1": "shade_near_m", "out_along_bisector_m=1,9": "out_along_bisector_m/1",
	} {
		s.do(call{method: http.MethodGet, path: positioning + "?" + query}).want(http.StatusUnprocessableEntity).
			wantProblem(domain.Invalid, parameter)
	}
	for query, parameter := range map[string]string{
		"ball_x_m=far": "ball_x_m", "out_along_bisector_m=1,x": "out_along_bisector_m", "out_along_bisector_m=": "out_along_bisector_m",
		"out_along_bisector_m=1&out_along_bisector_m=2": "out_along_bisector_m", "depth_m=1": "depth_m",
	} {
		s.do(call{method: http.MethodGet, path: positioning + "?" + query}).want(http.StatusBadRequest).
			wantProblem(domain.Malformed, parameter)
	}
}
