package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/openapi"
)

// answered is the longest that a request may take: its deadline, and what a busy machine adds.
const answered = api.DefaultRequestTimeout + 2*time.Second

// anyProblem are the statuses that the contract names for every operation at once, in the description of its default answer.
var anyProblem = sync.OnceValue(func() []string {
	doc, err := contract()
	if err != nil {
		return nil
	}
	said, _ := (&maker{doc: doc}).at(doc, "components", "responses", "AnyProblem")["description"].(string)
	return regexp.MustCompile(`\b[45]\d\d\b`).FindAllString(said, -1)
})

// refusedBeforeUs are the answers to what is no HTTP, or not of a kind that the server takes.
var refusedBeforeUs = []int{400, 417, 431, 501, 505}

// judge gives what is wrong with an answer, "" for nothing.
func judge(t testing.TB, a attempt, got reply) (what, said string) {
	t.Helper()
	at := fmt.Sprintf("%s %d", a.op.ID, got.status)
	switch {
	case got.took > answered:
		return "slower than its deadline: " + at, got.took.String()
	case got.status >= 500 && got.status != http.StatusNotImplemented && got.status != http.StatusHTTPVersionNotSupported:
		return "a fault of ours: " + at, string(got.body)
	case got.status >= 400 && !strings.HasPrefix(got.header.Get("Content-Type"), "text/html"):
		if fault := judgeProblem(a, got); fault != "" {
			return "not a problem as it should be: " + at, fault + ": " + string(got.body)
		}
	}
	op, known := routed(a)
	if !inContract(op, known, a.method == http.MethodHead, got) {
		return "not listed in the contract: " + at, string(got.body)
	}
	if !known || got.status >= 400 || a.method == http.MethodHead {
		return "", ""
	}
	if fault := judgeBody(t, op, got); fault != "" {
		return "not of its schema: " + at, fault
	}
	return "", ""
}

// inContract tells whether the contract has the status for the operation. A HEAD's answer does not say who gave it.
func inContract(op openapi.Operation, known, head bool, got reply) bool {
	if slices.Contains(refusedBeforeUs, got.status) && (head || bytes.Contains(got.body, []byte(`"instance":"/"`))) {
		return true
	}
	status := strconvItoa(got.status)
	if !known {
		return got.status == http.StatusNotFound || got.status == http.StatusMethodNotAllowed && got.header.Get("Allow") != "" ||
			got.status != http.StatusMethodNotAllowed && slices.Contains(anyProblem(), status)
	}
	return slices.Contains(op.Statuses, status) || slices.Contains(anyProblem(), status)
}

// routed gives the operation that a request asks for, which need not be the one that it was made from.
func routed(a attempt) (openapi.Operation, bool) {
	u, err := url.ParseRequestURI(a.target)
	if err != nil || strings.Contains(strings.ToLower(u.EscapedPath()), "%2f") || strings.Contains(u.Path, "//") || u.Path != "/" && strings.HasSuffix(u.Path, "/") {
		return openapi.Operation{}, false
	}
	method := a.method
	if method == http.MethodHead {
		method = http.MethodGet
	}
	return operationOf(method, u.Path)
}

// judgeProblem holds an error to what every error is: a problem document of one of the kinds that are known, with no word of
// a driver or of Go.
func judgeProblem(a attempt, got reply) string {
	if got.header.Get("Content-Type") != "application/problem+json" {
		if a.op.ID == "getReadiness" {
			return ""
		}
		return "its media type is " + got.header.Get("Content-Type")
	}
	if a.method == http.MethodHead {
		return ""
	}
	var p api.Problem
	decoder := json.NewDecoder(bytes.NewReader(got.body))
	decoder.DisallowUnknownFields()
	text := strings.ToLower(string(got.body))
	switch err := decoder.Decode(&p); {
	case err != nil:
		return err.Error()
	case !utf8.Valid(got.body):
		return "it is not UTF-8"
	case p.Status != got.status:
		return "it says another status"
	case p.Title == "" || p.Detail == "" || !strings.HasPrefix(p.Type, "/problems/"):
		return "it does not say what it is"
	case p.RequestID == "" || p.RequestID != got.header.Get("Request-Id"):
		return "its request_id is not the header's"
	}
	for _, word := range []string{"sqlstate", "pgx", "goroutine", "json:", "jsontext", "unmarshal", "strconv", "runtime error", "domain."} {
		if strings.Contains(text, word) && !strings.Contains(strings.ToLower(string(a.body)+a.target), word) {
			return "it speaks of " + word
		}
	}
	return ""
}

