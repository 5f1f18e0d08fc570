package api_test

import (
	"net/http"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// weekOfBlocks is what the tests of blocks read of a goalie's week.
type weekOfBlocks struct {
	WorkOns []struct {
		Target struct {
			ID   string `json:"target_id"`
			Code string
		}
		Kept   *string
		Drills []struct {
			DrillID      string `json:"drill_id"`
			Name         string
			Minutes      int
			Repetitions  int
			TimesAWeek   int     `json:"times_a_week"`
			RuleID       *string `json:"rule_id"`
			AssignmentID *string `json:"assignment_id"`
		}
	} `json:"work_ons"`
	Blocks []struct {
		AssignmentID string `json:"assignment_id"`
		Status       string
		Reason       *string
		Sentence     string
		SwappedFor   *string `json:"swapped_for"`
		Counts       []map[string]any
	}
	HeldBack []map[string]any `json:"held_back"`
}

func (s *service) blocks(week string) (weekOfBlocks, string) {
	s.t.Helper()
	var v weekOfBlocks
	path := goaliePath + "/weeks/" + week
	s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).into(&v)
	page := s.do(call{method: http.MethodGet, path: path, header: http.Header{"Accept": {"text/html"}}}).want(http.StatusOK)
	return v, string(page.body)
}

// lowGame is a goalie of the season's team who saved 4 of 30 low shots in a game of the week 2014-W06.
func (s *service) lowGame() {
	s.t.Helper()
	s.collegeSeason()
	put := func(path string, body any) {
		s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated)
	}
	put("/v1/roster-spells/"+s.id("spell"), map[string]any{
		"team_id": idIn(teamPath), "goalie_id": idIn(goaliePath), "from_on": "2014-01-01", "to_on": nil})
	game := s.game("low game", "2014-02-08")
	for i := range 30 {
		outcome := "goal"
		if i < 4 {
			outcome = "save"
		}
		put("/v1/shots/"+s.id("low "+strconvItoa(i)), map[string]any{"game_id": game, "goalie_id": idIn(goaliePath),
			"outcome": outcome, "finish_band": "low", "period": 1, "clock_s": 800 - i})
	}
}

// recommended gives the block of the first recommended drill of a week, from a Monday.
func (v weekOfBlocks) recommended(monday string) map[string]any {
	drill := v.WorkOns[0].Drills[0]
	return map[string]any{
		"goalie_id": idIn(goaliePath), "target_id": v.WorkOns[0].Target.ID, "drill_id": drill.DrillID, "minutes": drill.Minutes,
		"repetitions": drill.Repetitions, "times_a_week": drill.TimesAWeek, "starts_on": monday, "weeks": 2, "status": "assigned",
	}
}

// TestWhatTheCoachRefusedDoesNotComeBack drops a recommendation that was never assigned.
func TestWhatTheCoachRefusedDoesNotComeBack(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.lowGame()
	before, page := s.blocks("2014-W06")
	require.Equal(t, "low_save", before.WorkOns[0].Target.Code)
	drill := before.WorkOns[0].Drills[0]
	require.Contains(t, page, drill.Name)

	body := before.recommended("2014-02-10")
	body["status"] = "dropped"
	path := "/v1/assignments/" + s.id("refused")
	s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusUnprocessableEntity).wantProblem("invalid", "/reason")
	body["reason"] = "Nobody to throw <low> this week"
	s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated)

	for _, week := range []string{"2014-W06", "2014-W07", "2014-W08"} {
		v, page := s.blocks(week)
		for _, w := range v.WorkOns {
			for _, d := range w.Drills {
				require.False(t, w.Target.Code == "low_save" && d.DrillID == drill.DrillID, week)
			}
		}
		require.True(t, slices.ContainsFunc(v.HeldBack, func(h map[string]any) bool {
			return h["gate"] == "dropped" && h["what"] == drill.Name &&
				h["why"] == "The coach dropped it for this target, from 10 February to 23 February. Reason: Nobody to throw <low> this week."
		}), "%s: %v", week, v.HeldBack)
		require.Len(t, v.Blocks, 1, week)
		require.Equal(t, "dropped", v.Blocks[0].Status)
		require.Equal(t, "Nobody to throw <low> this week", *v.Blocks[0].Reason)
		require.Contains(t, page, "dropped. Reason: Nobody to throw &lt;low&gt; this week.")
	}
	after, _ := s.blocks("2014-W09")
	require.Empty(t, after.Blocks, "its weeks are over")
	require.Equal(t, drill.DrillID, after.WorkOns[0].Drills[0].DrillID)
}

// TestAnAssignmentForTheNextWeekIsSeen follows the recommendation of a week, as a coach does on its Sunday.
func TestAnAssignmentForTheNextWeekIsSeen(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.lowGame()
	before, _ := s.blocks("2014-W06")
	body := before.recommended("2014-02-10")
	body["reason"] = "In place of the wall"
	s.do(call{method: http.MethodPut, path: "/v1/assignments/" + s.id("next"), body: body}).want(http.StatusCreated)
	v, page := s.blocks("2014-W06")
	require.Equal(t, s.id("next"), *v.WorkOns[0].Drills[0].AssignmentID)
	require.NotNil(t, v.WorkOns[0].Kept)
	require.Len(t, v.Blocks, 1)
	require.Nil(t, v.Blocks[0].Counts[0]["since"])
	require.Regexp(t, `: begins on 10 February, \d+ times planned\. Reason: In place of the wall\.$`, v.Blocks[0].Sentence)
	require.Contains(t, page, "begins on 10 February")
	earlier, _ := s.blocks("2014-W05")
	require.Empty(t, earlier.Blocks)
}

