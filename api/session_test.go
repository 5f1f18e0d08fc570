package api_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
)

// browser is somebody who signed in by the form and keeps the cookie.
type browser struct {
	*service
	cookie string // name=value
}

// form sends a form as a browser does from a page of ours.
func (s *service) form(path string, values url.Values, header http.Header) answer {
	s.t.Helper()
	if header == nil {
		header = http.Header{}
	}
	header.Set("Content-Type", "application/x-www-form-urlencoded")
	return s.do(call{method: http.MethodPost, path: path, token: "-", body: values.Encode(), header: header})
}

// signIn opens a session with a token.
func (s *service) signIn(token string) *browser {
	s.t.Helper()
	return s.keeps(s.form("/sign-in", url.Values{"token": {token}}, nil).want(http.StatusSeeOther))
}

// keeps is the browser that got an answer and keeps its cookie.
func (s *service) keeps(a answer) *browser {
	s.t.Helper()
	cookie, _, _ := strings.Cut(a.header.Get("Set-Cookie"), ";")
	require.Contains(s.t, cookie, "=")
	return &browser{s, cookie}
}

// do sends a request with the cookie and without a token, as a page of ours does; header may say otherwise.
func (b *browser) do(c call) answer {
	b.t.Helper()
	c.token = "-"
	header := http.Header{"Cookie": {b.cookie}, "Sec-Fetch-Site": {"same-origin"}}
	for name, values := range c.header {
		header[name] = values
	}
	c.header = header
	return b.service.do(c)
}

// secret is the value of the cookie.
func (b *browser) secret() string {
	_, value, _ := strings.Cut(b.cookie, "=")
	return value
}

var page = http.Header{"Accept": {"text/html"}}

// TestASessionEndsAtSignOut: the cookie's value is good for nothing from then on, wherever it is kept.
func TestASessionEndsAtSignOut(t *testing.T) {
	t.Parallel()
	s := newService(t)
	b := s.signIn(s.director)
	b.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusOK)
	other := s.signIn(s.director)

	out := b.do(call{method: http.MethodPost, path: "/sign-out"}).want(http.StatusSeeOther)
	require.Equal(t, "/sign-in", out.header.Get("Location"))
	require.Contains(t, out.header.Get("Set-Cookie"), "Max-Age=0")
	b.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusUnauthorized)
	b.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(http.StatusUnauthorized)
	s.do(call{method: http.MethodGet, path: "/v1/me", token: b.secret()}).want(http.StatusUnauthorized)

	other.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusOK) // another browser stays
	s.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusOK)     // and so does the token
	b.do(call{method: http.MethodPost, path: "/sign-out"}).want(http.StatusSeeOther)
}

// TestASessionIsNoTokenAndATokenNoSession: neither is taken in the other's place.
func TestASessionIsNoTokenAndATokenNoSession(t *testing.T) {
	t.Parallel()
	s := newService(t)
	b := s.signIn(s.director)
	require.True(t, strings.HasPrefix(b.secret(), "cws_"), "%s", b.secret())
	s.do(call{method: http.MethodGet, path: "/v1/me", token: b.secret()}).want(http.StatusUnauthorized)
	s.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody, token: b.secret()}).want(http.StatusUnauthorized)
	name, _, _ := strings.Cut(b.cookie, "=")
	posing := &browser{s, name + "=" + s.director}
	posing.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusUnauthorized)
	s.form("/sign-in", url.Values{"token": {b.secret()}}, nil).want(http.StatusUnauthorized)
}

// TestASessionWritesFromOurOwnPagesOnly: with the cookie alone, what another site makes a browser send is refused.
func TestASessionWritesFromOurOwnPagesOnly(t *testing.T) {
	t.Parallel()
	s := newService(t)
	b := s.signIn(s.director)
	b.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(http.StatusCreated)
	b.do(call{method: http.MethodPatch, path: goaliePath, ifMatch: "*", body: `{"availability":"held"}`,
		header: http.Header{"Sec-Fetch-Site": nil, "Origin": {s.url}}}).want(http.StatusOK) // an older browser
	for name, from := range map[string]http.Header{
		"another site":   {"Sec-Fetch-Site": {"cross-site"}, "Origin": {"https://elsewhere.example"}},
		"a sister site":  {"Sec-Fetch-Site": {"same-site"}},
		"older browser":  {"Sec-Fetch-Site": nil, "Origin": {"https://elsewhere.example"}},
		"a hidden frame": {"Sec-Fetch-Site": nil, "Origin": {"null"}},
	} {
		for _, c := range []call{
			{method: http.MethodPatch, path: goaliePath, ifMatch: "*", body: `{"availability":"full"}`},
			{method: http.MethodDelete, path: goaliePath, ifMatch: "*"},
			{method: http.MethodPost, path: "/sign-out"},
		} {
			c.header = from.Clone()
			a := b.do(c)
			require.Equal(t, http.StatusForbidden, a.status, "%s: %s", name, a.body)
			a.wantProblem(domain.CrossOrigin, "")
		}
		s.form("/sign-in", url.Values{"token": {s.director}}, from.Clone()).want(http.StatusForbidden)
		b.do(call{method: http.MethodGet, path: goaliePath, header: from}).want(http.StatusOK)
	}
	s.do(call{method: http.MethodPatch, path: goaliePath, ifMatch: "*", body: `{"availability":"full"}`,
		header: http.Header{"Sec-Fetch-Site": {"cross-site"}}}).want(http.StatusOK) // no site makes a browser send a token
	require.Equal(t, "full", b.do(call{method: http.MethodGet, path: goaliePath}).object()["availability"])
}

