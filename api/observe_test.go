package api_test

import (
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
)

// TestAPanicIsAProblem: the stack stays here, the client gets a request_id.
func TestAPanicIsAProblem(t *testing.T) {
	t.Parallel()
	s := newServiceWith(t, api.Config{Ready: func(ctx) domain.Readiness { panic("the reason") }})
	a := s.do(call{method: http.MethodGet, path: "/readyz", token: "-"}).want(http.StatusInternalServerError)
	a.wantProblem(domain.Internal, "")
	require.NotContains(t, string(a.body), "the reason")
	s.do(call{method: http.MethodGet, path: "/healthz", token: "-"}).want(http.StatusOK)
}

// TestABodyWithoutALength is cut off at the limit too.
func TestABodyWithoutALength(t *testing.T) {
	t.Parallel()
	s := newService(t)
	body := io.MultiReader(strings.NewReader(`{"name":"`), strings.NewReader(strings.Repeat("x", 2<<20)))
	req, err := http.NewRequestWithContext(t.Context(), http.MethodPut, s.url+goaliePath, body)
	require.NoError(t, err)
	req.Header.Set("Authorization", "Bearer "+s.director)
	req.Header.Set("Content-Type", "application/json")
	res, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer func() { _ = res.Body.Close() }()
	require.Equal(t, http.StatusRequestEntityTooLarge, res.StatusCode)
}

// TestRequestIDs: a sane one is kept, any other replaced.
func TestRequestIDs(t *testing.T) {
	t.Parallel()
	s := newService(t)
	id := func(given string) string {
		return s.do(call{method: http.MethodGet, path: "/healthz", token: "-", header: http.Header{"Request-Id": {given}}}).
			header.Get("Request-Id")
	}
	require.Equal(t, "phone-7.a_B", id("phone-7.a_B"))
	for _, bad := range []string{"", "with space", `"quoted"`, strings.Repeat("x", 65)} {
		got := id(bad)
		require.NotEqual(t, bad, got)
		require.Len(t, got, 36)
	}
}

// TestHeadIsGetWithoutABody.
func TestHeadIsGetWithoutABody(t *testing.T) {
	t.Parallel()
	s := newService(t)
	req, err := http.NewRequestWithContext(t.Context(), http.MethodHead, s.url+"/v1/me", nil)
	require.NoError(t, err)
	req.Header.Set("Authorization", "Bearer "+s.director)
	res, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer func() { _ = res.Body.Close() }()
	require.Equal(t, http.StatusOK, res.StatusCode)
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	require.Empty(t, body)
}

// holdGoalie locks a goalie's row from outside until the returned function is called.
func (s *service) holdGoalie() func() {
	s.t.Helper()
	conn, err := pgx.Connect(s.t.Context(), s.adminURL)
	require.NoError(s.t, err)
	s.t.Cleanup(func() { _ = conn.Close(s.t.Context()) })
	tx, err := conn.Begin(s.t.Context())
	require.NoError(s.t, err)
	tag, err := tx.Exec(s.t.Context(), "SELECT 1 FROM goalies FOR UPDATE")
	require.NoError(s.t, err)
	require.EqualValues(s.t, 1, tag.RowsAffected())
	return func() { require.NoError(s.t, tx.Rollback(s.t.Context())) }
}

// awaitLockWait returns once some request of the service waits for a lock in the database.
func (s *service) awaitLockWait() {
	s.t.Helper()
	conn, err := pgx.Connect(s.t.Context(), s.adminURL)
	require.NoError(s.t, err)
	defer func() { _ = conn.Close(s.t.Context()) }()
	require.Eventually(s.t, func() bool {
		var waits bool
		err := conn.QueryRow(s.t.Context(), `SELECT EXISTS (SELECT 1 FROM pg_stat_activity
			WHERE datname = current_database() AND wait_event_type = 'Lock')`).Scan(&waits)
		return err == nil && waits
	}, 10*time.Second, 10*time.Millisecond)
}

// TestAFullServiceTurnsAway: with all slots taken the next request is told when to come back, health passes, and
// the request that waited ends well.
func TestAFullServiceTurnsAway(t *testing.T) {
	t.Parallel()
	s := newServiceWith(t, api.Config{InFlight: 1})
	s.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(http.StatusCreated)
	release := s.holdGoalie()
	waited := make(chan answer)
	go func() {
		waited <- s.do(call{method: http.MethodPatch, path: goaliePath, ifMatch: "*", body: `{"availability":"held"}`})
	}()
	s.awaitLockWait()
	full := s.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusServiceUnavailable)
	require.Equal(t, "1", full.header.Get("Retry-After"))
	s.do(call{method: http.MethodGet, path: "/healthz", token: "-"}).want(http.StatusOK)
	release()
	(<-waited).want(http.StatusOK)
	s.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusOK)
}

// TestARequestEndsAtItsDeadline: a row that stays locked gives 504 in time, and nothing is half-written.
func TestARequestEndsAtItsDeadline(t *testing.T) {
	t.Parallel()
	s := newServiceWith(t, api.Config{RequestTimeout: 1500 * time.Millisecond})
	s.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(http.StatusCreated)
	release := s.holdGoalie()
	s.do(call{method: http.MethodPatch, path: goaliePath, ifMatch: "*", body: `{"availability":"held"}`}).
		want(http.StatusGatewayTimeout).wantProblem(domain.Timeout, "")
	release()
	require.Equal(t, "full", s.do(call{method: http.MethodGet, path: goaliePath}).want(http.StatusOK).object()["availability"])
}
