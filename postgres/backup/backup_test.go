package backup_test

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/postgres/backup"
)

func TestWhatIsRestoredIsWhatWasThere(t *testing.T) {
	t.Parallel()
	from := filled(t)
	from.execute(`CREATE SCHEMA more; CREATE TABLE more."odd ""table" ("the row" json); INSERT INTO more."odd ""table" VALUES ('{"a": 1}')`)
	b := from.made(backup.Keys{})
	require.Equal(t, []string{"cagework_service"}, b.Manifest.Roles)
	require.Equal(t, int64(600+1+1), b.Manifest.Rows())
	info, err := os.Stat(b.Path)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.Equal(t, info.Size(), b.Bytes)

	for _, jobs := range []int{1, 2} {
		to := empty(t)
		restored, err := backup.Restore(t.Context(), backup.RestoreOptions{DatabaseURL: to.as("owner"), Path: b.Path, Jobs: jobs})
		require.NoError(t, err)
		require.Empty(t, restored.Roles)
		require.NoError(t, backup.Differences(t.Context(), to.as("owner"), &b.Manifest))
		require.NoError(t, backup.Differences(t.Context(), to.as("postgres"), &b.Manifest))
		require.Equal(t, 1, to.number(`SELECT count(*) FROM pg_policy p JOIN pg_class c ON c.oid = polrelid WHERE relname = 'goalies'
			AND relrowsecurity AND relforcerowsecurity AND has_table_privilege('cagework_service', c.oid, 'INSERT')`))
		require.Zero(t, to.number(`SELECT count(*) FROM pg_constraint WHERE NOT convalidated`))
	}
}

// TestAPlantedDifferenceIsCaught changes one thing at a time.
func TestAPlantedDifferenceIsCaught(t *testing.T) {
	t.Parallel()
	from := filled(t)
	b := from.made(backup.Keys{})
	for _, c := range []struct{ statement, says string }{
		{`UPDATE things SET at = at + interval '1 microsecond' WHERE id = 7`, "public.things has 600 rows, as it should, but what is in them differs"},
		{`UPDATE things SET words = NULL WHERE id = 3`, "public.things has 600 rows, as it should, but"},
		{`UPDATE things SET part = part + 1e-15 WHERE id = 3`, "public.things has 600 rows, as it should, but"},
		{`UPDATE things a SET words = b.words FROM things b WHERE (a.id, b.id) IN ((7, 8), (8, 7))`, "public.things has 600 rows, as it should, but"},
		{`DELETE FROM things WHERE id = 7`, "public.things has 599 rows, not 600"},
		{`DROP TABLE readings CASCADE`, "public.readings is missing"},
		{`CREATE TABLE extra ()`, "public.extra was not in the backup"},
		{`ALTER TABLE goalies NO FORCE ROW LEVEL SECURITY`, "row security of public.goalies is forced: false, not true"},
	} {
		err := backup.Differences(t.Context(), from.as("postgres"), &b.Manifest, c.statement)
		require.ErrorIs(t, err, backup.ErrDiffers, c.statement)
		require.ErrorContains(t, err, c.says)
	}
	require.NoError(t, backup.Differences(t.Context(), from.as("postgres"), &b.Manifest))
}

// TestALoginThatCannotSeeAllIsRefusedAtOnce: pg_dump would fail, or write tables without rows.
func TestALoginThatCannotSeeAllIsRefusedAtOnce(t *testing.T) {
	t.Parallel()
	from := filled(t)
	for login, says := range map[string]string{
		"owner":     "CREATE ROLE cagework_backup LOGIN BYPASSRLS CREATEDB",
		"plain":     "CREATE ROLE cagework_backup LOGIN BYPASSRLS CREATEDB",
		"halfblind": `GRANT pg_read_all_data TO "halfblind"`,
	} {
		dir := t.TempDir()
		_, err := backup.Make(t.Context(), backup.Options{DatabaseURL: from.as(login), Path: filepath.Join(dir, "b")})
		require.ErrorIs(t, err, backup.ErrCannotSee, login)
		require.ErrorContains(t, err, says)
		require.Empty(t, names(t, dir))
	}
}

func TestNothingIsWrittenOver(t *testing.T) {
	t.Parallel()
	from := filled(t)
	b := from.made(backup.Keys{})
	_, err := backup.Make(t.Context(), backup.Options{DatabaseURL: from.as("sees"), Path: b.Path})
	require.ErrorContains(t, err, "is there already")
	_, err = backup.Restore(t.Context(), backup.RestoreOptions{DatabaseURL: from.as("owner"), Path: b.Path})
	require.ErrorIs(t, err, backup.ErrNotEmpty)
	_, err = backup.Restore(t.Context(), backup.RestoreOptions{DatabaseURL: from.as("owner"), Path: b.Path, Create: true})
	require.ErrorContains(t, err, "already exists")
	require.NoError(t, backup.Differences(t.Context(), from.as("postgres"), &b.Manifest))
}

