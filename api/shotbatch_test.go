package api_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/api"
	"cagework/domain"
)

// batchAnswer is the answer to a batch.
type batchAnswer struct {
	Items []struct {
		Index   int
		ID      *string
		Status  domain.PutStatus
		Rev     *int64
		Problem *api.Problem
	}
}

func (s *service) batch(body any) batchAnswer {
	s.t.Helper()
	var out batchAnswer
	s.do(call{method: http.MethodPost, path: "/v1/shots/batch", body: body}).want(http.StatusMultiStatus).into(&out)
	return out
}

// game puts a game of the college season and gives its id.
func (s *service) game(name, day string) string {
	s.t.Helper()
	id := s.id(name)
	s.do(call{method: http.MethodPut, path: "/v1/games/" + id, body: map[string]any{"team_id": idIn(teamPath),
		"competition_id": idIn(competitionPath), "played_on": day, "kind": "game"}}).want(http.StatusCreated)
	return id
}

func (s *service) id(name string) string { return domain.NameID(s.program, name).String() }

// TestABatchOfEveryKind: each item has its own result and stands alone, and the whole may be sent again.
func TestABatchOfEveryKind(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	game := s.game("game", "2014-02-08")
	shot := func(name, rest string) string {
		return fmt.Sprintf(`{"id":"%s","game_id":"%s",%s}`, s.id(name), game, rest)
	}
	gone := "/v1/shots/" + s.id("gone")
	s.do(call{method: http.MethodPut, path: gone, body: map[string]any{"game_id": game, "outcome": "wide", "film_ms": 1}}).want(201)
	s.do(call{method: http.MethodDelete, path: gone, ifMatch: "*"}).want(204)
	body := "[" + strings.Join([]string{
		shot("a", `"outcome":"save","film_ms":1000`),
		shot("b", `"outcome":"save","film_ms":2000,"shoe":9`),
		shot("c", `"outcome":"stop","film_ms":2000`),
		`7`,
		`{"game_id":"` + game + `","outcome":"save","film_ms":5}`,
		shot("a", `"outcome":"goal","film_ms":1000`),
		shot("a", `"outcome":"save","film_ms":1000`),
		shot("d", `"outcome":"goal","film_ms":3000,"goalie_id":"`+s.id("nobody")+`"`),
		shot("e", `"outcome":"goal","film_ms":4000`),
		shot("gone", `"outcome":"wide","film_ms":1`),
		shot("f", `"outcome":"save","film_ms":4000,"finish_band":"mid","finish_x_m":0,"finish_up_m":0.1`),
	}, ",") + "]"
	want := []domain.PutStatus{"created", "invalid", "invalid", "invalid", "invalid", "conflict", "unchanged", "invalid",
		"created", "conflict", "invalid"}
	pointers := map[int]string{1: "/shoe", 2: "/outcome", 4: "/id", 7: "/goalie_id", 10: "/finish_band"}
	first := s.batch(body)
	require.Len(t, first.Items, len(want))
	for i, item := range first.Items {
		require.Equal(t, i, item.Index)
		require.Equal(t, want[i], item.Status, "item %d: %+v", i, item.Problem)
		if i == 5 { // of the one that holds the id, as a PUT's refusal has it
			require.Equal(t, first.Items[0].Rev, item.Rev)
		} else {
			require.Equal(t, item.Rev == nil, item.Problem != nil, "a result or a problem")
		}
		if p := pointers[i]; p != "" {
			require.Equal(t, p, item.Problem.Errors[0].Pointer)
		}
	}
	require.Nil(t, first.Items[3].ID)
	require.Equal(t, s.id("b"), *first.Items[1].ID, "an item that cannot be read is still told by its id")
	second := s.batch(body)
	require.Equal(t, first.Items[0].Rev, second.Items[5].Rev)
	for i, item := range second.Items {
		require.Equal(t, map[domain.PutStatus]domain.PutStatus{"created": "unchanged"}[want[i]] == "unchanged" || want[i] == "unchanged",
			item.Status == "unchanged", "item %d on the second time: %s", i, item.Status)
	}
	require.Len(t, s.everyPage("/v1/shots", s.director, s.do(call{method: http.MethodGet, path: "/v1/shots"})), 2)
	for _, bad := range []string{`{}`, `[]`, `"x"`, `[1`, "[" + strings.TrimSuffix(strings.Repeat("7,", 501), ",") + "]"} {
		s.do(call{method: http.MethodPost, path: "/v1/shots/batch", body: bad}).want(http.StatusBadRequest)
	}
}

// TestTheLineDoesNotDependOnTheWay posts the same shots one by one, in batches, in any order, some first wrong and
// then corrected, and asks for the same line.
func TestTheLineDoesNotDependOnTheWay(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	round := 0
	rapid.Check(t, func(r *rapid.T) {
		round++
		outcomes := rapid.SliceOfN(rapid.SampledFrom(domain.Outcomes), 1, 12).Draw(r, "outcomes")
		var lines []string
		for _, way := range []string{"one by one", "batched", "corrected"} {
			team := fmt.Sprintf("/v1/teams/%s", s.id(fmt.Sprint("team ", way, round)))
			s.do(call{method: http.MethodPut, path: team, body: map[string]any{"name": way,
				"competition_id": idIn(competitionPath), "practice_minutes": 0}}).want(201)
			game := s.id(fmt.Sprint("game ", way, round))
			s.do(call{method: http.MethodPut, path: "/v1/games/" + game, body: map[string]any{"team_id": idIn(team),
				"competition_id": idIn(competitionPath), "played_on": "2014-03-01", "kind": "game"}}).want(201)
			s.do(call{method: http.MethodPut, path: "/v1/stints/" + s.id(fmt.Sprint("stint ", way, round)), body: map[string]any{
				"game_id": game, "goalie_id": idIn(goaliePath), "start_period": 1, "start_clock_s": 900, "end_period": 4,
				"end_clock_s": 0}}).want(201)
			order := rapid.Permutation(outcomes).Draw(r, way)
			s.postWay(way, round, game, order)
			a := s.do(call{method: http.MethodGet, path: team + "/lines"}).want(200)
			lines = append(lines, uuidPattern.ReplaceAllString(string(a.body), "id"))
		}
		require.Equal(r, lines[0], lines[1])
		require.Equal(r, lines[0], lines[2])
	})
}

func (s *service) postWay(way string, round int, game string, outcomes []domain.Outcome) {
	s.t.Helper()
	var items []map[string]any
	for i, outcome := range outcomes {
		item := map[string]any{"game_id": game, "outcome": outcome, "period": 1 + i%4, "clock_s": 600}
		path := "/v1/shots/" + s.id(fmt.Sprint(way, round, i))
		switch way {
		case "one by one":
			s.do(call{method: http.MethodPut, path: path, body: item}).want(201)
		case "corrected":
			item["outcome"] = "wide"
			s.do(call{method: http.MethodPut, path: path, body: item}).want(201)
			s.do(call{method: http.MethodPatch, path: path, ifMatch: "*", body: map[string]any{"outcome": outcome}}).want(200)
		case "batched":
			item["id"] = idIn(path)
			items = append(items, item)
		}
	}
	if items != nil {
		s.batch(items)
	}
}
