package migrations_test

import (
	"testing"

	"cagework/migrations"
	"cagework/postgres/pgtest"

	"github.com/stretchr/testify/require"
)

func TestFailureOnTheWayUp(t *testing.T) {
	t.Parallel()
	db := pgtest.Empty(t)
	files := three()
	err := migrations.UpFiles(t.Context(), files, db.AdminURL)
	require.ErrorContains(t, err, `relation "missing" does not exist`)
	require.ErrorContains(t, err, "line 2")
	require.ErrorContains(t, err, "+1 from version 1")
	require.Equal(t, []string{"first"}, tables(t, db.AdminURL), "nothing of the failed file is kept")
	requireVersion(t, db.AdminURL, 2, true)

	var dirty *migrations.DirtyError
	err = migrations.UpFiles(t.Context(), files, db.AdminURL)
	require.ErrorAs(t, err, &dirty)
	require.Equal(t, migrations.DirtyError{Version: 2, Before: 1, After: 3}, *dirty)
	require.ErrorContains(t, err, "marked dirty at version 2")
	require.ErrorContains(t, err, "on the way up to 2, the schema still is what version 1 made: `cagework migrate force 1`")
	require.ErrorContains(t, err, "on the way down to 2, it still is what version 3 made: `cagework migrate force 3`")
	require.ErrorAs(t, migrations.DownFiles(t.Context(), files, db.AdminURL, 0), &dirty)

	run(t, db.AdminURL, "CREATE TABLE missing ()")
	require.ErrorContains(t, migrations.ForceFiles(t.Context(), files, db.AdminURL, 7), "no version 7")
	require.NoError(t, migrations.ForceFiles(t.Context(), files, db.AdminURL, 1))
	require.NoError(t, migrations.UpFiles(t.Context(), files, db.AdminURL))
	require.Equal(t, []string{"first", "second", "third"}, tables(t, db.AdminURL))
	requireVersion(t, db.AdminURL, 3, false)
}

func TestFailureOnTheWayDown(t *testing.T) {
	t.Parallel()
	db := pgtest.Empty(t)
	files := three()
	run(t, db.AdminURL, "CREATE TABLE missing ()")
	require.NoError(t, migrations.UpFiles(t.Context(), files, db.AdminURL))
	run(t, db.AdminURL, "DROP TABLE missing")

	require.ErrorContains(t, migrations.DownFiles(t.Context(), files, db.AdminURL, 0), "-1 from version 2")
	require.Equal(t, []string{"first", "second"}, tables(t, db.AdminURL))
	var dirty *migrations.DirtyError
	require.ErrorAs(t, migrations.DownFiles(t.Context(), files, db.AdminURL, 0), &dirty)
	require.Equal(t, migrations.DirtyError{Version: 1, Before: -1, After: 2}, *dirty)

	run(t, db.AdminURL, "CREATE TABLE missing ()")
	require.NoError(t, migrations.ForceFiles(t.Context(), files, db.AdminURL, 2))
	require.NoError(t, migrations.DownFiles(t.Context(), files, db.AdminURL, 0))
	require.Empty(t, tables(t, db.AdminURL))
}

func TestFailureOfTheLastStepDown(t *testing.T) {
	t.Parallel()
	db := pgtest.Empty(t)
	files := three()
	for _, name := range []string{"000002_second.up.sql", "000002_second.down.sql", "000003_third.up.sql", "000003_third.down.sql"} {
		delete(files, name)
	}
	require.NoError(t, migrations.UpFiles(t.Context(), files, db.AdminURL))
	files["000001_first.down.sql"].Data = []byte("DROP TABLE nowhere;")
	require.Error(t, migrations.DownFiles(t.Context(), files, db.AdminURL, 0))
	requireVersion(t, db.AdminURL, 0, true)
	err := migrations.UpFiles(t.Context(), files, db.AdminURL)
	require.ErrorContains(t, err, "`cagework migrate force 1`")
	require.NotContains(t, err.Error(), "on the way up")
	require.ErrorContains(t, migrations.DownFiles(t.Context(), files, db.AdminURL, 0), "marked dirty")
}
