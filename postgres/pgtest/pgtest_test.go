package pgtest_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"cagework/migrations"
	"cagework/postgres/pgtest"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"
)

func connect(t testing.TB, address string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(context.Background(), address)
	require.NoError(t, err)
	t.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}

func ask[T any](t testing.TB, address, query string, arguments ...any) T {
	t.Helper()
	var answer T
	require.NoError(t, connect(t, address).QueryRow(context.Background(), query, arguments...).Scan(&answer))
	return answer
}

// TestNothingRunsInTheBackground keeps pgtest usable in tests that watch for goroutines.
func TestNothingRunsInTheBackground(t *testing.T) {
	before := goleak.IgnoreCurrent()
	t.Run("inner", func(t *testing.T) { connect(t, pgtest.New(t).URL) })
	goleak.VerifyNone(t, before)
}

func TestNewIsMigrated(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	latest, err := migrations.Latest()
	require.NoError(t, err)
	version, dirty, err := migrations.Version(t.Context(), db.AdminURL)
	require.NoError(t, err)
	require.Equal(t, latest, version)
	require.False(t, dirty)
	require.Equal(t, db.Name, ask[string](t, db.URL, "SELECT current_database()::text"))
	require.Equal(t, "UTF8", ask[string](t, db.URL, "SHOW server_encoding"))
}

func TestEmptyIsEmpty(t *testing.T) {
	t.Parallel()
	db := pgtest.Empty(t)
	version, _, err := migrations.Version(t.Context(), db.AdminURL)
	require.NoError(t, err)
	require.Zero(t, version)
	require.Zero(t, ask[int](t, db.AdminURL, "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"))
	require.NoError(t, migrations.Up(t.Context(), db.AdminURL))
	require.NotZero(t, ask[int](t, db.AdminURL, "SELECT count(*) FROM pg_tables WHERE schemaname = 'public'"))
	connect(t, db.URL)
}

func TestTheLoginHasNoPowers(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	require.Equal(t, pgtest.LoginRole, ask[string](t, db.URL, "SELECT current_user::text"))
	require.False(t, ask[bool](t, db.URL, "SELECT rolsuper OR rolbypassrls OR rolcreatedb OR rolcreaterole FROM pg_roles WHERE rolname = current_user"))
	require.True(t, ask[bool](t, db.URL, "SELECT pg_has_role(current_user, $1, 'MEMBER')", pgtest.ServiceRole))
	require.False(t, ask[bool](t, db.URL, "SELECT rolsuper OR rolbypassrls OR rolcanlogin FROM pg_roles WHERE rolname = $1", pgtest.ServiceRole))
	require.True(t, ask[bool](t, db.AdminURL, "SELECT rolsuper FROM pg_roles WHERE rolname = current_user"))

	conn := connect(t, db.URL)
	_, err := conn.Exec(t.Context(), "SET ROLE "+pgtest.ServiceRole)
	require.NoError(t, err)
	_, err = conn.Exec(t.Context(), "CREATE TABLE mine ()")
	require.ErrorContains(t, err, "permission denied")
}

func TestDatabasesAreApartAndDropped(t *testing.T) {
	t.Parallel()
	outside := pgtest.Empty(t)
	exists := func(name string) bool {
		return ask[bool](t, outside.AdminURL, "SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)", name)
	}
	var names []string
	t.Run("inner", func(t *testing.T) {
		one, two := pgtest.New(t), pgtest.New(t)
		names = []string{one.Name, two.Name}
		// Open sessions don't keep a database from being dropped.
		for _, db := range []*pgtest.Database{one, two} {
			conn, err := pgx.Connect(context.Background(), db.AdminURL)
			require.NoError(t, err)
			_, err = conn.Exec(t.Context(), "CREATE TABLE only_here ()")
			require.NoError(t, err)
			require.True(t, exists(db.Name))
		}
	})
	require.Len(t, names, 2)
	require.NotEqual(t, names[0], names[1])
	require.False(t, exists(names[0]))
	require.False(t, exists(names[1]))
}

// failed is a test that has failed already.
type failed struct {
	testing.TB
	cleanups []func()
	log      []string
}

func (f *failed) Failed() bool      { return true }
func (f *failed) Cleanup(do func()) { f.cleanups = append(f.cleanups, do) }
func (f *failed) Logf(format string, args ...any) {
	f.log = append(f.log, fmt.Sprintf(format, args...))
}

func TestAFailedTestKeepsItsDatabase(t *testing.T) {
	t.Parallel()
	f := &failed{TB: t}
	db := pgtest.New(f)
	for _, do := range f.cleanups {
		do()
	}
	require.Contains(t, strings.Join(f.log, "\n"), db.AdminURL)
	require.Equal(t, db.Name, ask[string](t, db.AdminURL, "SELECT current_database()::text"))

	outside := pgtest.Empty(t)
	_, err := connect(t, outside.AdminURL).Exec(t.Context(), "DROP DATABASE "+db.Name+" WITH (FORCE)")
	require.NoError(t, err)
}
