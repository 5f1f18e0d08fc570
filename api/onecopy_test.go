package api_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/anishathalye/porcupine"
	"github.com/stretchr/testify/require"
)

// badLine is a way to the service over which answers get lost.
type badLine struct {
	url, token string
	lossy      bool
}

// ask sends a request and gives its answer, if the line lets it through.
func (l badLine) ask(t *testing.T, r *rand.Rand, in asked) told { //nolint:gocyclo // a case a verb and answer
	t.Helper()
	method, path, body := map[string]string{"get": http.MethodGet, "put": http.MethodPut, "patch": http.MethodPatch,
		"delete": http.MethodDelete, "undo": http.MethodPost}[in.verb], "/v1/seasons/"+in.record, ""
	media := "application/json"
	switch in.verb {
	case "put":
		body = `{"name":"` + in.content + `","starts_on":"2026-02-01","ends_on":"2026-06-30"}`
	case "patch":
		body, media = `{"name":"`+in.content+`"}`, "application/merge-patch+json"
	case "undo":
		path, body = "/v1/changes/"+in.record+"/undo", `{}`
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	deaf := false
	if l.lossy && in.verb != "get" {
		switch r.IntN(8) {
		case 0: // the client goes away while the service is at work, or before it is
			time.AfterFunc(time.Duration(r.IntN(6000))*time.Microsecond, cancel)
		case 1: // the answer is lost on its way
			deaf = true
		}
	}
	req, err := http.NewRequestWithContext(ctx, method, l.url+path, strings.NewReader(body))
	if err != nil {
		t.Error(err)
	}
	req.Header.Set("Authorization", "Bearer "+l.token)
	if body != "" {
		req.Header.Set("Content-Type", media)
	}
	if in.match != 0 {
		req.Header.Set("If-Match", `"`+strconv.FormatInt(in.match, 10)+`"`)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return told{lost: true}
	}
	defer func() { _ = res.Body.Close() }()
	said, err := io.ReadAll(res.Body)
	if err != nil || deaf {
		return told{lost: true}
	}
	out := told{status: res.StatusCode}
	out.rev, _ = strconv.ParseInt(strings.Trim(res.Header.Get("ETag"), `"`), 10, 64)
	var record struct {
		Name   string
		Record *struct{ Name string }
	}
	if res.StatusCode < 300 && len(said) > 0 {
		if err := json.Unmarshal(said, &record); err != nil {
			t.Error(err)
		}
		out.content = record.Name
		if record.Record != nil {
			out.content = record.Record.Name
		}
	}
	return out
}

// recorded runs clients against few records at once and gives what was asked and told, with the times of both. What was lost
// may be carried out at any time after.
func recorded(t *testing.T, l badLine, seed uint64, records []string, clients, requests int) []porcupine.Operation {
	t.Helper()
	var mu sync.Mutex
	var history []porcupine.Operation
	start := time.Now()
	const never = int64(time.Hour)
	var group sync.WaitGroup
	for client := range clients {
		group.Go(func() {
			r := rand.New(rand.NewPCG(seed, uint64(client)))
			known := map[string][]int64{} // the revs that this client was told
			for n := range requests {
				in := asked{record: records[r.IntN(len(records))], content: fmt.Sprintf("%d by %d", n, client)}
				if r.IntN(6) == 0 {
					in.content = "the same"
				}
				in.verb = []string{"get", "put", "patch", "patch", "patch", "patch", "patch", "delete", "undo", "undo", "undo", "undo"}[r.IntN(12)]
				revs := known[in.record]
				if in.verb != "put" && in.verb != "get" {
					if len(revs) == 0 {
						in.verb = "put" // also where it is there: the refusal tells its rev
					} else { // mostly what it was told last
						in.match = revs[max(0, len(revs)-1-[]int{0, 0, 0, 1, 2}[r.IntN(5)])]
					}
				}
				if in.verb != "put" && in.verb != "patch" {
					in.content = ""
				}
				op := porcupine.Operation{ClientId: client, Input: in, Call: int64(time.Since(start))}
				out := l.ask(t, r, in)
				op.Output, op.Return = out, int64(time.Since(start))
				if out.lost {
					op.Return = never
				}
				if out.rev != 0 {
					known[in.record] = append(revs, out.rev)
				}
				mu.Lock()
				history = append(history, op)
				mu.Unlock()
			}
		})
	}
	group.Wait()
	return history
}

// through stands before the service and changes requests on their way.
func through(t *testing.T, to string, change func(*http.Request)) string {
	t.Helper()
	target, err := url.Parse(to)
	require.NoError(t, err)
	proxy := &httputil.ReverseProxy{Rewrite: func(r *httputil.ProxyRequest) {
		r.SetURL(target)
		change(r.Out)
	}}
	server := httptest.NewServer(proxy)
	t.Cleanup(server.Close)
	return server.URL
}

// seasons gives ids of records that nothing has.
func (s *service) seasons(n int) []string {
	ids := make([]string, n)
	for i := range ids {
		ids[i] = s.id(fmt.Sprint("contested ", i))
	}
	return ids
}

// TestManyWritersSeeOneCopy: puts, patches, removals and undos of few records by several clients, who lose answers, are as if
// one had come after the other.
func TestManyWritersSeeOneCopy(t *testing.T) {
	t.Parallel()
	s := newService(t)
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	history := recorded(t, badLine{s.url, s.director, true}, seed, s.seasons(6), 5, 70)
	statuses, lost := map[string]int{}, 0
	for _, op := range history {
		out := op.Output.(told)
		if out.lost {
			lost++
		}
		statuses[fmt.Sprint(op.Input.(asked).verb, " ", out.status)]++
	}
	t.Logf("%d requests, %d answers lost: %v", len(history), lost, statuses)
	for _, seen := range []string{"put 201", "patch 200", "patch 412", "delete 204", "undo 200", "undo 412", "patch 0"} {
		require.Positive(t, statuses[seen], "the history is too tame: %s", seen)
	}
	require.Equal(t, porcupine.Ok, porcupine.CheckOperationsTimeout(oneCopy, history, time.Minute), "seed %d: %v", seed, inOrder(history))
}

// inOrder is a history in the order of its calls.
func inOrder(history []porcupine.Operation) string {
	var b strings.Builder
	for _, op := range history {
		fmt.Fprintf(&b, "\n%d %d..%d %v → %v", op.ClientId, op.Call/1000, op.Return/1000, op.Input, op.Output)
	}
	return b.String()
}

// TestALostUpdateIsCaught takes the If-Match check out, from outside: patches no longer ask for the state that was read.
func TestALostUpdateIsCaught(t *testing.T) {
	t.Parallel()
	s := newService(t)
	seed := uint64(time.Now().UnixNano())
	careless := through(t, s.url, func(r *http.Request) {
		if r.Method == http.MethodPatch {
			r.Header.Set("If-Match", "*")
		}
	})
	history := recorded(t, badLine{careless, s.director, false}, seed, s.seasons(3), 5, 30)
	require.Equal(t, porcupine.Illegal, porcupine.CheckOperationsTimeout(oneCopy, history, time.Minute), "seed %d", seed)
}

// TestTheModelJudgesHistories holds the model to histories of which it is known whether they can be.
func TestTheModelJudgesHistories(t *testing.T) {
	t.Parallel()
	now := int64(0)
	op := func(verb, content string, match int64, out told) porcupine.Operation {
		now += 10
		o := porcupine.Operation{Input: asked{"a", verb, content, match}, Output: out, Call: now, Return: now + 5}
		if out.lost {
			o.Return = int64(time.Hour)
		}
		return o
	}
	ok := func(status int, content string, rev int64) told {
		return told{status: status, content: content, rev: rev}
	}
	lost := told{lost: true}
	for name, c := range map[string]struct {
		history []porcupine.Operation
		legal   bool
	}{
		"a lost update": {[]porcupine.Operation{op("put", "x", 0, ok(201, "x", 1)), op("patch", "y", 1, ok(200, "y", 2)),
			op("patch", "z", 1, ok(200, "z", 3))}, false},
		"one after the other": {[]porcupine.Operation{op("put", "x", 0, ok(201, "x", 1)), op("patch", "y", 1, ok(200, "y", 2)),
			op("patch", "z", 1, ok(412, "", 2)), op("patch", "z", 2, ok(200, "z", 3)), op("get", "", 0, ok(200, "z", 3))}, true},
		"an undo that undid itself": {[]porcupine.Operation{op("put", "x", 0, ok(201, "x", 1)), op("patch", "y", 1, ok(200, "y", 2)),
			op("undo", "", 2, ok(200, "x", 3)), op("undo", "", 2, ok(200, "y", 4))}, false},
		"an undo confirmed": {[]porcupine.Operation{op("put", "x", 0, ok(201, "x", 1)), op("patch", "y", 1, ok(200, "y", 2)),
			op("undo", "", 2, lost), op("undo", "", 2, ok(200, "x", 3)), op("get", "", 0, ok(200, "x", 3))}, true},
		"lost, and not carried out": {[]porcupine.Operation{op("put", "x", 0, ok(201, "x", 1)), op("patch", "y", 1, lost),
			op("get", "", 0, ok(200, "x", 1)), op("delete", "", 1, ok(204, "", 0)), op("get", "", 0, ok(404, "", 0))}, true},
		"lost, and carried out": {[]porcupine.Operation{op("put", "x", 0, ok(201, "x", 1)), op("patch", "y", 1, lost),
			op("patch", "z", 1, ok(412, "", 2)), op("patch", "z", 2, ok(200, "z", 3))}, true},
		"lost, and carried out twice": {[]porcupine.Operation{op("put", "x", 0, ok(201, "x", 1)), op("patch", "y", 1, lost),
			op("get", "", 0, ok(200, "y", 2)), op("get", "", 0, ok(200, "y", 3))}, false},
		"a removal forgotten": {[]porcupine.Operation{op("put", "x", 0, ok(201, "x", 1)), op("delete", "", 1, ok(204, "", 0)),
			op("get", "", 0, ok(200, "x", 1))}, false},
		"a removal refused when repeated": {[]porcupine.Operation{op("put", "x", 0, ok(201, "x", 1)), op("delete", "", 1, ok(204, "", 0)),
			op("delete", "", 1, ok(404, "", 0))}, false},
		"a put that replaces": {[]porcupine.Operation{op("put", "x", 0, ok(201, "x", 1)), op("put", "y", 0, ok(200, "y", 2))}, false},
	} {
		want := porcupine.Illegal
		if c.legal {
			want = porcupine.Ok
		}
		require.Equal(t, want, porcupine.CheckOperationsTimeout(oneCopy, c.history, time.Minute), name)
	}
}
