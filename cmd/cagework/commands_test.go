package main

import (
	"fmt"
	"net/http"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/migrations"
	"cagework/postgres/pgtest"
)

func TestVersion(t *testing.T) {
	require.Equal(t, versionText()+"\n", ok(t, "version"))
	stamped := version
	t.Cleanup(func() { version = stamped })
	version = "v1.2.3"
	require.Equal(t, "v1.2.3\n", ok(t, "version"))
}

func TestHelpOfEveryCommand(t *testing.T) {
	t.Parallel()
	for command, says := range map[string]string{
		"":                "demo",
		"serve":           "$DATABASE_URL",
		"migrate":         "migrate force",
		"migrate up":      "$DATABASE_URL",
		"migrate down":    "0 for all",
		"migrate version": "$DATABASE_URL",
		"migrate force":   "runs nothing",
		"demo":            "leaving nothing behind",
		"backup":          "verify",
		"backup make":     "$CAGEWORK_BACKUP_RECIPIENT",
		"backup verify":   "$CAGEWORK_BACKUP_IDENTITY",
		"backup key":      "secret key",
		"restore":         "must be empty",
		"doctor":          "$CAGEWORK_BACKUPS",
		"program":         "create",
		"program create":  "America/New_York",
		"token create":    "--days=365",
		"health":          "$CAGEWORK_ADDRESS",
		"program remove":  "--confirm",
		"person export":   "--out",
		"person erase":    "--digest",
		"erasures replay": "--erasures-file",
		"retention":       "$CAGEWORK_RETENTION_MONTHS",
		"version":         "Print the version",
	} {
		p := start(t, append(strings.Fields(command), "--help")...)
		require.NoError(t, p.end(patience))
		require.Contains(t, strings.Join(strings.Fields(p.out.String()), " "), says, command)
		require.Empty(t, p.log.String(), command)
	}
}

func TestMigrateUpAndDown(t *testing.T) {
	t.Parallel()
	database := "--database-url=" + pgtest.Empty(t).AdminURL
	latest, err := migrations.Latest()
	require.NoError(t, err)
	at := func(version uint) string {
		needs := fmt.Sprint(latest)
		if migrations.Lowest < latest {
			needs = fmt.Sprintf("%d to %d", migrations.Lowest, latest)
		}
		return fmt.Sprintf("the database is at schema version %d; this program needs %s\n", version, needs)
	}
	require.Equal(t, at(0), ok(t, "migrate", "version", database))
	require.Equal(t, at(latest), ok(t, "migrate", database))
	require.Equal(t, at(latest), ok(t, "migrate", "up", database))
	require.Equal(t, at(latest), ok(t, "migrate", "version", database))
	require.Equal(t, at(latest-1), ok(t, "migrate", "down", "1", database))
	require.Equal(t, at(0), ok(t, "migrate", "down", "0", database))
	require.Equal(t, at(latest), ok(t, "migrate", database))
}

// The advice after a failed migration names these commands, so they must exist.
func TestMigrateForce(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	database := "--database-url=" + d.AdminURL
	execute(t, d.AdminURL, "UPDATE schema_migrations SET dirty = true")
	require.Contains(t, ok(t, "migrate", "version", database), "failed half-way")

	_, _, err := cagework(t, "migrate", database)
	require.ErrorContains(t, err, "cagework migrate force")
	latest, err := migrations.Latest()
	require.NoError(t, err)
	require.NotContains(t, ok(t, "migrate", "force", fmt.Sprint(latest), database), "half-way")
	require.Contains(t, ok(t, "migrate", "force", "-1", database), "at schema version 0;")

	_, _, err = cagework(t, "migrate", "force", database)
	require.ErrorContains(t, err, "give the version, or -1")
	_, _, err = cagework(t, "migrate", "force", "99", database)
	require.ErrorContains(t, err, "no version 99")
}

var made = regexp.MustCompile(`^program  (\S+)\ndirector (\S+)\ntoken    (cw_\S+)\n$`)

// newProgram makes a program by the command line and gives its id, its director's and the token.
func newProgram(t *testing.T, databaseURL string, more ...string) (program, director, token string) {
	t.Helper()
	out := ok(t, append([]string{"program", "create", "--database-url=" + databaseURL, "--name=Harbor Hill Lacrosse",
		"--time-zone=America/New_York", "--director=Avery Quill"}, more...)...)
	groups := made.FindStringSubmatch(out)
	require.NotNil(t, groups, out)
	return groups[1], groups[2], groups[3]
}

