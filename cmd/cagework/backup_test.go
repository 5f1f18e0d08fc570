package main

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/postgres/backup"
)

// TestBackupsInADirectory makes some, one after another, as a nightly job does.
func TestBackupsInADirectory(t *testing.T) {
	t.Parallel()
	server := deployed(t)
	database := "--database-url=" + as(t, server, "cagework_backup", "cagework")
	dir := t.TempDir()
	old := backup.NameIn(dir, time.Now().AddDate(0, 0, -9))
	require.NoError(t, os.WriteFile(old, nil, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "mine.backup"), nil, 0o600))

	// Nobody knows whether this one restores, and it says so.
	out, log, err := cagework(t, "backup", dir, database, "--no-verify")
	require.NoError(t, err)
	first := strings.TrimSpace(out)
	require.Contains(t, log, "NOT VERIFIED")
	require.Contains(t, log, "NOT ENCRYPTED: whoever has this file can read the records of minors")
	require.NoFileExists(t, first+".verified")
	require.FileExists(t, old)

	_, log, err = cagework(t, "backup", dir, database, "--keep=1", "--keep-days=8", "--dry-run")
	require.NoError(t, err)
	require.Equal(t, "would remove, after a new one is verified, "+filepath.Base(old)+"\n", log)
	require.FileExists(t, old)
	require.Len(t, listed(t, dir), 2)

	out, log, err = cagework(t, "backup", dir, database, "--keep=1", "--keep-days=8", "--jobs=2")
	require.NoError(t, err)
	second := strings.TrimSpace(out)
	require.Contains(t, log, "removed "+filepath.Base(old)+"\n")
	require.NoFileExists(t, old)
	require.FileExists(t, first)
	require.FileExists(t, second+".verified")
	require.FileExists(t, filepath.Join(dir, "mine.backup"))

	// What fails removes nothing.
	_, _, err = cagework(t, "backup", dir, "--database-url="+as(t, server, "app", "cagework"), "--keep=1")
	require.ErrorContains(t, err, "this login can't see all rows")
	require.Len(t, listed(t, dir), 2)
	require.Contains(t, verified(t, first, database), "verified: restored into a scratch database")
	require.FileExists(t, first+".verified")
	require.Zero(t, number(t, server.URL("postgres"), `SELECT count(*) FROM pg_database WHERE datname LIKE 'cagework_scratch%'`))

	execute(t, server.URL("postgres"), `ALTER ROLE cagework_backup NOCREATEDB`)
	_, log, err = cagework(t, "backup", filepath.Join(dir, "one"), database)
	require.NoError(t, err)
	require.Contains(t, log, "NOT VERIFIED: nobody knows whether this file restores, for this login may not create databases")
	for _, flag := range []string{"--verify", "--keep=1"} {
		_, _, err = cagework(t, "backup", dir, database, flag)
		require.ErrorContains(t, err, "may not create databases", flag)
	}
	require.NotEmpty(t, ok(t, "backup", dir, database, "--scratch-url="+server.URL("postgres")))
}

func listed(t *testing.T, dir string) []backup.Kept {
	t.Helper()
	all, err := backup.List(dir)
	require.NoError(t, err)
	return all
}

func verified(t *testing.T, path, database string) string {
	t.Helper()
	_, log, err := cagework(t, "backup", "verify", path, database)
	require.NoError(t, err)
	return log
}

// TestAKilledBackupHasNoName kills the program while pg_dump writes. What is left is no backup by its name, and goes when a
// day is over.
func TestAKilledBackupHasNoName(t *testing.T) {
	server := deployed(t)
	// A pg_dump that never ends by itself; it goes when nobody reads it any more.
	tools := t.TempDir()
	for name, does := range map[string]string{
		"pg_dump":    "while :; do echo a part of a dump || exit 1; sleep 0.01; done",
		"pg_restore": "exit 1",
	} {
		script := "#!/bin/sh\n[ \"$1\" = --version ] && echo \"" + name + " (PostgreSQL) " + server.Version + "\" && exit\n" + does + "\n"
		require.NoError(t, os.WriteFile(filepath.Join(tools, name), []byte(script), 0o755))
	}
	t.Setenv("PATH", tools+string(os.PathListSeparator)+os.Getenv("PATH"))
	dir := t.TempDir()
	path := filepath.Join(dir, "mine.backup")
	begin := func() *process {
		p := start(t, "backup", path, "--database-url="+as(t, server, "cagework_backup", "cagework"))
		require.Eventually(t, func() bool {
			found, _ := filepath.Glob(filepath.Join(dir, ".mine.backup.*.partial"))
			if len(found) != 1 {
				return false
			}
			info, err := os.Stat(found[0])
			return err == nil && info.Size() > 3000 // the manifest and some of the dump
		}, patience, 5*time.Millisecond, "no dump begins: %s", lazily(p.log.String))
		return p
	}
	stopped := begin()
	stopped.signal(syscall.SIGTERM)
	require.Error(t, stopped.end(patience))
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, left, "a backup that is asked to stop cleans up")

	begin().kill()
	require.NoFileExists(t, path)
	left, err = os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, left, 1)
	info, err := left[0].Info()
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.NoError(t, backup.SweepPartials(dir, time.Now().Add(25*time.Hour)))
	left, err = os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, left)
}

