package backup_test

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/migrations"
	"cagework/postgres/backup"
	"cagework/postgres/local"
)

// theServer is the machine's own, once for all tests: pg_dump of its version stands beside it. Whatever is made on it goes
// with this process.
var theServer = sync.OnceValues(func() (*local.Server, error) {
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	server, err := local.Start(ctx, local.Options{Throwaway: true})
	if err != nil {
		return nil, err
	}
	conn, err := pgx.Connect(ctx, server.URL("postgres"))
	if err != nil {
		return nil, err
	}
	defer conn.Close(ctx)
	for _, statement := range []string{
		`CREATE ROLE cagework_service NOLOGIN`,
		`CREATE ROLE owner LOGIN CREATEROLE CREATEDB PASSWORD 'of-no-worth'`,
		`CREATE ROLE plain LOGIN PASSWORD 'of-no-worth' IN ROLE cagework_service`,
		`CREATE ROLE sees LOGIN BYPASSRLS CREATEDB PASSWORD 'of-no-worth' IN ROLE pg_read_all_data`,
		`CREATE ROLE halfblind LOGIN BYPASSRLS PASSWORD 'of-no-worth'`,
	} {
		if _, err := conn.Exec(ctx, statement); err != nil {
			return nil, err
		}
	}
	return server, nil
})

type place struct {
	t      *testing.T
	server *local.Server
	name   string
}

// filled gives a migrated database with some rows, owned by a login that is no superuser.
func filled(t *testing.T) place {
	t.Helper()
	return made(t, theTemplate(t).name)
}

var (
	templating sync.Mutex
	template   *place
)

// theTemplate is migrated once.
func theTemplate(t *testing.T) *place {
	t.Helper()
	templating.Lock()
	defer templating.Unlock()
	if template == nil {
		p := migrated(t)
		template = &p
	}
	return template
}

func migrated(t *testing.T) place {
	t.Helper()
	p := empty(t)
	require.NoError(t, migrations.Up(t.Context(), p.as("owner")))
	// A table as ours are, with what a text may get wrong. The drill in cmd/cagework has real records.
	p.at(p.as("owner"), func(conn *pgx.Conn) {
		_, err := conn.Exec(t.Context(), `CREATE TABLE things (program_id uuid, id int, words text, at timestamptz, part float8, extra jsonb, raw bytea,
				ids uuid[], CONSTRAINT things_pk PRIMARY KEY (program_id, id));
			ALTER TABLE things ENABLE ROW LEVEL SECURITY; ALTER TABLE things FORCE ROW LEVEL SECURITY;
			CREATE POLICY things_of_program ON things USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
			GRANT SELECT, INSERT ON things TO cagework_service`)
		require.NoError(t, err)
	})
	p.execute(`INSERT INTO things SELECT gen_random_uuid(), i, CASE i WHEN 1 THEN E'\u00dcn\u00efcode, "quoted", \\back\nslash' WHEN 2 THEN '\N'
		WHEN 3 THEN '' WHEN 4 THEN NULL ELSE 'name ' || i END, now() - i * interval '1.000001 s', i / 7.0, jsonb_build_object('name', 'G' || i),
		decode(md5(i::text), 'hex'), ARRAY[gen_random_uuid(), NULL] FROM generate_series(1, 600) i`)
	return p
}

// empty gives an empty database.
func empty(t *testing.T) place {
	t.Helper()
	return made(t, "template0")
}

func made(t *testing.T, template string) place {
	t.Helper()
	server, err := theServer()
	require.NoError(t, err)
	p := place{t, server, "it's \"" + strings.ToLower(t.Name()) + "\" " + fmt.Sprint(time.Now().UnixNano())}
	p.on("postgres", `CREATE DATABASE `+pgx.Identifier{p.name}.Sanitize()+` OWNER owner TEMPLATE `+pgx.Identifier{template}.Sanitize())
	return p
}

// as gives the database's address under a login, "postgres" for the superuser.
func (p place) as(login string) string {
	u, err := url.Parse(p.server.URL("x"))
	require.NoError(p.t, err)
	u.Path = "/" + p.name
	if login != "postgres" {
		u.User = url.UserPassword(login, "of-no-worth")
	}
	return u.String()
}

func (p place) execute(statement string, args ...any) {
	p.t.Helper()
	p.at(p.as("postgres"), func(conn *pgx.Conn) {
		_, err := conn.Exec(p.t.Context(), statement, args...)
		require.NoError(p.t, err, statement)
	})
}

func (p place) on(database, statement string) {
	p.t.Helper()
	p.at(p.server.URL(database), func(conn *pgx.Conn) {
		_, err := conn.Exec(p.t.Context(), statement)
		require.NoError(p.t, err, statement)
	})
}

// number reads a number as the superuser.
func (p place) number(query string, args ...any) (n int) {
	p.t.Helper()
	p.at(p.as("postgres"), func(conn *pgx.Conn) {
		require.NoError(p.t, conn.QueryRow(p.t.Context(), query, args...).Scan(&n), query)
	})
	return n
}

func (p place) at(address string, do func(*pgx.Conn)) {
	p.t.Helper()
	conn, err := pgx.Connect(p.t.Context(), address)
	require.NoError(p.t, err)
	defer func() { require.NoError(p.t, conn.Close(context.WithoutCancel(p.t.Context()))) }()
	do(conn)
}

// made backs the database up.
func (p place) made(keys backup.Keys) *backup.Made {
	p.t.Helper()
	b, err := backup.Make(p.t.Context(), backup.Options{
		DatabaseURL: p.as("sees"), Path: filepath.Join(p.t.TempDir(), "b.backup"), Keys: keys, Program: "test"})
	require.NoError(p.t, err)
	return b
}

// write makes a file and gives its path.
func write(t *testing.T, content string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(path, []byte(content), 0o600))
	return path
}

func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}
