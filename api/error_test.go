package api_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

const (
	competitionPath = "/v1/competitions/0195b000-0000-7000-8000-000000000001"
	teamPath        = "/v1/teams/0195b000-0000-7000-8000-000000000002"
	goaliePath      = "/v1/goalies/0195b000-0000-7000-8000-000000000003"
	goalieBody      = `{"name":"Rowan Tully","stick_hand":"right","availability":"full","allowed_drill_ids":[]}`
)

// TestBadInput: each kind of bad input has a stable type, the right status and names the field; and after all of
// them nothing is there.
func TestBadInput(t *testing.T) {
	t.Parallel()
	s := newService(t)
	put := func(body string) call { return call{method: http.MethodPut, path: goaliePath, body: body} }
	media := func(media string) call {
		c := put(goalieBody)
		c.header = http.Header{"Content-Type": {media}}
		return c
	}
	for name, tc := range map[string]struct {
		call    call
		status  int
		code    domain.Code
		pointer string
	}{
		"unknown member":    {put(`{"name":"R","stick_hand":"right","availability":"full","allowed_drill_ids":[],"shoe":9}`), 422, domain.Invalid, "/shoe"},
		"other letter case": {put(`{"NAME":"R","stick_hand":"right","availability":"full","allowed_drill_ids":[]}`), 422, domain.Invalid, "/NAME"},
		"wrong type":        {put(`{"name":7,"stick_hand":"right","availability":"full","allowed_drill_ids":[]}`), 422, domain.Invalid, "/name"},
		"off-list code":     {put(`{"name":"R","stick_hand":"both","availability":"full","allowed_drill_ids":[]}`), 422, domain.Invalid, "/stick_hand"},
		"missing member":    {put(`{"stick_hand":"right","availability":"full","allowed_drill_ids":[]}`), 422, domain.Invalid, "/name"},
		"missing where 0 would do": {call{method: http.MethodPut, path: teamPath, body: map[string]any{
			"name": "A", "competition_id": idIn(competitionPath)}}, 422, domain.Invalid, "/practice_minutes"},
		"null for a flag": {call{method: http.MethodPut, path: "/v1/shots/0195b000-0000-7000-8000-000000000005", body: map[string]any{
			"game_id": idIn(teamPath), "outcome": "save", "film_ms": 1, "deflected": nil}}, 422, domain.Invalid, "/deflected"},
		"silence inside a list": {call{method: http.MethodPut, path: "/v1/practice-logs/0195b000-0000-7000-8000-000000000006", body: map[string]any{
			"goalie_id": idIn(goaliePath), "team_id": idIn(teamPath), "practised_on": "2026-04-08",
			"done": []any{map[string]any{"drill_id": idIn(goaliePath), "minutes": 4}}}}, 422, domain.Invalid, "/done/0/repetitions"},
		"other letter case inside a list": {call{method: http.MethodPut, path: "/v1/practice-logs/0195b000-0000-7000-8000-000000000006", body: map[string]any{
			"goalie_id": idIn(goaliePath), "team_id": idIn(teamPath), "practised_on": "2026-04-08",
			"done": []any{map[string]any{"drill_id": idIn(goaliePath), "MINUTES": 4, "repetitions": 1, "live_shots": 0}}}}, 422, domain.Invalid, "/done/0/MINUTES"},
		"null where required":  {put(`{"name":null,"stick_hand":"right","availability":"full","allowed_drill_ids":[]}`), 422, domain.Invalid, "/name"},
		"fraction for a whole": {put(`{"name":"R","stick_hand":"right","availability":"full","allowed_drill_ids":[],"practice_minutes":1.5}`), 422, domain.Invalid, "/practice_minutes"},
		"over a limit":         {put(`{"name":"` + strings.Repeat("x", 121) + `","stick_hand":"right","availability":"full","allowed_drill_ids":[]}`), 422, domain.Invalid, "/name"},
		"U+0000":               {put(`{"name":"a\u0000b","stick_hand":"right","availability":"full","allowed_drill_ids":[]}`), 422, domain.Invalid, "/name"},
		"twice the same name":  {put(`{"name":"R","name":"S","stick_hand":"right","availability":"full","allowed_drill_ids":[]}`), 400, domain.Malformed, "/name"},
		"invalid UTF-8":        {put("{\"name\":\"R\xff\",\"stick_hand\":\"right\",\"availability\":\"full\"}"), 400, domain.Malformed, ""},
		"trailing bytes":       {put(goalieBody + `{}`), 400, domain.Malformed, ""},
		"cut off":              {put(goalieBody[:20]), 400, domain.Malformed, ""},
		"no body":              {put(``), 400, domain.Malformed, ""},
		"null body":            {put(`null`), 422, domain.Invalid, "/name"},
		"list for an object":   {put(`[]`), 422, domain.Invalid, ""},
		"oversize":             {put(`{"name":"` + strings.Repeat("x", 1<<20) + `"}`), 413, domain.TooLarge, ""},
		"wrong media type":     {media("text/plain"), 415, domain.UnsupportedMedia, ""},
		"no media type":        {media(""), 415, domain.UnsupportedMedia, ""},
		"other charset":        {media("application/json; charset=latin1"), 415, domain.UnsupportedMedia, ""},
		"id is no UUID":        {call{method: http.MethodPut, path: "/v1/goalies/seven", body: goalieBody}, 400, domain.Malformed, "id"},
		"nil id": {call{method: http.MethodPut, path: "/v1/goalies/00000000-0000-0000-0000-000000000000", body: goalieBody},
			422, domain.Invalid, ""},
		"unknown query parameter": {call{method: http.MethodPut, path: goaliePath + "?dry=1", body: goalieBody}, 400, domain.Malformed, "dry"},
		"query parameter twice":   {call{method: http.MethodGet, path: "/v1/goalies?limit=1&limit=2"}, 400, domain.Malformed, "limit"},
		"limit is no number":      {call{method: http.MethodGet, path: "/v1/goalies?limit=many"}, 400, domain.Malformed, "limit"},
		"limit below one":         {call{method: http.MethodGet, path: "/v1/goalies?limit=0"}, 400, domain.Malformed, "limit"},
		"invented cursor":         {call{method: http.MethodGet, path: "/v1/goalies?cursor=abc"}, 400, domain.Malformed, "cursor"},
		"reference to nothing": {call{method: http.MethodPut, path: teamPath, body: map[string]any{
			"name": "A", "competition_id": "0195b000-0000-7000-8000-0000000000ff", "practice_minutes": 60}},
			422, domain.Invalid, "/competition_id"},
		"no such path":      {call{method: http.MethodGet, path: "/v1/goalkeepers"}, 404, domain.NotFound, ""},
		"method not there":  {call{method: http.MethodPost, path: goaliePath}, 405, domain.MethodNotAllowed, ""},
		"week that is none": {call{method: http.MethodGet, path: goaliePath + "/weeks/2026-W54"}, 400, domain.Malformed, "week"},
	} {
		t.Run(name, func(t *testing.T) {
			a := s.do(tc.call)
			require.Equal(t, tc.status, a.status, "%s", a.body)
			a.wantProblem(tc.code, tc.pointer)
		})
	}
	s.do(call{method: http.MethodGet, path: goaliePath}).want(http.StatusNotFound)
	s.do(call{method: http.MethodGet, path: "/v1/goalies"}).want(http.StatusOK)
	require.Empty(t, s.everyPage("/v1/goalies", s.director, s.do(call{method: http.MethodGet, path: "/v1/goalies"})))
}

