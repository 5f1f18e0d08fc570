//go:build linux

package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/postgres/local"
)

// How often each thing happens; the defaults are for every day. See DEVELOPERS.md for a long run.
var (
	crashKills   = flag.Int("crash.kills", 3, "how often an instance of the service is killed")
	crashStops   = flag.Int("crash.stops", 1, "how often Postgres is stopped without writing anything down")
	crashFreezes = flag.Int("crash.freezes", 1, "how often an instance stands still for longer than its transactions may")
)

// TestCrashLoop kills, stops and freezes what serves while several writers create, change and remove shots through a network
// that loses replies. A writer sends the same again until it is answered, and only then goes on. In the end each write that was
// acknowledged is there once, and the history has no gap.
func TestCrashLoop(t *testing.T) { //nolint:paralleltest // it is about time, and takes the machine's
	l := newCrashLoop(t)
	ctx, enough := context.WithCancel(t.Context())
	var writers sync.WaitGroup
	const writing = 6
	done := make([][]*charted, writing)
	for w := range writing {
		writers.Go(func() { done[w] = l.write(ctx, w) })
	}
	deeds := slices.Concat(slices.Repeat([]func(){l.kill}, *crashKills), slices.Repeat([]func(){l.stopPostgres}, *crashStops),
		slices.Repeat([]func(){l.freeze}, *crashFreezes))
	rand.Shuffle(len(deeds), func(i, j int) { deeds[i], deeds[j] = deeds[j], deeds[i] })
	for _, deed := range deeds {
		l.progress(writing)
		deed()
		l.progress(writing)
	}
	enough()
	writers.Wait()
	require.False(t, t.Failed())
	l.verify(slices.Concat(done...))
}

// charted is a shot that a writer made, and what was acknowledged of it.
type charted struct {
	id   string
	ops  []string
	film int
}

// crashLoop is a private Postgres that keeps what it confirms, two instances of the service, and a network in front of them.
type crashLoop struct {
	t        *testing.T
	dir      string
	port     int
	server   *local.Server
	admin    string // the administrator's address of the database
	database string // the service's
	program  string
	token    string
	game     string

	mu        sync.Mutex
	instances [2]servingProcess

	listener     net.Listener
	acknowledged atomic.Int64
	lost         atomic.Int64 // replies that the network dropped
	refused      atomic.Int64 // requests that were told to come again
}

