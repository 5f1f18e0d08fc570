//go:build unix

package main

import (
	"net"
	"net/http"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"cagework/postgres/pgtest"
)

// It does not run beside other tests, whose goroutines would look like a leak.
func TestNothingIsLeftAfterAStop(t *testing.T) { //nolint:paralleltest // see above
	d := pgtest.New(t)
	_, _, token := newProgram(t, d.URL)
	before := goleak.IgnoreCurrent()
	service := serve(t, d.URL)
	require.NoError(t, putTeam(t.Context(), apiAt(t, service.address, token), false))
	get(t, "http://"+service.metrics+"/metrics", "", "*/*").want(http.StatusOK)
	service.stop()
	require.NoError(t, service.end(t))
	require.Contains(t, service.log.String(), `"msg":"stopped"`)
	_, _, err := cagework(t, serveArgs(d.URL, "--metrics-address="+listen(t))...)
	require.ErrorContains(t, err, "listen: ")
	goleak.VerifyNone(t, before)
	require.Zero(t, sessions(t, d), "a connection to the database is left")
}

// sessions counts the service's connections, other than this one.
func sessions(t *testing.T, d *pgtest.Database) (n int) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), d.AdminURL)
	require.NoError(t, err)
	defer func() { require.NoError(t, conn.Close(t.Context())) }()
	require.Eventually(t, func() bool {
		err = conn.QueryRow(t.Context(), `SELECT count(*) FROM pg_stat_activity
			WHERE datname = current_database() AND application_name = 'cagework'`).Scan(&n)
		return err != nil || n == 0
	}, patience, 10*time.Millisecond)
	require.NoError(t, err)
	return n
}

func TestItSaysNotReadyBeforeItStops(t *testing.T) {
	t.Parallel()
	service := serve(t, pgtest.New(t).URL, "--drain-delay=2s")
	service.stop()
	require.Eventually(t, func() bool {
		return strings.Contains(get(t, "http://"+service.address+"/readyz", "", "*/*").body, "the service is stopping")
	}, patience, 10*time.Millisecond)
	get(t, "http://"+service.address+"/healthz", "", "*/*").want(http.StatusOK)
	require.NoError(t, service.end(t))
}

// held is the program as a process with a request that waits for a row that this test has locked.
type held struct {
	*process
	*running
	databaseURL, token string

	lock   pgx.Tx
	answer chan int // the status, 0 when the connection broke
}

func holdARequest(t *testing.T) held {
	t.Helper()
	d := pgtest.New(t)
	_, _, token := newProgram(t, d.URL)
	h := held{process: start(t, serveArgs(d.URL)...), databaseURL: d.URL, token: token, answer: make(chan int, 1)}
	h.running = &running{log: &h.process.log}
	h.awaitListening(t)
	require.NoError(t, putTeam(t.Context(), apiAt(t, h.address, token), false))
	conn, err := pgx.Connect(t.Context(), d.AdminURL)
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close(t.Context()) })
	h.lock, err = conn.Begin(t.Context())
	require.NoError(t, err)
	_, err = h.lock.Exec(t.Context(), `SELECT FROM goalies FOR UPDATE`)
	require.NoError(t, err)
	go func() {
		status, _ := patchGoalie(t.Context(), h.address, token, "Rowan Tully the elder")
		h.answer <- status
	}()
	require.Eventually(t, func() bool {
		var waiting bool
		err := h.lock.QueryRow(t.Context(), `SELECT EXISTS (SELECT FROM pg_locks l JOIN pg_stat_activity a USING (pid)
			WHERE NOT l.granted AND a.datname = current_database())`).Scan(&waiting)
		return err == nil && waiting
	}, patience, 10*time.Millisecond)
	return h
}

// refuses waits until nobody answers at the address any more.
func (h held) refuses(t *testing.T) {
	t.Helper()
	require.Eventually(t, func() bool {
		conn, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", h.address)
		if err == nil {
			_ = conn.Close()
		}
		return err != nil
	}, patience, 5*time.Millisecond)
}

func TestARequestInFlightIsFinished(t *testing.T) {
	t.Parallel()
	h := holdARequest(t)
	h.signal(syscall.SIGTERM)
	h.refuses(t)
	select {
	case status := <-h.answer:
		require.FailNow(t, "the request did not wait", "it ended with %d", status)
	default:
	}
	require.NoError(t, h.lock.Rollback(t.Context()))
	require.Equal(t, http.StatusOK, <-h.answer)
	require.NoError(t, h.process.end(patience))
	require.Contains(t, h.process.log.String(), `"route":"/v1/goalies/:id","status":200`)
	require.Regexp(t, `"msg":"stopped"}\n$`, h.process.log.String())
}

func TestASecondSignalEndsItNow(t *testing.T) {
	t.Parallel()
	h := holdARequest(t)
	h.signal(syscall.SIGINT)
	h.refuses(t)
	time.Sleep(200 * time.Millisecond) // the first signal's handler is gone by now
	h.signal(syscall.SIGTERM)
	var killed *exec.ExitError
	require.ErrorAs(t, h.process.end(2*time.Second), &killed)
	require.Equal(t, -1, killed.ExitCode(), "it ended by the signal")
	require.Zero(t, <-h.answer)
}