func TestProgramAndTokenCreate(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	id := domain.NameID(demoProgramID, "a program of its own").String()
	program, director, first := newProgram(t, d.URL, "--id="+id, "--units=metric")
	require.Equal(t, id, program)

	_, _, err := cagework(t, "program", "create", "--database-url="+d.URL, "--id="+id, "--name=Fox Hollow",
		"--time-zone=America/New_York", "--director=Avery Quill")
	require.Equal(t, domain.Conflict, domain.CodeOf(err))

	second := strings.TrimSpace(ok(t, "token", "create", "--database-url="+d.URL, "--program="+program,
		"--member="+director, "--label=another", "--days=2"))
	require.NotEqual(t, first, second)
	address := serve(t, d.URL).address
	for _, token := range []string{first, second} {
		body := get(t, "http://"+address+"/v1/me", token, "application/json").want(200)
		require.Contains(t, body, director)
		require.Contains(t, get(t, "http://"+address+"/v1/program", token, "application/json").want(200), `"metric"`)
	}
}

func TestBadCommandLinesNameTheFlag(t *testing.T) {
	t.Parallel()
	id := "--program=" + demoProgramID.String()
	database := "--database-url=postgres://somebody@127.0.0.1:1/nowhere"
	for _, c := range []struct{ args, says string }{
		{"", "expected one of"},
		{"paint", "paint"},
		{"serve --colour=red", "--colour"},
		{"serve", "set DATABASE_URL or give --database-url"},
		{"migrate", "set DATABASE_URL or give --database-url"},
		{"program create --name=a --time-zone=UTC --director=b", "set DATABASE_URL or give --database-url"},
		{"token create --member=a " + id, "set DATABASE_URL or give --database-url"},
		{"program create " + database, "--director"},
		{"program create --name=a --time-zone=UTC --director=b --id=7 " + database, "--id"},
		{"program create --name=a --time-zone=UTC --director=b --units=feet " + database, "--units"},
		{"token create --member=7 " + id + " " + database, "--member"},
		{"token create --program=7 --member=7 " + database, "--program"},
		{"token create --days=soon --member=7 " + id + " " + database, "--days"},
		{"migrate down " + database, "<steps>"},
		{"migrate down " + database + " -- -1", "<steps>"},
		{"demo --port=1", "--port"},
		{"person erase " + id + " " + database, "--goalie"},
		{"person export --goalie=7 --out=x " + id + " " + database, "--goalie"},
		{"person erase --goalie=7 --member=7 " + id + " " + database, "can't be used together"},
		{"program remove " + database, "--program"},
		{"retention --months=-1 " + id + " " + database, "--months"},
	} {
		out, _, err := cagework(t, strings.Fields(c.args)...)
		require.ErrorContains(t, err, c.says, c.args)
		require.NotContains(t, err.Error(), "\n", c.args)
		require.Empty(t, out, c.args)
	}
}

func TestAFailureEndsWithStatusOne(t *testing.T) {
	t.Parallel()
	p := start(t, "serve")
	var failed *exec.ExitError
	require.ErrorAs(t, p.end(patience), &failed)
	require.Equal(t, 1, failed.ExitCode())
	require.Equal(t, "cagework: serve: the database is missing: set DATABASE_URL or give --database-url\n", p.log.String())
}

// execute runs a statement as the superuser.
func execute(t *testing.T, adminURL, statement string, args ...any) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), adminURL)
	require.NoError(t, err)
	defer func() { require.NoError(t, conn.Close(t.Context())) }()
	_, err = conn.Exec(t.Context(), statement, args...)
	require.NoError(t, err)
}

// TestMigrateMendsWhatARestoreLeavesOut has the right version and not all the rights, as after a restore on a server without
// the service's role.
func TestMigrateMendsWhatARestoreLeavesOut(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	database := "--database-url=" + d.AdminURL
	execute(t, d.AdminURL, "REVOKE ALL ON goalies, shots FROM cagework_service")
	said := ok(t, "migrate", "version", database)
	require.Contains(t, said, "the role cagework_service lacks SELECT, INSERT, UPDATE, DELETE on table goalies: migrate mends it")
	service := serve(t, d.URL)
	require.Contains(t, get(t, "http://"+service.address+"/readyz", "", "*/*").want(http.StatusServiceUnavailable), "run cagework migrate")

	said = ok(t, "migrate", database)
	require.Contains(t, said, "the role cagework_service lacks SELECT, INSERT, UPDATE, DELETE on table goalies: mended")
	require.Contains(t, said, "table shots: mended")
	require.NotContains(t, ok(t, "migrate", "version", database), "lacks")
	get(t, "http://"+service.address+"/readyz", "", "*/*").want(http.StatusOK)
}
