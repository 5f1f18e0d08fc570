package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"log/slog"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
	"cagework/openapi"
	"cagework/postgres/journal"
)

// notes is an access log that remembers.
type notes struct {
	mu   sync.Mutex
	seen []domain.Access
}

func (n *notes) Note(a domain.Access) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.seen = append(n.seen, a)
}

// after waits until an answered request was noted, for that comes after its answer, and gives what was. The request after it,
// which is always noted, tells that nothing more comes.
func (n *notes) after(s *service, do func()) []domain.Access {
	s.t.Helper()
	do()
	s.do(call{method: http.MethodGet, path: "/v1/erasures"}).want(http.StatusOK)
	mark := func(a domain.Access) bool { return a.Noun == domain.NounErasure && a.Action == domain.AccessList }
	var got []domain.Access
	require.Eventually(s.t, func() bool {
		n.mu.Lock()
		defer n.mu.Unlock()
		got = slices.Clone(n.seen)
		return slices.ContainsFunc(got, mark)
	}, 20*time.Second, time.Millisecond)
	n.mu.Lock()
	n.seen = nil
	n.mu.Unlock()
	return slices.DeleteFunc(got, mark)
}

func newNoted(t *testing.T) (*service, *notes) {
	t.Helper()
	n := &notes{}
	return newServiceWith(t, api.Config{Accesses: n}), n
}

// TestWhatIsNoted runs every operation and holds what is noted of it to the contract.
func TestWhatIsNoted(t *testing.T) {
	t.Parallel()
	s, n := newNoted(t)
	w := &world{name: "noted", seed: s.program}
	n.after(s, func() { w.build(s, everything(s.director)) })
	viewer := s.newMember(domain.Viewer)
	director, err := s.stores.Tokens.Authenticate(t.Context(), s.director)
	require.NoError(t, err)
	ops := slices.Clone(operations(t))
	slices.SortStableFunc(ops, func(a, b openapi.Operation) int { // what only reads first, what removes last
		order := []string{http.MethodGet, http.MethodPut, http.MethodPatch, http.MethodPost, http.MethodDelete}
		return slices.Index(order, a.Method) - slices.Index(order, b.Method)
	})
	noted := 0
	for _, op := range ops {
		if op.Public || op.ID == "listErasures" {
			continue
		}
		c := call{method: op.Method, path: w.path(op), body: example(w, op)}
		if conditional(op) {
			c.ifMatch = "*"
		}
		refused := c
		refused.token = viewer
		if op.WhoMay[string(domain.Viewer)] == string(domain.ScopeNone) {
			require.Empty(t, n.after(s, func() { s.do(refused).want(http.StatusForbidden) }), "%s: refused", op.ID)
		}
		var a answer
		got := n.after(s, func() { a = s.do(c) })
		if op.Method == http.MethodGet {
			a.want(http.StatusOK)
		}
		if op.Access == nil || a.status >= 400 || op.Access.Action == "create" && a.status != http.StatusCreated {
			require.Empty(t, got, "%s %d", op.ID, a.status)
			continue
		}
		noted++
		require.Len(t, got, 1, op.ID)
		e := got[0]
		require.Equal(t, domain.AccessAction(op.Access.Action), e.Action, op.ID)
		require.Equal(t, domain.Noun(op.Noun), e.Noun, op.ID)
		require.Equal(t, []any{s.program, &director.MemberID, &director.TokenID}, []any{e.ProgramID, e.MemberID, e.TokenID}, op.ID)
		require.Equal(t, op.Access.Once == "hour", e.Hourly(), op.ID)
		require.WithinDuration(t, time.Now(), e.At, time.Minute)
		wantRecord(t, w, op, e)
	}
	require.GreaterOrEqual(t, noted, 30, "most of the operations that are noted were tried with success")

	// What the loop above finds in the way: a token that is made, one that is taken away, a change that is undone.
	token := "/v1/tokens/" + domain.NewID(time.Now()).String()
	body := map[string]any{"member_id": director.MemberID, "label": "phone", "expires_at": time.Now().Add(time.Hour)}
	for _, try := range []struct {
		call   call
		action domain.AccessAction
		noun   domain.Noun
	}{
		{call{method: http.MethodPut, path: token, body: body}, domain.AccessCreate, domain.NounToken},
		{call{method: http.MethodGet, path: "/v1/changes/" + idIn(token)}, domain.AccessRead, domain.NounChange},
		{call{method: http.MethodDelete, path: token, ifMatch: "*"}, domain.AccessRemove, domain.NounToken},
	} {
		got := n.after(s, func() { require.Less(t, s.do(try.call).status, 300) })
		require.Len(t, got, 1)
		require.Equal(t, []any{try.action, try.noun, domain.NounToken, idIn(token)},
			[]any{got[0].Action, got[0].Noun, *got[0].RecordNoun, got[0].RecordID.String()})
	}
	require.Empty(t, n.after(s, func() {
		s.do(call{method: http.MethodGet, path: "/v1/goalies/" + domain.NewID(time.Now()).String()}).want(404)
	}))
}

