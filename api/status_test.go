package api_test

import (
	"encoding/json"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
	"cagework/openapi"
)

// TestEveryDocumentedStatusIsSeen makes each operation give each answer that the contract lists for it, so that
// no documented status is only a promise. Every answer is validated on its way.
func TestEveryDocumentedStatusIsSeen(t *testing.T) {
	t.Parallel()
	notReady := false
	s := newServiceWith(t, api.Config{Ready: func(ctx) domain.Readiness {
		if notReady {
			return domain.Readiness{Reasons: []string{"the database does not answer"}}
		}
		return domain.Readiness{Reads: true, Writes: true}
	}})
	w := &world{name: "statuses", seed: s.program}
	w.build(s, everything(s.director))
	viewer := s.newMember(domain.Viewer)
	got := map[string]bool{}
	see := func(op openapi.Operation, a answer) { got[op.ID+" "+strconvItoa(a.status)] = true }

	var removals []openapi.Operation
	for _, op := range operations(t) {
		for _, c := range refusals(w, op, viewer) {
			see(op, s.do(c))
		}
		if op.Method == http.MethodDelete {
			removals = append(removals, op)
			continue
		}
		for _, c := range successes(s, w, op) {
			see(op, s.do(c))
		}
	}
	for _, c := range conflicts(s, w) {
		op, known := operationOf(c.method, c.path)
		require.True(t, known)
		see(op, s.do(c))
	}
	s.removeAll(w, removals, see)
	notReady = true
	for _, op := range operations(t) {
		if op.ID == "getReadiness" {
			see(op, s.do(call{method: op.Method, path: op.Path, token: "-"}))
		}
	}

	for _, op := range operations(t) { // last: the address is throttled from here on
		if slices.Contains(op.Statuses, "429") {
			s.shut(nil)
			see(op, s.do(throttled(s, op)))
		}
	}

	var unseen []string
	for _, op := range operations(t) {
		for _, status := range op.Statuses {
			if status != "default" && !got[op.ID+" "+status] {
				unseen = append(unseen, op.ID+" "+status)
			}
		}
	}
	require.Empty(t, unseen, "documented, but not seen")
}

// throttled is a call with a secret that was never good.
func throttled(s *service, op openapi.Operation) call {
	c := call{method: op.Method, path: op.Path, token: "-", header: http.Header{"Cookie": {"cagework_session=" + domain.NewSessionSecret(s.program)}}}
	if op.ID == "signIn" {
		c.body = url.Values{"token": {domain.NewSecret(s.program)}}.Encode()
		c.header = http.Header{"Content-Type": {"application/x-www-form-urlencoded"}}
	}
	return c
}