// TestNobodyGetsInBeforeTheEnd looks at a database while it is being restored.
func TestNobodyGetsInBeforeTheEnd(t *testing.T) {
	t.Parallel()
	b := filled(t).made(backup.Keys{})
	to := empty(t)
	looked := false
	o := backup.RestoreOptions{DatabaseURL: to.as("owner"), Path: b.Path, Before: func(ctx context.Context, m *backup.Manifest) error {
		looked = true
		_, err := pgx.Connect(ctx, to.as("plain"))
		require.ErrorContains(t, err, "permission denied for database")
		require.Equal(t, 1, to.number(`SELECT count(*) FROM pg_namespace WHERE nspname = $1`, backup.Marker))
		require.NoError(t, backup.Differences(ctx, to.as("owner"), m))
		return nil
	}}
	_, err := backup.Restore(t.Context(), o)
	require.NoError(t, err)
	require.True(t, looked)
	to.at(to.as("plain"), func(*pgx.Conn) {})
	require.Zero(t, to.number(`SELECT count(*) FROM pg_namespace WHERE nspname = $1`, backup.Marker))

	// What fails before the end leaves the database shut, and says so; nobody restores over it.
	o.DatabaseURL = empty(t).as("owner")
	o.Before = func(context.Context, *backup.Manifest) error { return os.ErrDeadlineExceeded }
	_, err = backup.Restore(t.Context(), o)
	require.ErrorIs(t, err, os.ErrDeadlineExceeded)
	require.ErrorContains(t, err, "unfinished and stays closed")
	_, err = backup.Restore(t.Context(), o)
	require.ErrorIs(t, err, backup.ErrNotEmpty)
	require.ErrorContains(t, err, "a restore that was not finished")
}

func TestADatabaseInUseIsNotRestoredInto(t *testing.T) {
	t.Parallel()
	b := filled(t).made(backup.Keys{})
	to := empty(t)
	to.at(to.as("plain"), func(*pgx.Conn) {
		_, err := backup.Restore(t.Context(), backup.RestoreOptions{DatabaseURL: to.as("owner"), Path: b.Path})
		require.ErrorContains(t, err, "others are connected")
	})
	to.at(to.as("plain"), func(*pgx.Conn) {}) // it is open again, and empty
	_, err := backup.Restore(t.Context(), backup.RestoreOptions{DatabaseURL: to.as("plain"), Path: b.Path})
	require.ErrorContains(t, err, "does not own the database")
	_, err = backup.Restore(t.Context(), backup.RestoreOptions{DatabaseURL: to.as("owner"), Path: b.Path})
	require.NoError(t, err)
}

// TestAStoppedBackupLeavesNothing stops one while it waits for a table that somebody else has locked.
func TestAStoppedBackupLeavesNothing(t *testing.T) {
	t.Parallel()
	from := filled(t)
	dir := t.TempDir()
	from.at(from.as("postgres"), func(conn *pgx.Conn) {
		tx, err := conn.Begin(t.Context())
		require.NoError(t, err)
		_, err = tx.Exec(t.Context(), `LOCK TABLE goalies`)
		require.NoError(t, err)
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		cancelled := make(chan error, 1)
		go func() {
			_, err := backup.Make(ctx, backup.Options{DatabaseURL: from.as("sees"), Path: filepath.Join(dir, "b.backup"), Program: "test"})
			cancelled <- err
		}()
		require.Eventually(t, func() bool { return len(names(t, dir)) == 1 }, time.Minute, 5*time.Millisecond, "its draft is there")
		cancel()
		require.ErrorIs(t, <-cancelled, context.Canceled)
		require.NoError(t, tx.Rollback(t.Context()))
	})
	require.Empty(t, names(t, dir))
}

func TestARestoreChecksVersionsFirst(t *testing.T) {
	t.Parallel()
	b := filled(t).made(backup.Keys{})
	to := empty(t)
	for says, change := range map[string]func(*backup.Manifest){
		"restore on the same or a newer major version": func(m *backup.Manifest) { m.ServerMajor = 99 },
		"postgresql-client-99":                         func(m *backup.Manifest) { m.ToolMajor = 99 },
		"its format is 2":                              func(m *backup.Manifest) { m.Format = 2 },
	} {
		other := filepath.Join(t.TempDir(), "b")
		require.NoError(t, backup.Rewrite(b.Path, other, change))
		_, err := backup.Restore(t.Context(), backup.RestoreOptions{DatabaseURL: to.as("owner"), Path: other})
		require.ErrorContains(t, err, says)
		require.Zero(t, to.number(`SELECT count(*) FROM pg_class WHERE relnamespace = 'public'::regnamespace`))
	}
}
