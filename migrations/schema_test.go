package migrations_test

import (
	"flag"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"testing"

	"cagework/migrations"
	"cagework/postgres/pgtest"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the golden files anew")

// golden is the schema that all migrations together make, to read and to see in a diff what a migration does to it.
const golden = "../testdata/schema/schema.txt"

func TestTheSchemaIsTheOneThatWasReviewed(t *testing.T) {
	t.Parallel()
	got := dump(t, pgtest.New(t).AdminURL)
	if *update {
		require.NoError(t, os.WriteFile(golden, []byte(got), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	require.Equal(t, string(want), got, "if this is meant, run go test ./migrations -update and look at the diff")
}

// TestEveryStepDownTakesItsStepUpBack goes up one file at a time, and from each version down and up again.
func TestEveryStepDownTakesItsStepUpBack(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	latest, err := migrations.Latest()
	require.NoError(t, err)
	full := dump(t, db.AdminURL)
	schemas := make([]string, latest+1) // by version, on the way down
	for version := latest; version > 0; version-- {
		schemas[version] = dump(t, db.AdminURL)
		require.NoError(t, migrations.Down(t.Context(), db.AdminURL, 1))
		requireVersion(t, db.AdminURL, version-1, false)
	}
	empty := dump(t, db.AdminURL)
	for line := range strings.Lines(empty) {
		require.True(t, strings.HasPrefix(line, "table schema_migrations") || strings.Contains(line, "  column ") ||
			strings.Contains(line, " schema_migrations_pkey "), "%s is left behind", line)
	}
	require.Equal(t, 1, strings.Count(empty, "table "))

	require.NoError(t, migrations.Up(t.Context(), db.AdminURL))
	require.Equal(t, full, dump(t, db.AdminURL))
	for version := latest; version > 0; version-- {
		require.NoError(t, migrations.Down(t.Context(), db.AdminURL, 1))
		requireVersion(t, db.AdminURL, version-1, false)
		if version > 1 {
			require.Equal(t, schemas[version-1], dump(t, db.AdminURL), "the step down from %d", version)
		}
	}
	require.Equal(t, empty, dump(t, db.AdminURL))
}

func TestEachVersionHasOneFileEachWay(t *testing.T) {
	t.Parallel()
	latest, err := migrations.Latest()
	require.NoError(t, err)
	for version := range latest {
		up, err := fs.Glob(migrations.FS, fmt.Sprintf("%06d_*.up.sql", version+1))
		require.NoError(t, err)
		require.Len(t, up, 1, "version %d", version+1)
		down, err := fs.Glob(migrations.FS, fmt.Sprintf("%06d_*.down.sql", version+1))
		require.NoError(t, err)
		require.Equal(t, []string{strings.Replace(up[0], ".up.", ".down.", 1)}, down)
	}
}