func newCrashLoop(t *testing.T) *crashLoop {
	t.Helper()
	l := &crashLoop{t: t, dir: filepath.Join(reachableDir(t), "postgres")}
	l.startPostgres()
	t.Cleanup(func() { require.NoError(t, l.server.Stop(context.WithoutCancel(t.Context()))) })
	l.admin = l.server.URL("postgres")
	ok(t, "migrate", "--database-url="+l.admin)
	execute(t, l.admin, `CREATE ROLE cagework_login LOGIN PASSWORD 'only-here' IN ROLE cagework_service`)
	u, err := url.Parse(l.admin)
	require.NoError(t, err)
	u.User = url.UserPassword("cagework_login", "only-here")
	l.database = u.String()
	for _, setting := range []string{"fsync", "synchronous_commit", "full_page_writes"} {
		conn, err := pgx.Connect(t.Context(), l.admin)
		require.NoError(t, err)
		var value string
		require.NoError(t, conn.QueryRow(t.Context(), "SHOW "+setting).Scan(&value))
		require.NoError(t, conn.Close(t.Context()))
		require.Equal(t, "on", value, setting)
	}
	l.program, _, l.token = newProgram(t, l.database)
	for i := range l.instances {
		l.instances[i] = l.serve()
	}
	require.NoError(t, putTeam(t.Context(), apiAt(t, l.instances[0].address, l.token), true))
	l.game = aTeam().Games[0].ID.String()
	l.listener, err = (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	go l.carry()
	t.Cleanup(func() { _ = l.listener.Close() })
	return l
}

func (l *crashLoop) serve() servingProcess {
	p := start(l.t, serveArgs(l.database)...)
	r := running{log: &p.log}
	r.awaitListening(l.t)
	return servingProcess{p, r.address}
}

// startPostgres starts it where it was, on the port that it had.
func (l *crashLoop) startPostgres() {
	l.t.Helper()
	var err error
	l.server, err = local.Start(l.t.Context(), local.Options{Dir: l.dir, Port: l.port, Programs: local.OfMachineOrCopied})
	require.NoError(l.t, err)
	l.port = l.server.Port
}

// kill ends an instance as the system does when it must, and starts another in its place.
func (l *crashLoop) kill() {
	i := rand.IntN(len(l.instances))
	l.instances[i].kill()
	fresh := l.serve()
	l.mu.Lock()
	defer l.mu.Unlock()
	l.instances[i] = fresh
}

// stopPostgres is pg_ctl's immediate stop: no session ends well and nothing is written down.
func (l *crashLoop) stopPostgres() {
	require.NoError(l.t, syscall.Kill(l.server.PID, syscall.SIGQUIT))
	require.Eventually(l.t, func() bool {
		conn, err := net.DialTimeout("tcp", fmt.Sprintf("127.0.0.1:%d", l.port), time.Second) //nolint:noctx // it is bounded
		if err == nil {
			_ = conn.Close()
		}
		return err != nil
	}, patience, 5*time.Millisecond)
	require.NoError(l.t, l.server.Stop(l.t.Context()))
	l.startPostgres()
}

// freeze stops an instance for longer than the server lets its transactions stand.
func (l *crashLoop) freeze() {
	p := l.instances[rand.IntN(len(l.instances))]
	p.freeze()
	before := l.acknowledged.Load()
	time.Sleep(7 * time.Second) // there is no signal for that nothing happens
	p.signal(syscall.SIGCONT)
	require.Greater(l.t, l.acknowledged.Load(), before, "nobody wrote while one instance stood still")
}

// progress waits until so many more writes are acknowledged.
func (l *crashLoop) progress(more int) {
	from := l.acknowledged.Load()
	require.Eventually(l.t, func() bool { return l.acknowledged.Load() >= from+int64(more) }, patience, 2*time.Millisecond)
}

// carry takes connections to either instance. Of one reply in twelve nothing arrives.
func (l *crashLoop) carry() {
	for {
		client, err := l.listener.Accept()
		if err != nil {
			return
		}
		l.mu.Lock()
		target := l.instances[rand.IntN(len(l.instances))].address
		l.mu.Unlock()
		go l.link(client, target)
	}
}

func (l *crashLoop) link(client net.Conn, target string) {
	defer func() { _ = client.Close() }()
	server, err := net.DialTimeout("tcp", target, time.Second) //nolint:noctx // it is bounded
	if err != nil {
		return
	}
	defer func() { _ = server.Close() }()
	go func() {
		_, _ = io.Copy(server, client)
		_ = server.(*net.TCPConn).CloseWrite()
	}()
	first := make([]byte, 1)
	if _, err := io.ReadFull(server, first); err != nil {
		return
	}
	if rand.IntN(12) == 0 { // it was served, and nobody hears of it
		l.lost.Add(1)
		return
	}
	if _, err := client.Write(first); err == nil {
		_, _ = io.Copy(client, server)
	}
}

// write charts shots until the context ends, and then finishes the one at hand.
func (l *crashLoop) write(ctx context.Context, writer int) []*charted {
	var all []*charted
	client := browser()
	client.Timeout = 4 * time.Second
	for n := 0; ctx.Err() == nil; n++ {
		shot := &charted{id: demoID(fmt.Sprint("writer ", writer, " shot ", n)).String(), film: 1000 * n}
		all = append(all, shot)
		steps := []func(http.Header) step{
			func(http.Header) step {
				return step{"create", http.MethodPut, fmt.Sprintf(`{"game_id":%q,"outcome":"save","film_ms":%d}`, l.game, shot.film), ""}
			},
			func(h http.Header) step {
				return step{"change", http.MethodPatch, fmt.Sprintf(`{"film_ms":%d}`, shot.film+writer+1), h.Get("ETag")}
			},
			func(h http.Header) step { return step{"remove", http.MethodDelete, "", h.Get("ETag")} },
		}
		header := http.Header{}
		for _, next := range steps[:1+n%3] {
			s := next(header)
			var err error
			if header, err = l.insist(client, shot.id, s); err != nil {
				l.t.Errorf("%s of %s: %v", s.op, shot.id, err)
				return all
			}
			shot.ops = append(shot.ops, s.op)
			if s.op == "change" {
				shot.film += writer + 1
			}
			l.acknowledged.Add(1)
		}
	}
	return all
}

// step is one write as it is sent, however often.
type step struct{ op, method, body, ifMatch string }

// insist sends a write again until it is acknowledged.
func (l *crashLoop) insist(client *http.Client, id string, s step) (http.Header, error) {
	until := time.Now().Add(patience)
	for try := 1; time.Now().Before(until); try++ {
		status, header, body := l.send(client, id, s)
		switch {
		case status == http.StatusOK, status == http.StatusCreated, status == http.StatusNoContent:
			return header, nil
		case status == http.StatusNotFound && s.op == "remove" && try > 1:
			return header, nil // an earlier try was served
		case status == 0, status == http.StatusServiceUnavailable, status == http.StatusGatewayTimeout:
			l.refused.Add(1)
			time.Sleep(time.Duration(20+rand.IntN(80)) * time.Millisecond)
		default:
			return nil, fmt.Errorf("try %d is answered %d: %s", try, status, body)
		}
	}
	return nil, fmt.Errorf("never acknowledged")
}

// send gives the status 0 when there was no whole answer.
func (l *crashLoop) send(client *http.Client, id string, s step) (int, http.Header, string) {
	req, err := http.NewRequestWithContext(context.WithoutCancel(l.t.Context()), s.method,
		"http://"+l.listener.Addr().String()+"/v1/shots/"+id, strings.NewReader(s.body))
	if err != nil {
		return 0, nil, err.Error()
	}
	req.Header.Set("Authorization", "Bearer "+l.token)
	switch s.method {
	case http.MethodPut:
		req.Header.Set("Content-Type", "application/json")
	case http.MethodPatch:
		req.Header.Set("Content-Type", "application/merge-patch+json")
	}
	if s.ifMatch != "" {
		req.Header.Set("If-Match", s.ifMatch)
	}
	res, err := client.Do(req)
	if err != nil {
		return 0, nil, err.Error()
	}
	defer func() { _ = res.Body.Close() }()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		return 0, nil, err.Error()
	}
	return res.StatusCode, res.Header, string(body)
}

