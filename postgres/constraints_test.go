package postgres_test

import (
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/postgres"
)

// TestEveryConstraintHasItsRefusal holds the table of refusals against the catalog, both ways.
func TestEveryConstraintHasItsRefusal(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	names := all(t, w, pgx.RowTo[string], `SELECT conname::text FROM pg_constraint c
		JOIN pg_class r ON r.oid = c.conrelid
		WHERE r.relnamespace = 'public'::regnamespace AND c.contype IN ('p', 'u', 'f', 'c', 'x')
		AND r.relname <> 'schema_migrations'
		UNION SELECT i.relname::text FROM pg_index x JOIN pg_class i ON i.oid = x.indexrelid JOIN pg_class r ON r.oid = x.indrelid
		WHERE x.indisunique AND r.relnamespace = 'public'::regnamespace AND r.relname <> 'schema_migrations'`)
	require.Greater(t, len(names), 50)
	for _, name := range names {
		require.Regexp(t, `_(pk|uq|fk|ck)$`, name, "name it like the others, so that a lost race for a key is known by its name")
	}
	require.ElementsMatch(t, names, postgres.ConstraintNames())
}
