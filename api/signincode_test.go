package api_test

import (
	"bytes"
	"image/png"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
)

const codes = "/v1/sign-in-codes"

// TestACodeSignsABrowserIn: once, and to look at its address uses nothing up.
func TestACodeSignsABrowserIn(t *testing.T) {
	t.Parallel()
	s := newService(t)
	coach := s.newMember(domain.Coach)
	made := s.do(call{method: http.MethodPost, path: codes, body: `{}`, token: coach}).want(http.StatusCreated)
	require.Equal(t, "no-store", made.header.Get("Cache-Control"))
	code, _ := made.object()["code"].(string)
	require.Regexp(t, `^[0-9A-HJKMNP-TV-Z]{5}-[0-9A-HJKMNP-TV-Z]{5}$`, code)
	address, _ := made.object()["address"].(string)
	require.Equal(t, s.url+"/sign-in?code="+code, address)
	for range 3 { // a program that shows what lies behind a link
		form := s.do(call{method: http.MethodGet, path: strings.TrimPrefix(address, s.url), token: "-"}).want(http.StatusOK)
		require.Contains(t, string(form.body), `name="code" value="`+code+`"`)
		require.Equal(t, "no-store", form.header.Get("Cache-Control"))
	}
	typed := strings.ToLower(strings.ReplaceAll(code, "-", " "))
	b := s.keeps(s.form("/sign-in", url.Values{"code": {typed}}, nil).want(http.StatusSeeOther))
	require.Equal(t, "coach", b.do(call{method: http.MethodGet, path: "/v1/me"}).object()["role"])
	again := s.form("/sign-in", url.Values{"code": {code}}, nil).want(http.StatusUnauthorized)
	require.Contains(t, string(again.body), "unknown, used or expired")
	require.Empty(t, again.header.Get("Set-Cookie"))
	s.do(call{method: http.MethodGet, path: "/v1/me", token: code}).want(http.StatusUnauthorized)
	s.form("/sign-in", url.Values{}, nil).want(http.StatusUnauthorized)

	require.NotContains(t, string(s.do(call{method: http.MethodGet, path: "/sign-in?code=%22%3E%3Cscript%3E&next=//elsewhere.example", token: "-"}).
		want(http.StatusOK).body), "elsewhere")
}

// TestTwoBrowsersAtOnceWithOneCode: one gets in.
func TestTwoBrowsersAtOnceWithOneCode(t *testing.T) {
	t.Parallel()
	s := newService(t)
	code, _ := s.do(call{method: http.MethodPost, path: codes, body: `{}`}).object()["code"].(string)
	statuses := make([]int, 6)
	var wg sync.WaitGroup
	for i := range statuses {
		wg.Go(func() { statuses[i] = s.form("/sign-in", url.Values{"code": {code}}, nil).status })
	}
	wg.Wait()
	in := 0
	for _, status := range statuses {
		require.Contains(t, []int{http.StatusSeeOther, http.StatusUnauthorized}, status)
		if status == http.StatusSeeOther {
			in++
		}
	}
	require.Equal(t, 1, in)
}

// TestWhoseCodes: one's own, and a director anybody's.
func TestWhoseCodes(t *testing.T) {
	t.Parallel()
	s := newService(t)
	viewer := s.newMember(domain.Viewer)
	id := func(token string) any {
		return s.do(call{method: http.MethodGet, path: "/v1/me", token: token}).object()["member_id"]
	}
	mine, theirs := id(s.director), id(viewer)
	s.do(call{method: http.MethodPost, path: codes, body: map[string]any{"member_id": mine}, token: viewer}).want(http.StatusForbidden)
	s.do(call{method: http.MethodPost, path: codes, body: map[string]any{"member_id": theirs}, token: viewer}).want(http.StatusCreated)
	s.do(call{method: http.MethodPost, path: codes, body: map[string]any{"member_id": s.program}}).
		want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/member_id")
	made := s.do(call{method: http.MethodPost, path: codes, body: map[string]any{"member_id": theirs}}).want(http.StatusCreated).object()
	require.Equal(t, theirs, made["member_id"])
	code, _ := made["code"].(string)
	b := s.keeps(s.form("/sign-in", url.Values{"code": {code}}, nil).want(http.StatusSeeOther))
	require.Equal(t, "viewer", b.do(call{method: http.MethodGet, path: "/v1/me"}).object()["role"])
	b.do(call{method: http.MethodGet, path: "/v1/goalies"}).want(http.StatusForbidden)
}

// TestTheCodeAsAPicture: of the address that the service is known under; the token is in none of them.
func TestTheCodeAsAPicture(t *testing.T) {
	t.Parallel()
	s := newServiceWith(t, api.Config{PublicURL: &url.URL{Scheme: "https", Host: "goalies.example.org"}, SecureCookies: api.SecureNever})
	as := func(media string) answer {
		return s.do(call{method: http.MethodPost, path: codes, body: `{}`, header: http.Header{"Accept": {media}}}).want(http.StatusCreated)
	}
	require.Contains(t, as("application/json").object()["address"], "https://goalies.example.org/sign-in?code=")
	svg := as("image/svg+xml")
	require.Equal(t, "image/svg+xml", svg.header.Get("Content-Type"))
	require.Contains(t, string(svg.body), "<title>Sign-in code ")
	bits := as("image/png")
	require.Equal(t, "image/png", bits.header.Get("Content-Type"))
	picture, err := png.Decode(bytes.NewReader(bits.body))
	require.NoError(t, err)
	require.Greater(t, picture.Bounds().Dx(), 100)

	b := s.signIn(s.director)
	shown := b.do(call{method: http.MethodPost, path: codes, header: http.Header{
		"Accept": {"text/html"}, "Content-Type": {"application/x-www-form-urlencoded"}}}).want(http.StatusCreated)
	require.Contains(t, string(shown.body), "<svg")
	for _, a := range []answer{svg, bits, shown} {
		require.NotContains(t, string(a.body), "cw_")
		require.NotContains(t, string(a.body), "cws_")
	}
}