// refusals are calls of an operation that must be refused, each for one reason that holds for any operation.
func refusals(w *world, op openapi.Operation, viewer string) []call { //nolint:gocyclo // a line a reason
	good := call{method: op.Method, path: w.path(op), body: example(w, op)}
	with := func(change func(*call)) call {
		c := good
		if conditional(op) {
			c.ifMatch = "*"
		}
		change(&c)
		return c
	}
	calls := []call{with(func(c *call) { c.path += "?nonsense=1" })}
	if slices.Contains(op.Statuses, "403") && op.Method != http.MethodGet {
		calls = append(calls, with(func(c *call) { c.token, c.header = "-", http.Header{"Sec-Fetch-Site": {"cross-site"}} }))
	}
	if op.Noun == "" {
		if op.ID == "signIn" {
			form := http.Header{"Content-Type": {"application/x-www-form-urlencoded"}}
			calls = append(calls,
				call{method: op.Method, path: op.Path + "?nonsense=1", token: "-", body: "token=cw_wrong", header: form},
				call{method: op.Method, path: op.Path, token: "-", body: "token=cw_wrong", header: form},
				call{method: op.Method, path: op.Path, token: "-", body: "token=" + strings.Repeat("x", 1<<20), header: form},
				call{method: op.Method, path: op.Path, token: "-", body: "token=x", header: http.Header{"Content-Type": {"text/plain"}}})
		}
		return calls
	}
	calls = append(calls, with(func(c *call) { c.token = "-" }), with(func(c *call) { c.token = viewer }))
	if len(op.PathExamples) > 0 && op.Method != http.MethodPut {
		nobody := &world{name: "nobody", seed: w.seed}
		calls = append(calls, with(func(c *call) {
			c.path = nobody.path(op)
			if conditional(op) {
				c.ifMatch = `"1"`
			}
		}))
	}
	if len(op.Media) > 0 {
		calls = append(calls,
			with(func(c *call) { c.body = `{"name":"` + strings.Repeat("x", 1<<20) + `"}` }),
			with(func(c *call) { c.header = http.Header{"Content-Type": {"text/plain"}} }),
			with(func(c *call) { c.body = `{"nonsense":1}` }))
	}
	ids := slices.DeleteFunc(slices.Clone(op.Query), func(name string) bool { return !strings.HasSuffix(name, "_id") })
	if len(ids) > 0 && op.Method == http.MethodGet {
		calls = append(calls, with(func(c *call) { c.path += "?" + ids[0] + "=" + w.id("no such record") }))
	}
	if op.Noun == string(domain.NounLesson) {
		calls = append(calls, with(func(c *call) { c.path += "?speed_ms=0" }))
	}
	if conditional(op) {
		calls = append(calls, with(func(c *call) { c.ifMatch = "" }), with(func(c *call) { c.ifMatch = `"999999999"` }))
	}
	if slices.Contains(op.Statuses, "406") {
		calls = append(calls, with(func(c *call) { c.header = http.Header{"Accept": {"audio/ogg"}} }))
	}
	if slices.Contains(op.Statuses, "303") {
		calls = append(calls, with(func(c *call) { c.token, c.header = "-", http.Header{"Accept": {"text/html"}} }))
	}
	return calls
}

// conditional tells whether an operation wants If-Match.
func conditional(op openapi.Operation) bool { return slices.Contains(op.Statuses, "428") }

// weekly tells whether an operation gives a week's summary, in its several forms.
func weekly(op openapi.Operation) bool { return strings.HasSuffix(op.Path, "/weeks/{week}") }

func example(w *world, op openapi.Operation) any {
	if op.RequestExample == nil || strings.HasPrefix(op.ID, "sign") {
		return nil
	}
	return w.text(string(op.RequestExample))
}

// successes are calls of an operation that must succeed, in each way that it can.
func successes(s *service, w *world, op openapi.Operation) []call {
	good := call{method: op.Method, path: w.path(op), body: example(w, op)}
	switch {
	case op.ID == "signIn":
		return []call{{method: op.Method, path: op.Path, token: "-", body: url.Values{"token": {s.director}}.Encode(),
			header: http.Header{"Content-Type": {"application/x-www-form-urlencoded"}}}}
	case weekly(op):
		tag := s.do(good).header.Get("ETag")
		again := good
		again.header = http.Header{"If-None-Match": {tag}}
		return []call{good, again}
	case op.Method == http.MethodPut:
		fresh := &world{name: "fresh " + op.ID, seed: w.seed}
		fresh.build(s, everything(s.director)) // 201 on its way
		other := good
		other.body = altered(s.t, w.text(string(op.RequestExample)))
		return []call{good, other, {method: op.Method, path: (&world{name: "new " + op.ID, seed: w.seed}).path(op),
			body: freshBody(s, op, w)}}
	case op.ID == "undoChange": // "*" would not say which change
		good.ifMatch = s.lastChange(strings.TrimSuffix(good.path, "/undo"))
	case conditional(op):
		good.ifMatch = "*"
	}
	return []call{good}
}