// TestWhatWasKnownIsKeptAndShown gives a block, corrects a shot of before, and reads the week.
func TestWhatWasKnownIsKeptAndShown(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.lowGame()
	before, _ := s.blocks("2014-W06")
	path := "/v1/assignments/" + s.id("block")
	body := before.recommended("2014-02-10")
	body["baselines"] = []any{}
	s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusUnprocessableEntity).wantProblem("invalid", "/baselines") // it is found, never given
	delete(body, "baselines")
	var given struct{ Baselines []map[string]any }
	s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated).into(&given)
	require.Len(t, given.Baselines, 1)
	b := given.Baselines[0]
	frozen, is := b["frozen"].(map[string]any)
	require.True(t, is)
	require.NotEmpty(t, frozen["prior"])
	delete(b, "frozen")
	require.Greater(t, b["chance_below"], .99)
	delete(b, "chance_below")
	require.Equal(t, map[string]any{"code_of_play": "mens_field", "level": "college", "from": "2013-12-30", "to": "2014-02-09",
		"hits": 4., "tries": 30., "unseen": 0., "target_rate": b["target_rate"]}, b)

	s.do(call{method: http.MethodPatch, path: "/v1/shots/" + s.id("low 20"), ifMatch: "*", body: `{"outcome":"save"}`}).want(http.StatusOK)
	read := func() (map[string]any, string) {
		v, page := s.blocks("2014-W07")
		require.Len(t, v.Blocks, 1)
		require.Len(t, v.Blocks[0].Counts, 1)
		return v.Blocks[0].Counts[0], page
	}
	count, page := read()
	require.Equal(t, true, count["kept"])
	require.Equal(t, map[string]any{"from": "2013-12-30", "to": "2014-02-09", "hits": 4., "tries": 30., "unseen": 0.}, count["before"])
	require.Equal(t, map[string]any{"from": "2014-02-10", "to": "2014-02-16", "hits": 0., "tries": 0., "unseen": 0.}, count["since"])
	require.Contains(t, page, "Before 4 of 30 (30 Dec to 9 Feb, as known when it was given).")

	conn, err := pgx.Connect(t.Context(), s.adminURL)
	require.NoError(t, err)
	defer func() { _ = conn.Close(t.Context()) }()
	_, err = conn.Exec(t.Context(), `UPDATE assignments SET baselines = NULL`) // as older ones are
	require.NoError(t, err)
	count, page = read()
	require.Equal(t, false, count["kept"])
	require.Equal(t, map[string]any{"from": "2013-12-30", "to": "2014-02-09", "hits": 5., "tries": 30., "unseen": 0.}, count["before"])
	require.Contains(t, page, "Before 5 of 30 (30 Dec to 9 Feb, not kept when it was given, counted anew)")
	require.Nil(t, s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).object()["baselines"])
}

// TestASwapIsShown gives another drill in place of a block's, by the rule that recommended the first.
func TestASwapIsShown(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.lowGame()
	before, _ := s.blocks("2014-W06")
	body := before.recommended("2014-02-10")
	body["rule_id"] = before.WorkOns[0].Drills[0].RuleID
	first, second := "/v1/assignments/"+s.id("first"), "/v1/assignments/"+s.id("second")
	given := s.do(call{method: http.MethodPut, path: first, body: body}).want(http.StatusCreated).object()
	require.Equal(t, *before.WorkOns[0].Drills[0].RuleID, given["rule_id"])
	require.Nil(t, given["swapped_for_id"])
	swap := map[string]any{"status": "dropped", "reason": "Nobody to throw", "swapped_for_id": idIn(second)}
	patch := call{method: http.MethodPatch, path: first, ifMatch: "*", body: swap}
	s.do(patch).want(http.StatusUnprocessableEntity).wantProblem("invalid", "/swapped_for_id") // it is not there yet
	var drills struct{ Items []struct{ ID, Name string } }
	s.do(call{method: http.MethodGet, path: "/v1/drills?limit=2"}).want(http.StatusOK).into(&drills)
	other := drills.Items[0]
	if other.ID == body["drill_id"] {
		other = drills.Items[1]
	}
	body["drill_id"], body["rule_id"] = other.ID, nil
	s.do(call{method: http.MethodPut, path: second, body: body}).want(http.StatusCreated)
	s.do(patch).want(http.StatusOK)

	v, page := s.blocks("2014-W06")
	require.Len(t, v.Blocks, 2)
	sentence := "swapped for " + other.Name + ". Reason: Nobody to throw."
	for _, b := range v.Blocks {
		if b.AssignmentID == idIn(first) {
			require.Contains(t, b.Sentence, sentence)
			require.Equal(t, other.Name, *b.SwappedFor)
		} else {
			require.Nil(t, b.SwappedFor)
		}
	}
	require.Contains(t, page, sentence)
	s.do(call{method: http.MethodDelete, path: second, ifMatch: "*"}).want(http.StatusConflict).wantProblem("in_use", "")
}
