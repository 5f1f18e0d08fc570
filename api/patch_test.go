package api_test

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// begins counts the transactions that write or read records; finding out who asks is one text of its own.
type begins struct{ n atomic.Int64 }

func (b *begins) TraceQueryStart(ctx context.Context, _ *pgx.Conn, q pgx.TraceQueryStartData) context.Context {
	if strings.HasPrefix(q.SQL, "BEGIN") {
		b.n.Add(1)
	}
	return ctx
}

func (*begins) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

// TestAPatchIsCheckedBeforeAnythingIsHeld: what the contract forbids in a merge patch is refused as in a PUT, with the member
// named, before a transaction begins; and a long body costs no more than its length.
func TestAPatchIsCheckedBeforeAnythingIsHeld(t *testing.T) {
	t.Parallel()
	seen := &begins{}
	s := newTraced(t, seen)
	s.collegeSeason()
	game := s.game("game", "2014-02-08")
	stint := "/v1/stints/" + s.id("stint")
	s.do(call{method: http.MethodPut, path: stint, body: map[string]any{
		"game_id": idIn(game), "goalie_id": idIn(goaliePath), "start_period": 1, "start_clock_s": 900, "end_period": 4, "end_clock_s": 0,
	}}).want(http.StatusCreated)
	before := string(s.do(call{method: http.MethodGet, path: stint}).want(http.StatusOK).body)

	members := make([]string, 80_000)
	for i := range members {
		members[i] = fmt.Sprintf(`"m%d":0`, i)
	}
	nested := strings.Repeat(`{"a":`, 9_000) + "1" + strings.Repeat("}", 9_000)
	for name, c := range map[string]struct {
		path, body string
		status     int
		pointer    string
	}{
		"null where it may not stand": {stint, `{"start_clock_s":null}`, 422, "/start_clock_s"},
		"an unknown member":           {stint, `{"start_clock":5}`, 422, "/start_clock"},
		"an unknown one that is null": {stint, `{"start_clock":null}`, 422, "/start_clock"},
		"what the service finds":      {stint, `{"start_elapsed_s":null}`, 422, "/start_elapsed_s"},
		"a wrong type":                {stint, `{"start_clock_s":"900"}`, 422, "/start_clock_s"},
		"a repeated member":           {stint, `{"start_clock_s":1,"start_clock_s":2}`, 400, ""},
		"bad UTF-8":                   {stint, "{\"goalie_id\":\"\xff\"}", 400, ""},
		"more than one value":         {stint, `{} {}`, 400, ""},
		"no object":                   {stint, `[{}]`, 400, ""},
		"80,000 members":              {stint, "{" + strings.Join(members, ",") + "}", 422, "/m0"},
		"9,000 levels":                {stint, `{"goalie_id":` + nested + `}`, 400, ""},
		"a bound that is unknown":     {"/v1/program", `{"judgement":{"fairness":null}}`, 422, "/judgement/fairness"},
		"a null in a list":            {goaliePath, `{"allowed_drill_ids":[null]}`, 422, "/allowed_drill_ids/0"},
		"a list without end":          {goaliePath, `{"allowed_drill_ids":[` + strings.Repeat(`"x",`, 60) + `"x"]}`, 422, "/allowed_drill_ids"},
	} {
		n, start := seen.n.Load(), time.Now()
		a := s.do(call{method: http.MethodPatch, path: c.path, ifMatch: "*", body: c.body})
		require.Equal(t, c.status, a.status, "%s: %s", name, a.body)
		if c.pointer != "" {
			a.wantProblem(domain.Invalid, c.pointer)
		}
		require.Equal(t, n, seen.n.Load(), "%s: no transaction begins", name)
		require.Less(t, time.Since(start), 5*time.Second, "%s: far below the 18 s that it took once", name)
	}
	require.JSONEq(t, before, string(s.do(call{method: http.MethodGet, path: stint}).want(http.StatusOK).body))
}

// TestAPutIsHeldToTheSame: the structure of a body is checked in one place, whatever brings it.
func TestAPutIsHeldToTheSame(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for body, pointer := range map[string]string{
		`{"name":"A","stick_hand":"left","availability":"full","allowed_drill_ids":[null]}`:            "/allowed_drill_ids/0",
		`{"name":"A","stick_hand":"left","availability":"full","allowed_drill_ids":[],"nothing":null}`: "/nothing",
		`{"name":"A","stick_hand":null,"availability":"full","allowed_drill_ids":[]}`:                  "/stick_hand",
		`{"name":"A","availability":"full","allowed_drill_ids":[]}`:                                    "/stick_hand",
	} {
		s.do(call{method: http.MethodPut, path: goaliePath, body: body}).want(http.StatusUnprocessableEntity).
			wantProblem(domain.Invalid, pointer)
	}
	deep := `{"name":` + strings.Repeat("[", 40) + strings.Repeat("]", 40) + `}`
	s.do(call{method: http.MethodPut, path: goaliePath, body: deep}).want(http.StatusBadRequest).wantProblem(domain.Malformed, "")
	s.do(call{method: http.MethodPost, path: "/v1/shots/batch", body: `[{"id":` + strings.Repeat("[", 10_000) + strings.Repeat("]", 10_000) + `}]`}).
		want(http.StatusBadRequest)
}

// BenchmarkPatch holds a refused merge patch of 869 kB and 80,000 members against a PUT that is refused for the same: a patch
// costs what its length costs.
func BenchmarkPatch(b *testing.B) {
	s := newService(b)
	var body strings.Builder
	body.WriteString(`{"stick_hand":"left"`)
	for i := range 80_000 {
		fmt.Fprintf(&body, `,"m%d":0`, i)
	}
	body.WriteString("}")
	send := func(method string) func() {
		return func() {
			res, err := http.DefaultClient.Do(s.request(call{method: method, path: goaliePath, ifMatch: "*", body: body.String()}))
			require.NoError(b, err)
			require.NoError(b, res.Body.Close())
			require.Equal(b, http.StatusUnprocessableEntity, res.StatusCode)
		}
	}
	patch, put := send(http.MethodPatch), send(http.MethodPut)
	var ours, theirs time.Duration
	for b.Loop() {
		start := time.Now()
		patch()
		mid := time.Now()
		put()
		ours, theirs = ours+mid.Sub(start), theirs+time.Since(mid)
	}
	b.ReportMetric(float64(ours)/float64(theirs), "of_put")
}
