//go:build linux

package local_test

import (
	"context"
	"errors"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"cagework/postgres/local"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// reachableDir is a temporary directory that the server's account can enter, which t.TempDir isn't for root. It's in memory
// where it can be, as servers are made by the dozen here.
func reachableDir(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("/dev/shm", "cagework-local-test-")
	if err != nil {
		dir, err = os.MkdirTemp("", "cagework-local-test-")
	}
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(dir)) })
	require.NoError(t, os.Chmod(dir, 0o755))
	return dir
}

// startIn starts a persistent server that the test's end stops.
func startIn(t *testing.T, options local.Options) *local.Server {
	t.Helper()
	server, err := local.Start(t.Context(), options)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, server.Stop(context.Background())) })
	return server
}

// ask runs a query that gives one text.
func ask(t *testing.T, address, query string) string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	require.NoError(t, err)
	defer conn.Close(context.Background())
	var answer string
	require.NoError(t, conn.QueryRow(t.Context(), query).Scan(&answer))
	return answer
}

// execute runs a statement.
func execute(t *testing.T, address, statement string) {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	require.NoError(t, err)
	defer conn.Close(context.Background())
	_, err = conn.Exec(t.Context(), statement)
	require.NoError(t, err)
}

// withPassword changes the password in an address.
func withPassword(t *testing.T, address, password string) string {
	t.Helper()
	u, err := url.Parse(address)
	require.NoError(t, err)
	u.User = url.UserPassword(u.User.Username(), password)
	return u.String()
}

// requireGone waits for a server's processes, its guard and, if asked, its directory to be no more.
func requireGone(t *testing.T, pid int, dir string, andDir bool) {
	t.Helper()
	require.Eventually(t, func() bool {
		running, _ := local.Running(pid, dir)
		_, err := os.Lstat(dir)
		return !running && (!andDir || errors.Is(err, os.ErrNotExist)) && len(processesOf(t, dir)) == 0
	}, 15*time.Second, 50*time.Millisecond, "server %d in %s", pid, dir)
}

// processesOf lists the processes that have a directory among their arguments or as their home.
func processesOf(t *testing.T, dir string) []string {
	t.Helper()
	var found []string
	homes, err := filepath.Glob("/proc/[0-9]*")
	require.NoError(t, err)
	for _, home := range homes {
		arguments, _ := os.ReadFile(home + "/cmdline")
		cwd, _ := os.Readlink(home + "/cwd")
		if strings.Contains(string(arguments), dir) || strings.HasPrefix(cwd, dir) {
			found = append(found, home+" "+strings.ReplaceAll(string(arguments), "\x00", " "))
		}
	}
	return found
}
