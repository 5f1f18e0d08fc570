package migrations_test

import (
	"context"
	"io/fs"
	"regexp"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"cagework/migrations"
	"cagework/postgres/pgtest"

	"github.com/golang-migrate/migrate/v4/database"
	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// three are migrations of which the second one fails as long as a table isn't there.
func three() fstest.MapFS {
	file := func(content string) *fstest.MapFile { return &fstest.MapFile{Data: []byte(content)} }
	return fstest.MapFS{
		"000001_first.up.sql":    file("CREATE TABLE first ();"),
		"000001_first.down.sql":  file("DROP TABLE first;"),
		"000002_second.up.sql":   file("CREATE TABLE second ();\nINSERT INTO missing DEFAULT VALUES;"),
		"000002_second.down.sql": file("DROP TABLE second;\nINSERT INTO missing DEFAULT VALUES;"),
		"000003_third.up.sql":    file("CREATE TABLE third ();"),
		"000003_third.down.sql":  file("DROP TABLE third;"),
	}
}

func run(t *testing.T, address, statement string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	require.NoError(t, err)
	defer conn.Close(context.Background())
	_, err = conn.Exec(t.Context(), statement)
	require.NoError(t, err)
}

func tables(t *testing.T, address string) []string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	require.NoError(t, err)
	defer conn.Close(context.Background())
	rows, err := conn.Query(t.Context(), `
		SELECT tablename::text
		FROM pg_tables
		WHERE schemaname = 'public' AND tablename NOT IN ('schema_migrations', 'missing')
		ORDER BY 1`)
	require.NoError(t, err)
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(t, err)
	return names
}

func requireVersion(t *testing.T, address string, version uint, dirty bool) {
	t.Helper()
	got, gotDirty, err := migrations.Version(t.Context(), address)
	require.NoError(t, err)
	require.Equal(t, version, got)
	require.Equal(t, dirty, gotDirty)
}

func TestUpDownUp(t *testing.T) {
	t.Parallel()
	db := pgtest.Empty(t)
	latest, err := migrations.Latest()
	require.NoError(t, err)
	requireVersion(t, db.AdminURL, 0, false)

	require.NoError(t, migrations.Up(t.Context(), db.AdminURL))
	requireVersion(t, db.AdminURL, latest, false)
	made := tables(t, db.AdminURL)
	require.NotEmpty(t, made)
	require.NoError(t, migrations.Up(t.Context(), db.AdminURL), "nothing to do")

	require.NoError(t, migrations.Down(t.Context(), db.AdminURL, 1))
	requireVersion(t, db.AdminURL, latest-1, false)
	require.NoError(t, migrations.Down(t.Context(), db.AdminURL, 0))
	requireVersion(t, db.AdminURL, 0, false)
	require.Empty(t, tables(t, db.AdminURL))
	require.NoError(t, migrations.Down(t.Context(), db.AdminURL, 3), "nothing to do")

	require.NoError(t, migrations.Up(t.Context(), db.AdminURL))
	require.Equal(t, made, tables(t, db.AdminURL))
}

func TestFilesAreContiguousAndInPairs(t *testing.T) {
	t.Parallel()
	latest, err := migrations.Latest()
	require.NoError(t, err)
	names, err := fs.Glob(migrations.FS, "*.sql")
	require.NoError(t, err)
	require.Len(t, names, 2*int(latest), "each version has one file up and one down")
	transaction := regexp.MustCompile(`(?im)^\s*(BEGIN|COMMIT|ROLLBACK)\s*(TRANSACTION|WORK)?\s*;`)
	for _, name := range names {
		require.Regexp(t, `^\d{6}_[a-z0-9_]+\.(up|down)\.sql$`, name)
		content, err := fs.ReadFile(migrations.FS, name)
		require.NoError(t, err)
		require.NotRegexp(t, transaction, string(content), "%s: a file is one transaction anyway", name)
	}
}

func TestNewerDatabaseIsRefused(t *testing.T) {
	t.Parallel()
	db := pgtest.Empty(t)
	files := three()
	run(t, db.AdminURL, "CREATE TABLE missing ()")
	require.NoError(t, migrations.UpFiles(t.Context(), files, db.AdminURL))
	delete(files, "000003_third.up.sql")
	require.ErrorContains(t, migrations.UpFiles(t.Context(), files, db.AdminURL), "use the newer program")
}

func TestStopsBetweenFiles(t *testing.T) {
	t.Parallel()
	db := pgtest.Empty(t)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	require.ErrorIs(t, migrations.Up(ctx, db.AdminURL), context.Canceled)
	requireVersion(t, db.AdminURL, 0, false)
}

func TestSeveralProgramsAtOnce(t *testing.T) {
	t.Parallel()
	db := pgtest.Empty(t)
	var group sync.WaitGroup
	errs := make([]error, 4)
	for i := range errs {
		group.Go(func() { errs[i] = migrations.Up(t.Context(), db.AdminURL) })
	}
	group.Wait()
	for _, err := range errs {
		require.NoError(t, err)
	}
	latest, err := migrations.Latest()
	require.NoError(t, err)
	requireVersion(t, db.AdminURL, latest, false)
}

func TestAStuckProgramIsNamed(t *testing.T) {
	t.Parallel()
	db := pgtest.Empty(t)
	require.NoError(t, migrations.Up(t.Context(), db.AdminURL))
	conn, err := pgx.Connect(t.Context(), db.AdminURL)
	require.NoError(t, err)
	defer conn.Close(context.Background())
	// Hold the library's lock as another program would.
	number, err := database.GenerateAdvisoryLockId(db.Name, "public", "schema_migrations")
	require.NoError(t, err)
	_, err = conn.Exec(t.Context(), "SELECT pg_advisory_lock($1::text::bigint)", number)
	require.NoError(t, err)
	err = migrations.Up(t.Context(), db.AdminURL+"&lock_timeout=200ms")
	require.ErrorContains(t, err, "another program is migrating")

	_, err = conn.Exec(t.Context(), "SELECT pg_advisory_unlock_all(), pg_advisory_lock($1)", migrations.LockKey)
	require.NoError(t, err)
	ctx, cancel := context.WithTimeout(t.Context(), time.Second)
	defer cancel()
	require.ErrorContains(t, migrations.Up(ctx, db.AdminURL), "another program is migrating")
	require.NoError(t, conn.Close(t.Context()))
	require.NoError(t, migrations.Up(t.Context(), db.AdminURL))
}

func TestHashChangesWithNamesAndContents(t *testing.T) {
	t.Parallel()
	require.Len(t, migrations.Hash(), 64)
	base := migrations.HashFiles(three())
	require.Equal(t, base, migrations.HashFiles(three()))

	changed := three()
	changed["000001_first.up.sql"].Data = append(changed["000001_first.up.sql"].Data, ' ')
	require.NotEqual(t, base, migrations.HashFiles(changed))
	renamed := three()
	renamed["000001_other.up.sql"] = renamed["000001_first.up.sql"]
	delete(renamed, "000001_first.up.sql")
	require.NotEqual(t, base, migrations.HashFiles(renamed))
}

func TestVersionOfNoDatabase(t *testing.T) {
	t.Parallel()
	_, _, err := migrations.Version(t.Context(), "postgres://nobody@127.0.0.1:1/none")
	require.Error(t, err)
	require.Error(t, migrations.Up(t.Context(), "postgres://nobody@127.0.0.1:1/none"))
}
