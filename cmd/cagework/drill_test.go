package main

import (
	"context"
	"encoding/json"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/postgres/local"
)

// privateServer is a server of this test's own. Backups need pg_dump of the server's version or newer, which stands beside
// the machine's own server programs, and a server on which no role was made yet.
func privateServer(t *testing.T) *local.Server {
	t.Helper()
	server, err := local.Start(t.Context(), local.Options{Throwaway: true})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, server.Stop(context.Background())) })
	return server
}

// as gives a server's database under another login.
func as(t *testing.T, server *local.Server, login, database string) string {
	t.Helper()
	u, err := url.Parse(server.URL(database))
	require.NoError(t, err)
	u.User = url.UserPassword(login, "of-no-worth")
	return u.String()
}

// deployed sets a server up as README.md says: a database with its owner, migrated, a plain login for the service, and one
// that may back up.
func deployed(t *testing.T) *local.Server {
	t.Helper()
	server := privateServer(t)
	deploy(t, server)
	return server
}

func deploy(t *testing.T, server *local.Server) {
	t.Helper()
	execute(t, server.URL("postgres"), `CREATE ROLE cagework_owner LOGIN CREATEROLE PASSWORD 'of-no-worth'`)
	execute(t, server.URL("postgres"), `CREATE DATABASE cagework OWNER cagework_owner`)
	ok(t, "migrate", "--database-url="+as(t, server, "cagework_owner", "cagework"))
	execute(t, server.URL("postgres"), `CREATE ROLE app LOGIN PASSWORD 'of-no-worth' IN ROLE cagework_service`)
	execute(t, server.URL("postgres"),
		`CREATE ROLE cagework_backup LOGIN BYPASSRLS CREATEDB PASSWORD 'of-no-worth' IN ROLE pg_read_all_data`)
}

// TestTheDrill is what a backup is for: it is taken while recorders chart, brought back on a fresh server that has never
// heard of the service's role, served there, compared, and the phones send again what they hold.
func TestTheDrill(t *testing.T) {
	t.Parallel()
	old := deployed(t)
	program, _, token := newProgram(t, as(t, old, "app", "cagework"))
	before := serve(t, as(t, old, "app", "cagework"))
	api := apiAt(t, before.address, token)
	require.NoError(t, putTeam(t.Context(), api, true))

	dir, key := t.TempDir(), filepath.Join(t.TempDir(), "key")
	recipient := strings.TrimSpace(ok(t, "backup", "key", key))
	s := &stream{t: t}
	// The backup begins when some shots are charted; the last ones are charted when it is over.
	begun, over, written := make(chan struct{}), make(chan struct{}), make(chan error, 1)
	var once sync.Once
	go func() {
		written <- s.send(api, func() {
			switch done := s.answered.Load(); {
			case done >= writers*50:
				<-over
			case done >= writers*10:
				once.Do(func() { close(begun) })
			}
		})
	}()
	<-begun
	acknowledged := s.answered.Load()
	path, said, err := cagework(t, "backup", dir, "--database-url="+as(t, old, "cagework_backup", "cagework"),
		"--recipient="+recipient, "--keep=1")
	during := s.answered.Load() - acknowledged
	close(over)
	require.NoError(t, err, said)
	path = strings.TrimSpace(path)
	require.NoError(t, <-written)
	require.Positive(t, during, "nothing was written while the backup was made")
	require.Contains(t, said, "verified: restored into a scratch database")
	require.NotContains(t, said, "NOT")
	requireMode(t, path, 0o600)
	require.NotContains(t, string(readFile(t, path)), "schema_migrations", "the file is not encrypted")

	fresh := privateServer(t)
	execute(t, fresh.URL("postgres"), `CREATE ROLE another_owner LOGIN CREATEROLE CREATEDB PASSWORD 'of-no-worth'`)
	require.Zero(t, number(t, fresh.URL("postgres"), `SELECT count(*) FROM pg_roles WHERE rolname = 'cagework_service'`))
	restored := ok(t, "restore", path, "--create", "--identity="+key, "--no-erasures", "--database-url="+as(t, fresh, "another_owner", "records"))
	require.Contains(t, restored, "compared with the backup")
	execute(t, fresh.URL("postgres"), `CREATE ROLE app LOGIN PASSWORD 'of-no-worth' IN ROLE cagework_service`)
	after := serve(t, as(t, fresh, "app", "records"))
	get(t, "http://"+after.address+"/readyz", "", "*/*").want(http.StatusOK)

	rev := number(t, fresh.URL("records"), `SELECT last_rev FROM programs`)
	requireSameUpTo(t, rev, before.address, after.address, token)
	require.Equal(t, rev, number(t, old.URL("cagework"), `SELECT count(*) FROM changes WHERE rev <= $1`, rev))
	require.Equal(t, number(t, old.URL("cagework"), `SELECT sum(hashtext(c::text)) FROM changes c WHERE rev <= $1`, rev),
		number(t, fresh.URL("records"), `SELECT sum(hashtext(c::text)) FROM changes c`), "the history up to then")

	// What was acknowledged before the backup is there; what came later is on the phones, which send everything again.
	there := shotsAt(t, "http://"+after.address, token)
	require.GreaterOrEqual(t, len(there), int(acknowledged))
	require.Less(t, len(there), writers*shotsAWriter)
	require.Equal(t, len(there), shotsInLine(t, after.address, token))
	t.Logf("%d shots acknowledged before the backup, %d while it was made and verified, %d restored", acknowledged, during, len(there))
	again := &stream{t: t}
	require.NoError(t, again.send(apiAt(t, after.address, token), func() {}))
	require.Len(t, shotsAt(t, "http://"+after.address, token), writers*shotsAWriter)
	require.Equal(t, int64(writers*shotsAWriter), number(t, fresh.URL("records"),
		`SELECT count(*) FROM changes WHERE program_id = $1 AND noun = 'shot' AND op = 'create'`, program))
	require.Equal(t, writers*shotsAWriter, shotsInLine(t, after.address, token))
	lines := "/v1/goalies/" + theGoalie() + "/lines"
	require.JSONEq(t, get(t, "http://"+before.address+lines, token, "application/json").want(http.StatusOK),
		get(t, "http://"+after.address+lines, token, "application/json").want(http.StatusOK))
}