func TestBackupSettings(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	database := "--database-url=postgres://somebody@127.0.0.1:1/nowhere"
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"backup", dir}, "set DATABASE_URL or give --database-url"},
		{[]string{"backup", database}, "<target>"},
		{[]string{"restore", dir, "--no-erasures"}, "set DATABASE_URL or give --database-url"},
		{[]string{"restore", dir, database}, "give --erasures-file, or whoever was erased since the backup comes back"},
		{[]string{"restore", dir, database, "--no-erasures", "--erasures-file=x"}, "contradict"},
		{[]string{"restore", dir, database, "--erasures-file=" + filepath.Join(dir, "x")}, "--erasures-file: "},
		{[]string{"backup", "verify", dir}, "set DATABASE_URL or give --database-url"},
		{[]string{"backup", dir, database, "--keep=-1"}, "--keep"},
		{[]string{"backup", filepath.Join(dir, "x"), database, "--keep=1"}, "work on a directory"},
		{[]string{"backup", dir, database, "--keep=1", "--no-verify"}, "leave --no-verify out"},
		{[]string{"backup", dir, database, "--dry-run"}, "give one of them"},
		{[]string{"backup", dir, database, "--recipient=age1x"}, "--recipient"},
	} {
		_, _, err := cagework(t, c.args...)
		require.ErrorContains(t, err, c.says, "%v", c.args)
	}
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, left)
}

// TestWhoWasErasedStaysErased erases a goalie after the backup, and restores it.
func TestWhoWasErasedStaysErased(t *testing.T) {
	t.Parallel()
	server := deployed(t)
	app, list := as(t, server, "app", "cagework"), filepath.Join(t.TempDir(), "erasures")
	program, _, token := newProgram(t, app)
	service := serve(t, app)
	require.NoError(t, putTeam(t.Context(), apiAt(t, service.address, token), true))
	name := aTeam().Goalies[0].Fields.Name
	status, err := patchGoalie(t.Context(), service.address, token, name+" Junior")
	require.NoError(t, err)
	require.Equal(t, 200, status)
	path := strings.TrimSpace(ok(t, "backup", filepath.Join(t.TempDir(), "b"), "--database-url="+as(t, server, "cagework_backup", "cagework")))

	erase := []string{"person", "erase", "--database-url=" + app, "--program=" + program, "--goalie=" + theGoalie(), "--erasures-file=" + list}
	_, digest, found := strings.Cut(ok(t, erase...), "--digest=")
	require.True(t, found)
	ok(t, append(erase, "--digest="+strings.TrimSpace(digest))...)

	for database, flag := range map[string]string{"erased": "--erasures-file=" + list, "risen": "--no-erasures"} {
		execute(t, server.URL("postgres"), `CREATE DATABASE `+database+` OWNER cagework_owner`)
		ok(t, "restore", path, "--database-url="+as(t, server, "cagework_owner", database), flag)
		named := number(t, server.URL(database), `SELECT (SELECT count(*) FROM goalies WHERE name LIKE $1) +
			(SELECT count(*) FROM changes WHERE before::text LIKE '%' || $1)`, name+"%")
		if database == "risen" {
			require.Equal(t, int64(2), named, "the test looks for what is there without the list")
			continue
		}
		require.Zero(t, named)
		again := serve(t, as(t, server, "app", database))
		require.Contains(t, get(t, "http://"+again.address+"/v1/goalies/"+theGoalie(), token, "application/json").want(200), "Erased goalie")
	}
	require.Zero(t, number(t, server.URL("postgres"), `SELECT count(*) FROM pg_auth_members m JOIN pg_roles r ON r.oid = m.member
		WHERE rolname = 'cagework_owner'`), "the owner is no member of the service's role for longer than that")
}
