package migrations_test

import (
	"context"
	"strings"
	"testing"

	"cagework/migrations"
	"cagework/postgres/local"
	"cagework/postgres/pgtest"

	"github.com/stretchr/testify/require"
)

func whatOf(faults []migrations.Fault) string {
	var all []string
	for _, f := range faults {
		all = append(all, f.What)
	}
	return strings.Join(all, "\n")
}

// TestAWholeDatabaseLacksNothing, at any version.
func TestAWholeDatabaseLacksNothing(t *testing.T) {
	t.Parallel()
	db := pgtest.Empty(t)
	faults, err := migrations.Inspect(t.Context(), db.URL)
	require.NoError(t, err)
	require.Empty(t, faults, "nothing was migrated")
	require.NoError(t, migrations.Up(t.Context(), db.AdminURL))
	for range 3 {
		faults, err = migrations.Inspect(t.Context(), db.AdminURL)
		require.NoError(t, err)
		require.Empty(t, faults)
		require.NoError(t, migrations.Down(t.Context(), db.AdminURL, 1))
	}
}

// TestEachThingThatIsMissingIsFoundAndMended takes away one thing after the other.
func TestEachThingThatIsMissingIsFoundAndMended(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	whole := dump(t, db.AdminURL)
	for _, c := range []struct{ breaks, what string }{
		{`REVOKE INSERT, DELETE ON shots FROM cagework_service`, "lacks INSERT, DELETE on table shots"},
		{`REVOKE ALL ON changes FROM cagework_service`, "lacks SELECT, INSERT on table changes"},
		{`REVOKE USAGE ON SCHEMA public FROM PUBLIC, cagework_service`, "lacks USAGE on schema public"},
		{`REVOKE ALL ON FUNCTION erase_from_changes(uuid, text, uuid, boolean) FROM cagework_service`, "lacks EXECUTE on function erase_from_changes"},
		{`GRANT EXECUTE ON FUNCTION erase_from_changes(uuid, text, uuid, boolean) TO PUBLIC`, "everybody may run the function erase_from_changes"},
		{`ALTER TABLE goalies NO FORCE ROW LEVEL SECURITY`, "row security is not forced on the table goalies"},
		{`ALTER TABLE goalies DISABLE ROW LEVEL SECURITY`, "row security is not forced on the table goalies"},
		{`DROP POLICY goalies_of_program ON goalies`, "the table goalies lacks its policy goalies_of_program"},
	} {
		run(t, db.AdminURL, c.breaks)
		faults, err := migrations.Inspect(t.Context(), db.AdminURL)
		require.NoError(t, err)
		require.Len(t, faults, 1, "%s: %s", c.breaks, whatOf(faults))
		require.Contains(t, faults[0].What, c.what)
		mended, err := migrations.Mend(t.Context(), db.AdminURL)
		require.NoError(t, err)
		require.Equal(t, faults, mended)
		faults, err = migrations.Inspect(t.Context(), db.AdminURL)
		require.NoError(t, err)
		require.Empty(t, faults, c.breaks)
	}
	run(t, db.AdminURL, `GRANT USAGE ON SCHEMA public TO PUBLIC`)
	require.Equal(t, whole, dump(t, db.AdminURL), "all is as it was")

	run(t, db.AdminURL, `REVOKE INSERT ON shots FROM cagework_service`)
	_, err := migrations.Mend(t.Context(), db.URL)
	require.ErrorContains(t, err, "run: GRANT INSERT ON TABLE shots TO cagework_service", "a login that may not do it says who can")
	run(t, db.AdminURL, `DROP TABLE practice_logs`)
	faults, err := migrations.Inspect(t.Context(), db.AdminURL)
	require.NoError(t, err)
	require.Contains(t, whatOf(faults), "the table practice_logs is missing")
}

// TestADatabaseWithoutTheRole has a server of its own, for a role belongs to all of a server: what a database is after it was
// restored on one that never had the role.
func TestADatabaseWithoutTheRole(t *testing.T) {
	t.Parallel()
	server, err := local.Start(t.Context(), local.Options{Throwaway: true, Programs: local.OfMachineOrCopied})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, server.Stop(context.Background())) })
	url := server.URL("postgres")
	require.NoError(t, migrations.Up(t.Context(), url))
	whole := dump(t, url)
	run(t, url, `DROP OWNED BY cagework_service; DROP ROLE cagework_service`)

	faults, err := migrations.Inspect(t.Context(), url)
	require.NoError(t, err)
	require.Equal(t, "the role cagework_service is missing on this server", faults[0].What)
	require.Contains(t, whatOf(faults), "lacks SELECT, INSERT, UPDATE, DELETE on table shots")
	require.Contains(t, whatOf(faults), "no login is a member of the role cagework_service")

	_, err = migrations.Mend(t.Context(), url)
	require.NoError(t, err)
	require.Equal(t, whole, dump(t, url))
	faults, err = migrations.Inspect(t.Context(), url)
	require.NoError(t, err)
	require.Equal(t, "no login is a member of the role cagework_service", whatOf(faults), "that is for whoever runs the server")
	require.Contains(t, faults[0].Mend, "IN ROLE cagework_service")

	run(t, url, `ALTER ROLE cagework_service BYPASSRLS; CREATE ROLE cagework_login LOGIN IN ROLE cagework_service`)
	faults, err = migrations.Inspect(t.Context(), url)
	require.NoError(t, err)
	require.Equal(t, "the role cagework_service bypasses row security", whatOf(faults))
	_, err = migrations.Mend(t.Context(), url)
	require.NoError(t, err)
	faults, err = migrations.Inspect(t.Context(), url)
	require.NoError(t, err)
	require.Empty(t, faults)
}