// wantRecord holds the record of an entry to the operation's path.
func wantRecord(t *testing.T, w *world, op openapi.Operation, e domain.Access) {
	t.Helper()
	switch op.Access.Record {
	case "":
		require.Nil(t, e.RecordID, op.ID)
		return
	case "program":
		require.Equal(t, w.seed, *e.RecordID, op.ID)
	default:
		require.Equal(t, w.id(op.PathExamples["id"]), e.RecordID.String(), op.ID)
	}
	if op.Access.Record != "any" {
		require.Equal(t, domain.Noun(op.Access.Record), *e.RecordNoun, op.ID)
	} else {
		require.NotNil(t, e.RecordNoun, op.ID)
	}
}

// TestEachFaceCountsAlike: whoever had the page, the table, the record or only heard that it is as it was, saw the goalie.
func TestEachFaceCountsAlike(t *testing.T) {
	t.Parallel()
	s, n := newNoted(t)
	w := &world{name: "faces", seed: s.program}
	n.after(s, func() { w.build(s, everything(s.director)) })
	goalie := idIn(w.put["goalie"])
	week := "/v1/goalies/" + goalie + "/weeks/2026-W15"
	tag := ""
	ask := func(status int, path string, header http.Header) func() {
		return func() {
			tag = s.do(call{method: http.MethodGet, path: path, header: header}).want(status).header.Get("ETag")
		}
	}
	faces := []func(){
		ask(200, week, http.Header{"Accept": {"text/html"}}), ask(200, week, http.Header{"Accept": {"text/csv"}}),
		ask(200, week, http.Header{"Accept": {"application/json"}}),
		func() { ask(304, week, http.Header{"If-None-Match": {tag}})() },
		// However the id is spelled; the contract has but one form, and the wrapper takes more.
		s.asks("/v1/goalies/urn:uuid:" + goalie + "/weeks/2026-W15"), s.asks("/v1/goalies/" + strings.ReplaceAll(goalie, "-", "") + "/weeks/2026-W15"),
	}
	var first domain.Access
	ids := map[domain.ID]bool{}
	for i, face := range faces {
		got := n.after(s, face)
		require.Len(t, got, 1, "face %d", i)
		ids[got[0].ID] = true
		if i == 0 {
			first = got[0]
		}
		got[0].ID, got[0].At = first.ID, first.At
		require.Equal(t, first, got[0], "face %d", i)
	}
	require.Equal(t, goalie, first.RecordID.String())
	require.Len(t, ids, len(faces), "each time is an entry of its own")
}

// asks gives a request that is not held to the contract.
func (s *service) asks(path string) func() {
	return func() {
		res, err := http.DefaultClient.Do(s.request(call{method: http.MethodGet, path: path}))
		require.NoError(s.t, err)
		require.NoError(s.t, res.Body.Close())
		require.Equal(s.t, http.StatusOK, res.StatusCode)
	}
}

// startJournal puts a journal over the service's own database.
func startJournal(t testing.TB, s *service) *journal.Journal {
	t.Helper()
	j, err := journal.Open(s.stores.Accesses, journal.Config{Dir: t.TempDir(), Every: 10 * time.Millisecond})
	require.NoError(t, err)
	t.Cleanup(func() { j.Close(context.Background()) })
	return j
}

// handing lets a log be given to a service before it is made over the service's stores.
type handing struct{ to chan domain.AccessLog }

func (h handing) Note(a domain.Access) {
	to := <-h.to
	h.to <- to
	to.Note(a)
}

func newJournalled(t testing.TB) (*service, *journal.Journal) {
	t.Helper()
	h := handing{make(chan domain.AccessLog, 1)}
	s := newServiceWith(t, api.Config{Accesses: h})
	j := startJournal(t, s)
	h.to <- j
	return s, j
}

// looked waits until a filter finds so many entries, and gives them as the director reads them.
func (s *service) looked(filter string, n int) []map[string]any {
	s.t.Helper()
	var page struct{ Items []map[string]any }
	require.Eventually(s.t, func() bool {
		s.do(call{method: http.MethodGet, path: "/v1/accesses?limit=200&" + filter}).want(http.StatusOK).into(&page)
		return len(page.Items) >= n
	}, 20*time.Second, 20*time.Millisecond)
	require.Len(s.t, page.Items, n, filter)
	return page.Items
}