// TestAnEndedSessionKeepsWhatAPageHolds: what a page sends is refused by a problem that says where to sign in, never
// by a redirect; the same is taken after signing in again.
func TestAnEndedSessionKeepsWhatAPageHolds(t *testing.T) {
	t.Parallel()
	s := newService(t)
	b := s.signIn(s.director)
	b.do(call{method: http.MethodPost, path: "/sign-out"}).want(http.StatusSeeOther)
	write := call{method: http.MethodPut, path: goaliePath, body: goalieBody}
	for _, accept := range []string{"application/json", "text/html"} {
		write.header = http.Header{"Accept": {accept}}
		a := b.do(write).want(http.StatusUnauthorized)
		require.Equal(t, "/sign-in", a.object()["sign_in"])
	}
	require.Equal(t, "/sign-in", b.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusUnauthorized).object()["sign_in"])
	require.NotContains(t, s.do(call{method: http.MethodGet, path: "/v1/me", token: "cw_x"}).object(), "sign_in",
		"a client with a token has nothing to do there")

	week := goaliePath + "/weeks/2026-W15"
	away := b.do(call{method: http.MethodGet, path: week, header: page}).want(http.StatusSeeOther)
	require.Equal(t, "/sign-in?next="+url.QueryEscape(week), away.header.Get("Location"))
	form := s.do(call{method: http.MethodGet, path: away.header.Get("Location"), token: "-", header: page}).want(http.StatusOK)
	require.Contains(t, string(form.body), `name="next" value="`+week+`"`)
	in := s.form("/sign-in", url.Values{"token": {s.director}, "next": {week}}, nil).want(http.StatusSeeOther)
	require.Equal(t, week, in.header.Get("Location"))
	write.header = nil
	s.keeps(in).do(write).want(http.StatusCreated)
}

// TestASessionEndsWithItsTokenAndItsMember.
func TestASessionEndsWithItsTokenAndItsMember(t *testing.T) {
	t.Parallel()
	s := newService(t)
	coach := s.newMember(domain.Coach)
	b := s.signIn(coach)
	member, _ := b.do(call{method: http.MethodGet, path: "/v1/me"}).object()["member_id"].(string)
	b.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(http.StatusCreated)
	s.do(call{method: http.MethodPatch, path: "/v1/members/" + member, ifMatch: "*", body: `{"role":"viewer"}`}).want(http.StatusOK)
	b.do(call{method: http.MethodPatch, path: goaliePath, ifMatch: "*", body: `{"availability":"held"}`}).want(http.StatusForbidden)

	var tokens struct{ Items []struct{ ID string } }
	s.do(call{method: http.MethodGet, path: "/v1/tokens?member_id=" + member}).into(&tokens)
	require.Len(t, tokens.Items, 1)
	s.do(call{method: http.MethodDelete, path: "/v1/tokens/" + tokens.Items[0].ID, ifMatch: "*"}).want(http.StatusNoContent)
	b.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusUnauthorized)
	s.do(call{method: http.MethodDelete, path: "/v1/members/" + member, ifMatch: "*"}).want(http.StatusNoContent)
	b.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusUnauthorized)
}

// TestASignInThatNoBrowserWouldKeepIsToldOf: else the form would come back again and again without a word.
func TestASignInThatNoBrowserWouldKeepIsToldOf(t *testing.T) {
	t.Parallel()
	s := newServiceWith(t, api.Config{SecureCookies: api.SecureAlways})
	in := func(origin string) answer {
		return s.form("/sign-in", url.Values{"token": {s.director}}, http.Header{"Origin": {origin}, "Sec-Fetch-Site": {"same-origin"}})
	}
	a := in("http://192.0.2.7:8080").want(http.StatusUnauthorized)
	require.Contains(t, string(a.body), "came without TLS")
	require.Empty(t, a.header.Get("Set-Cookie"))
	in("https://goalies.example.org").want(http.StatusSeeOther)
	in("http://localhost:8080").want(http.StatusSeeOther)
}
