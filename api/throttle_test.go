package api_test

import (
	"bytes"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
)

// logged keeps what is logged.
type logged struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (j *logged) Write(p []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.Write(p)
}

func (j *logged) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.text.String()
}

// guess is a token of the right form that is nobody's.
func (s *service) guess(header http.Header) answer {
	s.t.Helper()
	h := header.Clone()
	if h == nil {
		h = http.Header{}
	}
	h.Set("Authorization", "Bearer "+domain.NewSecret(s.program))
	return s.do(call{method: http.MethodGet, path: "/v1/me", token: "-", header: h})
}

// shut guesses until an address is throttled, and gives after how many.
func (s *service) shut(header http.Header) int {
	s.t.Helper()
	for n := range 100 {
		if s.guess(header).status == http.StatusTooManyRequests {
			return n
		}
	}
	s.t.Fatal("nobody stops it")
	return 0
}

// stopped is a clock that a test moves.
type stopped struct{ offset atomic.Int64 }

func (c *stopped) now() time.Time {
	return time.Unix(1_780_000_000, 0).Add(time.Duration(c.offset.Load()))
}
func (c *stopped) add(d time.Duration) { c.offset.Add(int64(d)) }

// TestGuessingIsThrottledByAddress: after some failures the next is told when to come back, and asks the database nothing;
// who was in stays in, and the throttle opens with time.
func TestGuessingIsThrottledByAddress(t *testing.T) {
	t.Parallel()
	clock := &stopped{}
	s := newServiceWith(t, api.Config{Now: clock.now, TrustedProxies: []string{"127.0.0.1"}})
	from := func(address string) http.Header { return http.Header{"X-Forwarded-For": {address}} }
	s.do(call{method: http.MethodGet, path: "/v1/me", header: from("192.0.2.7")}).want(http.StatusOK) // somebody of the club is in
	b := s.signIn(s.director)
	require.Equal(t, 30, s.shut(from("192.0.2.7")))

	before := s.db.Stat().AcquireCount()
	a := s.guess(from("192.0.2.7")).want(http.StatusTooManyRequests)
	a.wantProblem(domain.TooMany, "")
	require.Equal(t, "2", a.header.Get("Retry-After"))
	form := s.form("/sign-in", url.Values{"token": {domain.NewSecret(s.program)}}, from("192.0.2.7")).want(http.StatusTooManyRequests)
	require.Contains(t, string(form.body), "<form")
	require.Equal(t, "2", form.header.Get("Retry-After"))
	s.form("/sign-in", url.Values{"code": {"7K2MX-Q9D4A"}}, from("192.0.2.7")).want(http.StatusTooManyRequests)
	ended := &browser{s, "cagework_session=" + domain.NewSessionSecret(s.program)}
	ended.do(call{method: http.MethodPost, path: "/sign-out", header: from("192.0.2.7")}).want(http.StatusTooManyRequests)
	ended.do(call{method: http.MethodGet, path: "/", header: from("192.0.2.7")}).want(http.StatusTooManyRequests)
	require.Equal(t, before, s.db.Stat().AcquireCount(), "the database is asked nothing")

	s.do(call{method: http.MethodGet, path: "/v1/me", header: from("192.0.2.7")}).want(http.StatusOK)
	b.do(call{method: http.MethodGet, path: "/v1/me", header: from("192.0.2.7")}).want(http.StatusOK)
	s.do(call{method: http.MethodGet, path: "/v1/me", token: "-", header: from("192.0.2.7")}).want(http.StatusUnauthorized) // no guess
	s.guess(from("192.0.2.8")).want(http.StatusUnauthorized)                                                                // a neighbour

	clock.add(2 * time.Second)
	s.guess(from("192.0.2.7")).want(http.StatusUnauthorized)
	s.guess(from("192.0.2.7")).want(http.StatusTooManyRequests)
	clock.add(2 * time.Second)
	coach := s.newMember(domain.Coach)
	s.do(call{method: http.MethodGet, path: "/v1/me", token: coach, header: from("192.0.2.7")}).want(http.StatusOK)
	s.do(call{method: http.MethodGet, path: "/v1/me", token: coach, header: from("192.0.2.7")}).want(http.StatusOK)
	clock.add(time.Hour)
	require.Equal(t, 30, s.shut(from("192.0.2.7")))
}

