package main

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

// TestARestoreErasesAgain takes a backup, erases, and brings the backup back with the list: on a server that has never heard of
// the service's role, under a login that owns the database and is no superuser.
func TestARestoreErasesAgain(t *testing.T) {
	t.Parallel()
	old := deployed(t)
	app := as(t, old, "app", "cagework")
	program, _, _ := newProgram(t, app)
	programID, err := domain.ParseID(program)
	require.NoError(t, err)
	a := domain.Actor{ProgramID: programID, Role: domain.Director}
	goalie := domain.NameID(programID, "a goalie who leaves")
	fields := domain.GoalieFields{Name: "Wren Abbot", StickHand: "left", Availability: domain.Full, AllowedDrillIDs: []domain.ID{}}
	stores := func(url string) *postgres.Stores {
		db, err := postgres.Open(t.Context(), postgres.Config{URL: url, MaxConns: 2})
		require.NoError(t, err)
		t.Cleanup(db.Close)
		return postgres.NewStores(db, judgement.Judge{})
	}
	_, _, err = stores(app).Goalies.Put(t.Context(), a, goalie, fields)
	require.NoError(t, err)
	path := strings.TrimSpace(ok(t, "backup", t.TempDir(), "--no-verify", "--database-url="+as(t, old, "cagework_backup", "cagework")))

	list := filepath.Join(t.TempDir(), "erasures")
	args := []string{"person", "erase", "--database-url=" + app, "--erasures-file=" + list, "--program=" + program, "--goalie=" + goalie.String()}
	_, digest, found := strings.Cut(ok(t, args...), "--digest=")
	require.True(t, found)
	ok(t, append(args, "--digest="+strings.TrimSpace(digest))...)

	fresh := privateServer(t)
	execute(t, fresh.URL("postgres"), `CREATE ROLE another_owner LOGIN CREATEROLE CREATEDB PASSWORD 'of-no-worth'`)
	_, said, err := cagework(t, "restore", path, "--create", "--erasures-file="+list, "--database-url="+as(t, fresh, "another_owner", "records"))
	require.NoError(t, err, said)
	require.Contains(t, said, "erased again: 1 persons and 0 programs")
	execute(t, fresh.URL("postgres"), `CREATE ROLE app LOGIN PASSWORD 'of-no-worth' IN ROLE cagework_service`)
	restored := stores(as(t, fresh, "app", "records"))
	got, err := restored.Goalies.Get(t.Context(), a, goalie)
	require.NoError(t, err)
	require.Equal(t, fields.Nameless(), got.Fields)
	_, _, err = restored.Goalies.Put(t.Context(), a, goalie, fields)
	require.Equal(t, domain.Erased, domain.CodeOf(err))
	require.Zero(t, number(t, fresh.URL("records"), `SELECT count(*) FROM changes WHERE before::text LIKE '%Wren%'`))

	_, said, err = cagework(t, "restore", path, "--create", "--no-erasures", "--database-url="+as(t, fresh, "another_owner", "without"))
	require.NoError(t, err, said)
	require.Contains(t, said, "whoever was erased since the backup is back")
	require.Equal(t, int64(1), number(t, fresh.URL("without"), `SELECT count(*) FROM goalies WHERE name = 'Wren Abbot'`))
}