// TestABoardIsNotedOnceAnHour for each token, whatever number of instances answer.
func TestABoardIsNotedOnceAnHour(t *testing.T) {
	t.Parallel()
	s, _ := newJournalled(t)
	w := &world{name: "board", seed: s.program}
	w.build(s, everything(s.director))
	coach := s.newMember(domain.Coach)
	elsewhere := startJournal(t, s)
	start := time.Now()
	for range 50 {
		s.do(call{method: http.MethodGet, path: "/v1/program/weeks/2026-W15", token: coach}).want(http.StatusOK)
	}
	a, err := s.stores.Tokens.Authenticate(t.Context(), coach)
	require.NoError(t, err)
	for range 50 {
		elsewhere.Note(domain.NewAccess(a, time.Now(), domain.AccessRead, domain.NounWeek).On(domain.NounProgram, s.program).OnceAnHour())
	}
	s.do(call{method: http.MethodGet, path: "/v1/teams/" + idIn(w.put["team"]) + "/weeks/2026-W15"}).want(http.StatusOK)
	s.looked("record_id="+idIn(w.put["team"]), 1)
	hours := 1
	if time.Now().Truncate(time.Hour).After(start.Truncate(time.Hour)) {
		hours = 2
	}
	for range 3 { // and so it stays
		require.LessOrEqual(t, len(s.looked("record_id="+s.program.String(), hours)), hours)
	}
	s.do(call{method: http.MethodGet, path: "/v1/program/weeks/2026-W15"}).want(http.StatusOK)
	s.looked("record_id="+s.program.String(), hours+1)
	s.looked("member_id="+a.MemberID.String(), hours)
}

// TestWhoLookedIsReadByTheDirector alone, page by page and by its filters, and that is noted too.
func TestWhoLookedIsReadByTheDirector(t *testing.T) {
	t.Parallel()
	s, _ := newJournalled(t)
	w := &world{name: "read", seed: s.program}
	w.build(s, everything(s.director))
	goalie := idIn(w.put["goalie"])
	before := time.Now()
	for range 5 {
		s.do(call{method: http.MethodGet, path: w.put["goalie"]}).want(http.StatusOK)
	}
	s.do(call{method: http.MethodGet, path: "/v1/shots?goalie_id=" + goalie}).want(http.StatusOK)
	got := s.looked("record_id="+goalie+"&since="+url.QueryEscape(before.Format(time.RFC3339Nano)), 6)
	require.Equal(t, "list", got[5]["action"], "it stands at the beginning of the hour")
	for _, e := range got[:5] {
		require.Equal(t, []any{"read", "goalie", "goalie", goalie, nil}, []any{e["action"], e["noun"], e["record_noun"], e["record_id"], e["lost"]})
		require.NotNil(t, e["token_id"])
		require.Nil(t, e["session_id"])
	}
	s.looked("record_id="+goalie+"&until="+url.QueryEscape(before.Format(time.RFC3339Nano)), 1) // that it was put

	var paged []string
	path := "/v1/accesses?limit=2&record_id=" + goalie
	for path != "" {
		a := s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK)
		var page struct {
			Items []map[string]any
			Next  *string `json:"next_cursor"`
		}
		a.into(&page)
		for _, e := range page.Items {
			paged = append(paged, e["id"].(string))
		}
		path = ""
		if page.Next != nil {
			path = "/v1/accesses?limit=2&record_id=" + goalie + "&cursor=" + *page.Next
			s.do(call{method: http.MethodGet, path: "/v1/accesses?cursor=" + *page.Next}).want(400).wantProblem(domain.Malformed, "cursor")
		}
	}
	require.Len(t, paged, 7)
	require.True(t, slices.IsSortedFunc(paged, func(a, b string) int { return strings.Compare(b, a) }))
	s.do(call{method: http.MethodGet, path: "/v1/accesses?limit=0"}).want(400).wantProblem(domain.Malformed, "limit")

	reading := 0
	for range 3 {
		reading = 0
		var page struct{ Items []map[string]any }
		s.do(call{method: http.MethodGet, path: "/v1/accesses?limit=200"}).want(http.StatusOK).into(&page)
		for _, e := range page.Items {
			if e["noun"] == "access" {
				reading++
			}
		}
	}
	require.LessOrEqual(t, reading, 2, "once an hour")
	for _, role := range []domain.Role{domain.Coach, domain.Recorder, domain.Viewer} {
		s.do(call{method: http.MethodGet, path: "/v1/accesses", token: s.newMember(role)}).want(http.StatusForbidden)
	}
	_, stranger := s.newProgram("Gull Point Lacrosse")
	var theirs struct{ Items []map[string]any }
	s.do(call{method: http.MethodGet, path: "/v1/accesses?record_id=" + goalie, token: stranger}).want(http.StatusOK).into(&theirs)
	require.Empty(t, theirs.Items)
}