// verify holds what was acknowledged to what is there.
func (l *crashLoop) verify(shots []*charted) {
	l.t.Helper()
	conn, err := pgx.Connect(l.t.Context(), l.admin)
	require.NoError(l.t, err)
	defer func() { require.NoError(l.t, conn.Close(l.t.Context())) }()
	writes := 0
	for _, shot := range shots {
		writes += len(shot.ops)
		var ops []string
		var film *int
		require.NoError(l.t, conn.QueryRow(l.t.Context(), `SELECT
			(SELECT array_agg(op ORDER BY rev) FROM changes WHERE program_id = $1 AND record_id = $2),
			(SELECT film_ms FROM shots WHERE program_id = $1 AND id = $2)`, l.program, shot.id).Scan(&ops, &film))
		require.Equal(l.t, shot.ops, ops, "the history of %s", shot.id)
		if slices.Contains(ops, "remove") {
			require.Nil(l.t, film)
			continue
		}
		require.NotNil(l.t, film, "%s is gone", shot.id)
		require.Equal(l.t, shot.film, *film)
	}
	require.EqualValues(l.t, l.acknowledged.Load(), writes)
	var count, lowest, highest, last, ofShots int
	require.NoError(l.t, conn.QueryRow(l.t.Context(), `SELECT count(*), min(rev), max(rev), (SELECT last_rev FROM programs WHERE id = $1),
		count(*) FILTER (WHERE noun = 'shot') FROM changes WHERE program_id = $1`, l.program).
		Scan(&count, &lowest, &highest, &last, &ofShots))
	require.Equal(l.t, []int{1, count, count}, []int{lowest, highest, last}, "the history has a gap")
	require.Equal(l.t, writes, ofShots, "a write is there that nobody was answered for")
	l.t.Logf("%d kills, %d immediate stops of Postgres, %d frozen instances; %d replies lost, %d tries refused or unanswered; "+
		"%d acknowledged writes of %d shots, each there once; the history dense from 1 to %d",
		*crashKills, *crashStops, *crashFreezes, l.lost.Load(), l.refused.Load(), writes, len(shots), last)
}
