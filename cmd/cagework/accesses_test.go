package main

import (
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
	"cagework/postgres/pgtest"
)

// readGoalie reads a goalie's record over and over, and gives the id.
func readGoalie(t *testing.T, address, token string, times int) string {
	t.Helper()
	id := aTeam().Goalies[0].ID.String()
	for range times {
		req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "http://"+address+"/v1/goalies/"+id, nil)
		require.NoError(t, err)
		req.Header.Set("Authorization", "Bearer "+token)
		res, err := http.DefaultClient.Do(req)
		require.NoError(t, err)
		require.NoError(t, res.Body.Close())
		require.Equal(t, http.StatusOK, res.StatusCode)
	}
	return id
}

// TestKilledAfterAnAnswer: the database takes no entry while a service answers and is killed. The next one writes what was
// answered, once; the lines are in the journal some hundredths of a second after the answer.
func TestKilledAfterAnAnswer(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	_, _, token := newProgram(t, d.URL)
	dir := t.TempDir()
	conn, err := pgx.Connect(t.Context(), d.AdminURL)
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close(t.Context()) })
	serving := func() servingProcess {
		p := start(t, append(serveArgs(d.URL), "--journal-dir", dir)...)
		r := running{log: &p.log}
		r.awaitListening(t)
		return servingProcess{p, r.address}
	}
	first := serving()
	require.NoError(t, putTeam(t.Context(), apiAt(t, first.address, token), true))
	held, err := conn.Begin(t.Context())
	require.NoError(t, err)
	_, err = held.Exec(t.Context(), `LOCK TABLE accesses IN ACCESS EXCLUSIVE MODE`)
	require.NoError(t, err)
	id := readGoalie(t, first.address, token, 10)
	answered := time.Now()
	require.Eventually(t, func() bool { return journalled(t, dir, `"action":"read"`, id) == 10 }, 20*time.Second, 2*time.Millisecond)
	t.Logf("the last line was on the disk %d ms after its answer was read", time.Since(answered).Milliseconds())
	first.kill()
	require.NoError(t, held.Rollback(t.Context()))

	second := serving()
	count := func() (n int) {
		require.NoError(t, conn.QueryRow(t.Context(), `SELECT count(*) FROM accesses WHERE record_id = $1 AND action = 'read'`, id).Scan(&n))
		return n
	}
	require.Eventually(t, func() bool { return count() == 10 }, 30*time.Second, 20*time.Millisecond)
	readGoalie(t, second.address, token, 1)
	require.Eventually(t, func() bool { return count() == 11 }, 30*time.Second, 20*time.Millisecond)
	require.Eventually(t, func() bool { return journalled(t, dir, "", "") == 0 }, 30*time.Second, 20*time.Millisecond)
}

// journalled counts the lines of a journal that hold two texts.
func journalled(t *testing.T, dir, one, other string) int {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.jsonl"))
	require.NoError(t, err)
	n := 0
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			continue // written and gone
		}
		for line := range strings.Lines(string(text)) {
			if strings.Contains(line, one) && strings.Contains(line, other) {
				n++
			}
		}
	}
	return n
}

// TestWhoLookedOnTheCommandLine: a token that is made there is noted, old entries are counted and removed, young ones not.
func TestWhoLookedOnTheCommandLine(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	program, director, _ := newProgram(t, d.URL)
	conn, err := pgx.Connect(t.Context(), d.AdminURL)
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close(t.Context()) })
	count := func(where string) (n int) {
		require.NoError(t, conn.QueryRow(t.Context(), `SELECT count(*) FROM accesses WHERE program_id = $1 AND `+where, program).Scan(&n))
		return n
	}
	require.Equal(t, 1, count(`action = 'create' AND noun = 'token' AND member_id IS NULL AND record_id IN (SELECT id FROM tokens)`))
	person := []string{"--database-url", d.URL, "--program", program, "--member", director}
	ok(t, append([]string{"person", "export", "--out", filepath.Join(t.TempDir(), "out.zip")}, person...)...)
	require.Equal(t, 1, count(`member_id IS NULL AND record_noun = 'member' AND record_id = '`+director+`' AND action = 'export'`))
	db, err := postgres.Open(t.Context(), postgres.Config{URL: d.URL, MaxConns: 2})
	require.NoError(t, err)
	t.Cleanup(db.Close)
	goalie := aTeam().Goalies[0]
	a := domain.Actor{ProgramID: domain.MustParseID(program), Role: domain.Director}
	_, _, err = postgres.NewStores(db, judgement.Judge{}).Goalies.Put(t.Context(), a, goalie.ID, goalie.Fields)
	require.NoError(t, err)
	ok(t, "person", "erase", "--database-url", d.URL, "--program", program, "--goalie", goalie.ID.String()) // a dry run: it tells what is held
	require.Equal(t, 1, count(`member_id IS NULL AND record_noun = 'goalie' AND record_id = '`+goalie.ID.String()+`' AND action = 'erase'`))
	_, err = conn.Exec(t.Context(), `INSERT INTO accesses (program_id, id, at, action, noun)
		SELECT $1, gen_random_uuid(), now() - make_interval(days => 380 + n, hours => 12), 'read', 'week' FROM generate_series(1, 6000) n`, program)
	require.NoError(t, err)
	prune := func(args ...string) string {
		var out strings.Builder
		require.NoError(t, run(t.Context(), append([]string{"accesses", "prune", "--database-url", d.URL, "--program", program}, args...), &out, io.Discard))
		return out.String()
	}
	require.Contains(t, prune("--dry-run"), "5981 entries from before")
	require.Contains(t, prune("--dry-run"), "would be removed")
	require.Equal(t, 6003, count("true"))
	require.Contains(t, prune(), "5981 entries from before")
	require.Equal(t, 22, count("true"))
	require.Contains(t, prune("--days", "90"), "19 entries")
	require.Equal(t, 3, count("true"))
	for _, args := range [][]string{
		{"accesses", "prune", "--database-url", d.URL, "--program", program, "--days", "89"},
		{"serve", "--database-url", d.URL, "--access-days", "89"},
		{"serve", "--database-url", d.URL, "--journal-bytes", "1"},
		{"accesses", "prune", "--database-url", d.URL, "--program", "nonsense"},
	} {
		require.Error(t, run(t.Context(), args, io.Discard, io.Discard), "%v", args)
	}
	require.Equal(t, 90, domain.LeastAccessDays, "as the texts of the commands say")
}