// TestReadsGoOnWhileNobodyCanBeNoted: the table is held by somebody else, so that every entry would wait for it; then the
// database takes no writes at all. No read waits, and each is there afterwards, once.
func TestReadsGoOnWhileNobodyCanBeNoted(t *testing.T) {
	t.Parallel()
	s, j := newJournalled(t)
	w := &world{name: "held", seed: s.program}
	w.build(s, everything(s.director))
	conn, err := pgx.Connect(t.Context(), s.adminURL)
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close(t.Context()) })
	seen := func() int64 { return int64(len(s.accessIDs(conn, idIn(w.put["goalie"])))) }
	require.Eventually(t, func() bool { return seen() == 1 }, 20*time.Second, 10*time.Millisecond)

	held, err := conn.Begin(t.Context())
	require.NoError(t, err)
	_, err = held.Exec(t.Context(), `LOCK TABLE accesses IN ACCESS EXCLUSIVE MODE`)
	require.NoError(t, err)
	var slowest time.Duration
	for range 20 {
		began := time.Now()
		s.do(call{method: http.MethodGet, path: w.put["goalie"]}).want(http.StatusOK)
		slowest = max(slowest, time.Since(began))
	}
	require.Less(t, slowest, 4*time.Second, "waiting for the table would end after 4 s")
	require.NoError(t, held.Rollback(t.Context()))
	require.Eventually(t, func() bool { return seen() == 21 }, 30*time.Second, 10*time.Millisecond)

	readOnly := func(how string) {
		_, err := conn.Exec(t.Context(), `DO $$ BEGIN EXECUTE format('ALTER DATABASE %I SET default_transaction_read_only = `+how+`', current_database()); END $$`)
		require.NoError(t, err)
		_, err = conn.Exec(t.Context(), `SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()`)
		require.NoError(t, err)
	}
	readOnly("on")
	again := func() bool { // connections were cut
		return s.do(call{method: http.MethodGet, path: w.put["goalie"]}).status == http.StatusOK
	}
	require.Eventually(t, again, 20*time.Second, 10*time.Millisecond)
	for range 19 {
		s.do(call{method: http.MethodGet, path: w.put["goalie"]}).want(http.StatusOK)
	}
	s.do(call{method: http.MethodPatch, path: w.put["goalie"], ifMatch: "*", body: `{"name":"Another"}`}).want(http.StatusServiceUnavailable)
	require.EqualValues(t, 21, seen())
	readOnly("off")
	require.Eventually(t, func() bool { return seen() == 41 }, 30*time.Second, 10*time.Millisecond)
	require.Zero(t, j.Stat().Lost)
}

// accessIDs gives the entries at a record.
func (s *service) accessIDs(conn *pgx.Conn, record string) []string {
	s.t.Helper()
	rows, err := conn.Query(s.t.Context(), `SELECT id::text FROM accesses WHERE record_id = $1`, record)
	require.NoError(s.t, err)
	ids, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(s.t, err)
	return ids
}

// syncBuffer is a buffer that requests log into at once.
type syncBuffer struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (b *syncBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.Write(p)
}

func (b *syncBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.text.String()
}

// TestLogsCarryIDsAndNoNames runs every operation, well and badly, and reads all that was logged.
func TestLogsCarryIDsAndNoNames(t *testing.T) {
	t.Parallel()
	var log syncBuffer
	s := newServiceWith(t, api.Config{Log: slog.New(slog.NewJSONHandler(&log, &slog.HandlerOptions{Level: slog.LevelDebug}))})
	w := &world{name: "logged", seed: s.program}
	w.build(s, everything(s.director))
	names := map[string]bool{"Harbor Hill Lacrosse": true, "Avery Quill": true, s.director: true, "cw_": true}
	for _, op := range operations(t) {
		said(op.RequestExample, names)
		c := call{method: op.Method, path: w.path(op), body: example(w, op), ifMatch: "*"}
		if op.Method == http.MethodDelete || op.Public && op.Method == http.MethodPost {
			continue
		}
		s.do(c)
		c.path += "?name=Remy+Castellan"
		s.do(c)
		c.path, c.token = w.path(op), "cw_notasecret"
		s.do(c)
	}
	require.Greater(t, len(names), 15, "%v", names)
	text := log.String()
	for name := range names {
		require.NotContains(t, strings.ToLower(text), strings.ToLower(name))
	}
	require.NotContains(t, text, "Castellan")
	for noun, path := range w.put {
		require.Contains(t, text, `"record_id":"`+idIn(path)+`"`, noun)
	}
}

// said collects the free texts of a body.
func said(body []byte, names map[string]bool) {
	var members map[string]any
	if json.Unmarshal(body, &members) != nil {
		return
	}
	for _, member := range slices.Sorted(maps.Keys(members)) {
		text, is := members[member].(string)
		if is && slices.Contains([]string{"name", "label", "opponent", "reason", "cue", "definition", "purpose", "advice", "token"}, member) {
			names[text] = true
		}
	}
}