// freshBody is the example of an operation in a world in which all but its own record are there already.
func freshBody(s *service, op openapi.Operation, w *world) string {
	s.t.Helper()
	fresh := &world{name: "for " + op.ID, seed: w.seed}
	for again := true; again; {
		again = false
		for _, other := range operations(s.t) {
			if other.Method != http.MethodPut || other.ID == op.ID {
				continue
			}
			a := s.do(call{method: other.Method, path: fresh.path(other), body: fresh.text(string(other.RequestExample))})
			again = again || a.status == http.StatusCreated
		}
	}
	return fresh.text(string(op.RequestExample))
}

// altered gives the same body with another value in a text that may differ.
func altered(t testing.TB, body string) string {
	t.Helper()
	var m map[string]any
	require.NoError(t, json.Unmarshal([]byte(body), &m))
	for _, name := range slices.Sorted(maps.Keys(m)) {
		switch {
		case slices.Contains([]string{"name", "label", "opponent"}, name):
			m[name] = "Another one"
		case name == "clock_s" || name == "start_clock_s":
			m[name] = 17
		case name == "team_shots" || name == "times_a_week":
			m[name] = 6
		case name == "fitted_on":
			m[name] = "2025-01-02"
		case name == "from_on":
			m[name] = "2025-01-02"
		case name == "how_read":
			m[name] = "live"
		}
	}
	out, err := json.Marshal(m)
	require.NoError(t, err)
	return string(out)
}

// conflicts are changes that another record stands in the way of.
func conflicts(s *service, w *world) []call {
	s.t.Helper()
	second := &world{name: "second", seed: w.seed}
	second.build(s, everything(s.director))
	patch := func(noun string, body map[string]any) call {
		return call{method: http.MethodPatch, path: w.put[noun], ifMatch: "*", body: body}
	}
	code := func(noun string) string {
		code, _ := s.do(call{method: http.MethodGet, path: second.put[noun]}).object()["code"].(string)
		return code
	}
	stint := s.do(call{method: http.MethodGet, path: w.put["stint"]}).object()
	spell := s.do(call{method: http.MethodGet, path: w.put["roster_spell"]}).object()
	again := func(path string, body map[string]any) call {
		for _, found := range []string{"id", "rev", "start_elapsed_s", "end_elapsed_s"} {
			delete(body, found)
		}
		return call{method: http.MethodPut, path: path, body: body}
	}
	me, _ := s.do(call{method: http.MethodGet, path: "/v1/me"}).object()["member_id"].(string)
	later := "/v1/stints/" + domain.NameID(w.seed, "later stint").String()
	next := "/v1/roster-spells/" + domain.NameID(w.seed, "next spell").String()
	stint["start_period"], stint["end_period"], stint["start_clock_s"], stint["end_clock_s"] = 5, 5, 60, 0
	stint["start_film_ms"], stint["end_film_ms"] = nil, nil
	spell["from_on"], spell["to_on"] = "2090-01-01", "2090-02-01"
	s.do(patch("roster_spell", map[string]any{"to_on": "2080-01-01"})).want(http.StatusOK)
	habit, _ := s.do(call{method: http.MethodGet, path: w.put["habit"]}).object()["code"].(string)
	s.do(patch("reading", map[string]any{"habits": map[string]any{habit: "yes"}})).want(http.StatusOK)
	s.do(patch("shot", map[string]any{"counted_reading_id": idIn(w.put["reading"])})).want(http.StatusOK)
	s.do(again(later, stint)).want(http.StatusCreated)
	s.do(again(next, spell)).want(http.StatusCreated)
	return append(erasing(s, w, me), []call{
		{method: http.MethodPost, path: "/v1/changes/" + idIn(w.put["shot"]) + "/undo", ifMatch: "*",
			body: map[string]any{"rev": s.createdAt(w.put["shot"])}},
		patch("competition", map[string]any{"goal_width_m": 1.5}),
		patch("game", map[string]any{"competition_id": idIn(second.put["competition"])}),
		patch("target", map[string]any{"code": code("target")}),
		patch("drill", map[string]any{"code": code("drill")}),
		patch("habit", map[string]any{"code": code("habit")}),
		{method: http.MethodPatch, path: "/v1/members/" + me, ifMatch: "*", body: map[string]any{"role": "coach"}},
		{method: http.MethodPatch, path: later, ifMatch: "*", body: map[string]any{"start_period": 1, "start_clock_s": 600}},
		{method: http.MethodPatch, path: next, ifMatch: "*", body: map[string]any{"from_on": "2070-01-01"}},
	}...)
}