// judgeBody holds an answer that went well to its schema.
func judgeBody(t testing.TB, op openapi.Operation, got reply) string {
	t.Helper()
	media, _, err := mime.ParseMediaType(got.header.Get("Content-Type"))
	switch {
	case len(got.body) == 0:
		return ""
	case err != nil:
		return "it has no media type"
	case media != "application/json":
		if strings.HasPrefix(media, "text/") && !utf8.Valid(got.body) {
			return "it is not UTF-8"
		}
		return ""
	}
	v, err := document()
	require.NoError(t, err)
	path := op.Path
	for name, example := range op.PathExamples {
		path = strings.ReplaceAll(path, "{"+name+"}", example)
	}
	req, err := http.NewRequestWithContext(t.Context(), op.Method, path, nil)
	require.NoError(t, err)
	ok, faults := v.ValidateHttpResponse(req, &http.Response{
		StatusCode: got.status, Header: got.header, Body: io.NopCloser(bytes.NewReader(got.body)), Request: req,
	})
	if ok {
		return ""
	}
	return faultText(faults) + "\n    " + string(got.body[:min(len(got.body), 2000)])
}

// requireAliveAndWhole asks the service how it is, has it take a whole world of records, and looks into the database: the
// changes of each program are numbered without a gap, each record stands at its last change, and none that was removed is
// there.
func (s *service) requireAliveAndWhole() {
	s.t.Helper()
	s.do(call{method: http.MethodGet, path: "/healthz", token: "-"}).want(http.StatusOK)
	s.do(call{method: http.MethodGet, path: "/readyz", token: "-"}).want(http.StatusOK)
	(&world{name: "afterwards", seed: s.program}).build(s, everything(s.director))
	conn, err := pgx.Connect(s.t.Context(), s.adminURL)
	require.NoError(s.t, err)
	defer func() { _ = conn.Close(s.t.Context()) }()
	rows := func(sql string) []string {
		found, err := conn.Query(s.t.Context(), sql)
		require.NoError(s.t, err)
		out, err := pgx.CollectRows(found, pgx.RowTo[string])
		require.NoError(s.t, err)
		return out
	}
	require.Empty(s.t, rows(`SELECT p.id::text FROM programs p LEFT JOIN changes c ON c.program_id = p.id GROUP BY p.id, p.last_rev
		HAVING count(c.rev) <> p.last_rev OR min(c.rev) <> 1 OR max(c.rev) <> p.last_rev`), "programs whose history has a gap")
	tables := rows(`SELECT c.table_name::text FROM information_schema.columns c WHERE c.table_schema = 'public'
		AND c.column_name IN ('program_id', 'id', 'rev') GROUP BY c.table_name HAVING count(*) = 3`)
	require.Greater(s.t, len(tables), 15, "the tables of records were not found")
	for _, table := range tables {
		require.Empty(s.t, rows(`SELECT r.id::text FROM `+pgx.Identifier{table}.Sanitize()+` r
			LEFT JOIN changes c ON c.program_id = r.program_id AND c.rev = r.rev
			WHERE c.record_id IS DISTINCT FROM r.id OR c.op = 'remove' OR EXISTS (SELECT 1 FROM changes later
				WHERE later.program_id = r.program_id AND later.record_id = r.id AND later.noun = c.noun AND later.rev > r.rev)`),
			"records of %s that are not at their last change", table)
	}
}

// TestTheJudgeSeesFaults gives it answers as they must not be.
func TestTheJudgeSeesFaults(t *testing.T) {
	t.Parallel()
	op, known := operationOf(http.MethodGet, "/v1/teams")
	require.True(t, known)
	ask := attempt{op: op, method: op.Method, target: op.Path}
	give := func(status int, media, body string) reply {
		return reply{status: status, header: http.Header{"Content-Type": {media}, "Request-Id": {"r"}}, body: []byte(body)}
	}
	problem := func(status int, detail string) reply {
		return give(status, "application/problem+json", fmt.Sprintf(
			`{"type":"/problems/malformed","title":"T","status":%d,"detail":"%s","instance":"/v1/teams","request_id":"r"}`, status, detail))
	}
	slow := give(200, "application/json", `{"items":[],"next_cursor":null}`)
	slow.took = answered + 1
	for what, got := range map[string]reply{
		"":                             give(200, "application/json", `{"items":[],"next_cursor":null}`),
		"slower than its deadline":     slow,
		"a fault of ours":              problem(500, "d"),
		"not a problem as it should":   give(400, "text/plain", "400 Bad Request"),
		"not listed in the contract":   problem(412, "d"),
		"not of its schema":            give(200, "application/json", `{"items":[{"id":7}],"next_cursor":null}`),
		"not a problem as it should b": problem(400, "json: cannot unmarshal"),
		"a fault of ours: listTeams 5": problem(503, "d"),
	} {
		seen, said := judge(t, ask, got)
		require.True(t, strings.HasPrefix(seen, what) && (what == "") == (seen == ""), "%q was seen as %q: %s", what, seen, said)
	}
}