// TestMethodNotAllowedSaysWhatIs: RFC 9110 section 15.5.6.
func TestMethodNotAllowedSaysWhatIs(t *testing.T) {
	t.Parallel()
	s := newService(t)
	a := s.do(call{method: http.MethodPost, path: goaliePath}).want(http.StatusMethodNotAllowed)
	for _, method := range []string{"GET", "PUT", "PATCH", "DELETE"} {
		require.Contains(t, a.header.Get("Allow"), method)
	}
}

// TestTokens: RFC 6750 and RFC 9110 section 11.6.1.
func TestTokens(t *testing.T) {
	t.Parallel()
	s := newService(t)
	me := func(header string) answer {
		c := call{method: http.MethodGet, path: "/v1/me", token: "-"}
		if header != "" {
			c.header = http.Header{"Authorization": {header}}
		}
		return s.do(c)
	}
	require.Equal(t, `Bearer realm="cagework"`, me("").want(401).header.Get("WWW-Authenticate"))
	for _, header := range []string{"Bearer", "Bearer cw_nothing", "Basic abc", "Bearer " + s.director + "x"} {
		require.Contains(t, me(header).want(401).header.Get("WWW-Authenticate"), `error="invalid_token"`, header)
	}
	me("bearer " + s.director).want(200) // the scheme's letter case does not matter
	changed := []byte(s.director)
	changed[len(changed)-8] ^= 1
	me("Bearer " + string(changed)).want(401)
}

// TestRevokedAtOnce: a removed token is good for nothing from the next request on.
func TestRevokedAtOnce(t *testing.T) {
	t.Parallel()
	s := newService(t)
	member := s.do(call{method: http.MethodGet, path: "/v1/me"}).object()["member_id"]
	path := "/v1/tokens/0195b000-0000-7000-8000-000000000009"
	body := map[string]any{"member_id": member, "label": "phone", "expires_at": "2099-01-01T00:00:00Z"}
	a := s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusCreated)
	secret, _ := a.object()["secret"].(string)
	require.True(t, strings.HasPrefix(secret, "cw_"))
	require.Nil(t, s.do(call{method: http.MethodPut, path: path, body: body}).want(http.StatusOK).object()["secret"],
		"a secret is given once")
	require.Nil(t, s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).object()["secret"])
	s.do(call{method: http.MethodGet, path: "/v1/me", token: secret}).want(http.StatusOK)
	s.do(call{method: http.MethodDelete, path: path, ifMatch: a.header.Get("ETag")}).want(http.StatusNoContent)
	s.do(call{method: http.MethodGet, path: "/v1/me", token: secret}).want(http.StatusUnauthorized)
	body["expires_at"] = "2020-01-01T00:00:00Z"
	s.do(call{method: http.MethodPut, path: "/v1/tokens/0195b000-0000-7000-8000-00000000000a", body: body}).
		want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/expires_at")
}