// erasing are calls about persons who are to be erased, and were: for good, so they are of a world of their own.
func erasing(s *service, w *world, me string) []call {
	s.t.Helper()
	gone := &world{name: "erased", seed: w.seed}
	gone.build(s, everything(s.director))
	really := func(more string) string { return `{"dry_run":false` + more + `}` }
	s.do(call{method: http.MethodPost, path: gone.put["goalie"] + "/erasure", body: really(""), ifMatch: "*"}).want(http.StatusOK)
	calls := []call{
		{method: http.MethodPost, path: "/v1/members/" + me + "/erasure", body: really(""), ifMatch: "*"},
		{method: http.MethodPatch, path: gone.put["goalie"], ifMatch: "*", body: map[string]any{"name": "Back"}},
		{method: http.MethodPatch, path: gone.put["assignment"], ifMatch: "*", body: map[string]any{"reason": "back"}},
	}
	for _, noun := range []string{"goalie", "member"} {
		path := w.put[noun] + "/erasure"
		calls = append(calls, call{method: http.MethodPost, path: path, body: really("")},
			call{method: http.MethodPost, path: path, body: really(`,"digest":"0"`)})
	}
	return calls
}

// createdAt gives the rev of a record's creation.
func (s *service) createdAt(path string) any {
	s.t.Helper()
	var page struct{ Items []map[string]any }
	s.do(call{method: http.MethodGet, path: "/v1/changes/" + idIn(path)}).want(http.StatusOK).into(&page)
	require.Equal(s.t, "create", page.Items[0]["op"])
	return page.Items[0]["rev"]
}

// removeAll removes every record of the world; what others stand on refuses until they are gone.
func (s *service) removeAll(w *world, removals []openapi.Operation, see func(openapi.Operation, answer)) {
	s.t.Helper()
	s.do(call{method: http.MethodDelete, path: "/v1/stints/" + domain.NameID(w.seed, "later stint").String(), ifMatch: "*"}).
		want(http.StatusNoContent)
	s.do(call{method: http.MethodDelete, path: "/v1/roster-spells/" + domain.NameID(w.seed, "next spell").String(), ifMatch: "*"}).
		want(http.StatusNoContent)
	for _, op := range removals {
		if slices.Contains(op.Statuses, "409") {
			see(op, s.do(call{method: op.Method, path: w.path(op), ifMatch: "*"}).want(http.StatusConflict))
		}
	}
	s.do(call{method: http.MethodPatch, path: w.put["shot"], ifMatch: "*", body: `{"counted_reading_id":null}`}).want(http.StatusOK)
	game := idIn(w.put["game"])
	batch := s.do(call{method: http.MethodGet, path: "/v1/shots?game_id=" + game})
	for _, id := range s.everyPage("/v1/shots", s.director, batch) { // the batch's shots are in no path of the contract
		if id != idIn(w.put["shot"]) {
			s.do(call{method: http.MethodDelete, path: "/v1/shots/" + id, ifMatch: "*"}).want(http.StatusNoContent)
		}
	}
	for len(removals) > 0 {
		var later []openapi.Operation
		for _, op := range removals {
			a := s.do(call{method: op.Method, path: w.path(op), ifMatch: "*"})
			see(op, a)
			if a.status == http.StatusConflict {
				later = append(later, op)
			}
		}
		require.Less(s.t, len(later), len(removals), "records hold each other: %v", later)
		removals = later
	}
}
