package api_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

func (s *service) week(accept string) answer {
	s.t.Helper()
	return s.do(call{method: http.MethodGet, path: goaliePath + "/weeks/2014-W06", header: http.Header{"Accept": {accept}}})
}

// TestAWeekInItsFaces: one resource, chosen by Accept; and 304 while nothing has changed.
func TestAWeekInItsFaces(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	for accept, media := range map[string]string{
		"": "application/json", "*/*": "application/json", "application/json": "application/json",
		"text/html": "text/html; charset=utf-8",
		"text/html, application/xml;q=0.9, */*;q=0.8": "text/html; charset=utf-8", // as a browser asks
		"text/csv":                          "text/csv; charset=utf-8",
		"text/html;q=0.2, application/json": "application/json",
	} {
		require.Equal(t, media, s.week(accept).want(http.StatusOK).header.Get("Content-Type"), accept)
	}
	s.week("image/png").want(http.StatusNotAcceptable).wantProblem(domain.NotAcceptable, "")
	s.week("text/html;q=0, application/json;q=0").want(http.StatusNotAcceptable)

	tag := s.week("*/*").header.Get("ETag")
	again := func(tag string) answer {
		return s.do(call{method: http.MethodGet, path: goaliePath + "/weeks/2014-W06", header: http.Header{"If-None-Match": {tag}}})
	}
	require.Empty(t, again(tag).want(http.StatusNotModified).body)
	require.Equal(t, tag, again(`"other", W/`+tag).want(http.StatusNotModified).header.Get("ETag"))
	s.postGame(0, 3600, 3, 2)
	again(tag).want(http.StatusOK)
}

// TestSignIn: a browser exchanges a token for a cookie that reads and never writes.
func TestSignIn(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	form := func(token string) answer {
		return s.do(call{method: http.MethodPost, path: "/sign-in", token: "-", body: url.Values{"token": {token}}.Encode(),
			header: http.Header{"Content-Type": {"application/x-www-form-urlencoded"}}})
	}
	require.Contains(t, string(s.do(call{method: http.MethodGet, path: "/sign-in", token: "-"}).want(200).body), "<form")
	wrong := form("cw_wrong").want(http.StatusUnauthorized)
	require.Contains(t, string(wrong.body), "unknown, expired or revoked")
	require.Empty(t, wrong.header.Values("Set-Cookie"))

	cookie := form(s.director).want(http.StatusSeeOther).header.Get("Set-Cookie")
	for _, want := range []string{"cagework_session=cw_", "HttpOnly", "SameSite=Strict", "Path=/", "Max-Age="} {
		require.Contains(t, cookie, want)
	}
	session, _, _ := strings.Cut(cookie, ";")
	with := func(c call) answer {
		c.token = "-"
		if c.header == nil {
			c.header = http.Header{}
		}
		c.header.Set("Cookie", session)
		return s.do(c)
	}
	with(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusOK)
	page := with(call{method: http.MethodGet, path: goaliePath + "/weeks/2014-W06", header: http.Header{"Accept": {"text/html"}}}).want(http.StatusOK)
	require.Contains(t, page.header.Get("Content-Security-Policy"), "default-src 'none'")
	with(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(http.StatusUnauthorized)
	with(call{method: http.MethodDelete, path: goaliePath, ifMatch: "*"}).want(http.StatusUnauthorized)

	away := s.do(call{method: http.MethodGet, path: goaliePath + "/weeks/2014-W06", token: "-",
		header: http.Header{"Accept": {"text/html"}}}).want(http.StatusSeeOther)
	require.Equal(t, "/sign-in", away.header.Get("Location"))
	s.do(call{method: http.MethodGet, path: "/v1/games", token: "-", header: http.Header{"Accept": {"text/html"}}}).
		want(http.StatusUnauthorized) // it has no page to come back to
	out := with(call{method: http.MethodPost, path: "/sign-out"}).want(http.StatusSeeOther)
	require.Contains(t, out.header.Get("Set-Cookie"), "Max-Age=0")
}
