package postgres_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/migrations"
	"cagework/postgres"
	"cagework/postgres/pgtest"
)

func TestReady(t *testing.T) {
	t.Parallel()
	version, err := migrations.Latest()
	require.NoError(t, err)
	empty := pgtest.Empty(t)
	require.Contains(t, open(t, empty.URL, 1).Ready(t.Context(), version).Problem, "was never migrated")

	w := newWorld(t)
	require.Equal(t, postgres.Readiness{}, w.pool.Ready(t.Context(), version))
	older := w.pool.Ready(t.Context(), version+1)
	require.Contains(t, older.Problem, "cagework migrate")
	require.Empty(t, older.Warning)
	require.Contains(t, w.pool.Ready(t.Context(), version-1).Problem, "this program needs")

	asSuperuser := open(t, w.db.AdminURL, 1).Ready(t.Context(), version)
	require.Empty(t, asSuperuser.Problem, "it works all the same")
	require.Contains(t, asSuperuser.Warning, "row security")

	w.exec(t, `UPDATE schema_migrations SET dirty = true`)
	require.Contains(t, w.pool.Ready(t.Context(), version).Problem, "failed half-way")
	w.exec(t, `UPDATE schema_migrations SET dirty = false`)
	require.Equal(t, postgres.Readiness{}, w.pool.Ready(t.Context(), version))
	w.exec(t, `DELETE FROM schema_migrations`)
	require.NotEmpty(t, w.pool.Ready(t.Context(), version).Problem)
}

func TestReadyAnswersInTime(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	p := newProxy(t, w.db.URL)
	db := open(t, p.URL, 2)
	p.arm(func(message) fate { return swallow })
	began := time.Now()
	require.Contains(t, db.Ready(t.Context(), 1).Problem, "does not answer")
	require.Less(t, time.Since(began), 3*time.Second)
	p.arm(nil)
	p.hangUp()
	require.Contains(t, open(t, "postgres://nobody@127.0.0.1:1/none?sslmode=disable", 1).Ready(t.Context(), 1).Problem, "does not answer")
}