// shotsInLine is how many shots the goalie's official line stands on.
func shotsInLine(t *testing.T, address, token string) int {
	t.Helper()
	var lines struct {
		Lines []struct {
			Shots int `json:"shots"`
		} `json:"lines"`
	}
	text := get(t, "http://"+address+"/v1/goalies/"+theGoalie()+"/lines", token, "application/json").want(http.StatusOK)
	require.NoError(t, json.Unmarshal([]byte(text), &lines))
	require.Len(t, lines.Lines, 1, text)
	return lines.Lines[0].Shots
}

// requireSameUpTo compares over the API what two services hold, every record as it stood at a rev of the program.
func requireSameUpTo(t *testing.T, rev int64, full, restored, token string) {
	t.Helper()
	for _, list := range []string{"shots", "games", "stints", "goalies", "teams", "targets", "drills", "rules", "competitions",
		"habits", "members"} {
		want := map[string]json.RawMessage{}
		for id, item := range itemsAt(t, "http://"+full+"/v1/"+list, token) {
			if item.rev <= rev {
				want[id] = item.text
			}
		}
		got := map[string]json.RawMessage{}
		for id, item := range itemsAt(t, "http://"+restored+"/v1/"+list, token) {
			got[id] = item.text
		}
		require.NotEmpty(t, got, list)
		require.Equal(t, want, got, list)
	}
}

type item struct {
	rev  int64
	text json.RawMessage
}

// itemsAt reads a whole list, page by page.
func itemsAt(t *testing.T, list, token string) map[string]item {
	t.Helper()
	all := map[string]item{}
	for cursor := ""; ; {
		address := list + "?limit=100"
		if cursor != "" {
			address += "&cursor=" + url.QueryEscape(cursor)
		}
		var page struct {
			Items      []json.RawMessage `json:"items"`
			NextCursor string            `json:"next_cursor"`
		}
		require.NoError(t, json.Unmarshal([]byte(get(t, address, token, "application/json").want(http.StatusOK)), &page))
		for _, text := range page.Items {
			var head struct {
				ID  string `json:"id"`
				Rev int64  `json:"rev"`
			}
			require.NoError(t, json.Unmarshal(text, &head))
			all[head.ID] = item{head.Rev, text}
		}
		if cursor = page.NextCursor; cursor == "" {
			return all
		}
	}
}

func number(t *testing.T, databaseURL, query string, args ...any) int64 {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), databaseURL)
	require.NoError(t, err)
	defer func() { require.NoError(t, conn.Close(t.Context())) }()
	var n int64
	require.NoError(t, conn.QueryRow(t.Context(), query, args...).Scan(&n))
	return n
}

func readFile(t *testing.T, path string) []byte {
	t.Helper()
	content, err := os.ReadFile(path)
	require.NoError(t, err)
	return content
}

func requireMode(t *testing.T, path string, mode os.FileMode) {
	t.Helper()
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, mode, info.Mode().Perm())
}
