package postgres_test

import (
	"context"
	"slices"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/postgres/pgtest"
)

// TestTheCatalogKeepsTheRules reads the schema that the migrations make.
func TestTheCatalogKeepsTheRules(t *testing.T) {
	t.Parallel()
	conn := dial(t, pgtest.New(t).AdminURL)
	tried(t, conn, "", func(tx pgx.Tx) {
		for _, rule := range slices.Concat(catalogRules, catalogHabits) {
			found, err := rule.violations(t.Context(), tx)
			require.NoError(t, err, rule.name)
			assert.Empty(t, found, rule.name)
		}
	})
	tried(t, conn, thing, func(tx pgx.Tx) {
		for _, rule := range slices.Concat(catalogRules, catalogHabits) {
			found, err := rule.violations(t.Context(), tx)
			require.NoError(t, err, rule.name)
			assert.Empty(t, found, "%s: the table that offences start from keeps the rules", rule.name)
		}
	})
}

// TestEveryRuleOfTheCatalogCatches plants each offence and asks that its rule sees it.
func TestEveryRuleOfTheCatalogCatches(t *testing.T) {
	t.Parallel()
	conn := dial(t, pgtest.New(t).AdminURL)
	for _, rule := range slices.Concat(catalogRules, catalogHabits) {
		require.NotEmpty(t, rule.offences, rule.name)
		for _, offence := range rule.offences {
			tried(t, conn, offence, func(tx pgx.Tx) {
				found, err := rule.violations(t.Context(), tx)
				require.NoError(t, err, rule.name)
				assert.NotEmpty(t, found, "%s: not caught: %s", rule.name, offence)
			})
		}
	}
}

// tried runs statements, looks, and takes them back. Roles belong to the whole server: nobody else sees their change.
func tried(t *testing.T, conn *pgx.Conn, statements string, look func(pgx.Tx)) {
	t.Helper()
	tx, err := conn.Begin(t.Context())
	require.NoError(t, err)
	defer func() { require.NoError(t, tx.Rollback(context.WithoutCancel(t.Context()))) }()
	_, err = tx.Exec(t.Context(), statements)
	require.NoError(t, err, statements)
	look(tx)
}