// TestASpoofedAddressEscapesNothing: who is no trusted proxy may write any address.
func TestASpoofedAddressEscapesNothing(t *testing.T) {
	t.Parallel()
	clock := &stopped{}
	s := newServiceWith(t, api.Config{Now: clock.now})
	n := 0
	for ; s.guess(http.Header{"X-Forwarded-For": {fmt.Sprintf("192.0.2.%d", n)}, "X-Real-Ip": {fmt.Sprintf("198.51.100.%d", n)}}).status == http.StatusUnauthorized; n++ {
		require.Less(t, n, 100)
	}
	require.Equal(t, 30, n)
	behind := newServiceWith(t, api.Config{Now: clock.now, TrustedProxies: []string{"127.0.0.1"}})
	for n = 0; behind.guess(http.Header{"X-Forwarded-For": {fmt.Sprintf("192.0.2.%d, 203.0.113.5", n)}}).status == http.StatusUnauthorized; n++ {
		require.Less(t, n, 100)
	}
	require.Equal(t, 30, n, "only what the proxy saw counts")
	for n = 0; behind.guess(http.Header{"X-Forwarded-For": {fmt.Sprintf("2001:db8:0:7::%x", n)}}).status == http.StatusUnauthorized; n++ {
		require.Less(t, n, 100)
	}
	require.Equal(t, 30, n, "a client has a whole IPv6 network")
}

// TestABrokenPhoneShutsNobodyOut: one token that was revoked, sent again and again, is stopped by itself.
func TestABrokenPhoneShutsNobodyOut(t *testing.T) {
	t.Parallel()
	clock := &stopped{}
	s := newServiceWith(t, api.Config{Now: clock.now})
	for _, secret := range []string{domain.NewSecret(s.program), "cw_cut-off"} {
		last := 0
		for range 40 {
			last = s.do(call{method: http.MethodGet, path: "/v1/me", token: secret}).status
		}
		require.Equal(t, http.StatusTooManyRequests, last)
	}
	coach := s.newMember(domain.Coach)
	s.do(call{method: http.MethodGet, path: "/v1/me", token: coach}).want(http.StatusOK)
	s.signIn(coach).do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusOK)
}

// TestNoSecretIsLogged reads everything that is logged of sign-ins, codes and failures.
func TestNoSecretIsLogged(t *testing.T) {
	t.Parallel()
	log := &logged{}
	s := newServiceWith(t, api.Config{Log: slog.New(slog.NewJSONHandler(log, &slog.HandlerOptions{Level: slog.LevelDebug}))})
	wrong := domain.NewSecret(s.program)
	b := s.signIn(s.director)
	code, _ := b.do(call{method: http.MethodPost, path: "/v1/sign-in-codes", body: `{}`}).want(http.StatusCreated).object()["code"].(string)
	require.NotEmpty(t, code)
	s.do(call{method: http.MethodGet, path: "/sign-in?code=" + code, token: "-"}).want(http.StatusOK)
	other := s.keeps(s.form("/sign-in", url.Values{"code": {code}, "next": {"/v1/me"}}, nil).want(http.StatusSeeOther))
	s.form("/sign-in", url.Values{"code": {code}}, nil).want(http.StatusUnauthorized)
	s.form("/sign-in", url.Values{"token": {wrong}}, nil).want(http.StatusUnauthorized)
	s.do(call{method: http.MethodGet, path: "/v1/me", token: wrong}).want(http.StatusUnauthorized)
	b.do(call{method: http.MethodPost, path: "/sign-out"}).want(http.StatusSeeOther)
	b.do(call{method: http.MethodGet, path: "/v1/me", header: page}).want(http.StatusSeeOther)

	said := log.String()
	for _, secret := range []string{s.director, wrong, b.secret(), other.secret(), code, strings.ReplaceAll(code, "-", ""), "Avery"} {
		require.NotContains(t, said, secret)
	}
	me, _ := other.do(call{method: http.MethodGet, path: "/v1/me"}).object()["member_id"].(string)
	for _, want := range []string{`"msg":"signed in"`, `"msg":"signed out"`, `"msg":"sign-in code made"`, `"msg":"sign-in failed"`,
		`"client":"127.0.0.1"`, `"failures":1`, `"route":"/sign-in"`, `"by":"code"`, `"member_id":"` + me + `"`} {
		require.Contains(t, said, want)
	}
}
