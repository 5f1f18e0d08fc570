//go:build linux

package local_test

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"cagework/postgres/local"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

func TestOrphanIsAdopted(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachableDir(t), "server")
	orphan := startChild(t, "persistent", dir)
	execute(t, orphan.url, "CREATE TABLE seen AS SELECT 'before' AS word")
	orphan.kill(t)

	server := startIn(t, local.Options{Dir: dir})
	require.True(t, server.Adopted)
	require.Equal(t, orphan.pid, server.PID)
	require.Equal(t, orphan.url, server.URL("postgres"))
	require.Equal(t, "before", ask(t, server.URL("postgres"), "SELECT word FROM seen"))
	require.NoError(t, server.Stop(t.Context()))
	requireGone(t, orphan.pid, dir, false)
}

func TestKilledServerRecovers(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachableDir(t), "server")
	dead := startChild(t, "persistent", dir)
	execute(t, dead.url, "CREATE TABLE seen AS SELECT 'before' AS word")
	// Both at once, and with a session open, which takes a moment to notice.
	busy, err := pgx.Connect(t.Context(), dead.url)
	require.NoError(t, err)
	defer busy.Close(context.Background())
	require.NoError(t, syscall.Kill(dead.pid, syscall.SIGKILL))
	dead.kill(t)

	server := startIn(t, local.Options{Dir: dir})
	require.False(t, server.Adopted)
	require.NotEqual(t, dead.pid, server.PID)
	require.Equal(t, "before", ask(t, server.URL("postgres"), "SELECT word FROM seen"))
}

func TestAnotherProcessWithTheDeadServersNumber(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachableDir(t), "server")
	dead := startChild(t, "persistent", dir)
	require.NoError(t, syscall.Kill(dead.pid, syscall.SIGKILL))
	dead.kill(t)
	require.Eventually(t, func() bool { return len(processesOf(t, dir)) == 0 }, 10*time.Second, 10*time.Millisecond)

	// The number now is that of a living process of the same user, whom Postgres would take for the server.
	path := filepath.Join(dir, "data", "postmaster.pid")
	content, err := os.ReadFile(path)
	require.NoError(t, err)
	stranger := startStranger(t)
	_, rest, _ := strings.Cut(string(content), "\n")
	require.NoError(t, os.WriteFile(path, []byte(strconv.Itoa(stranger)+"\n"+rest), 0o600))

	server := startIn(t, local.Options{Dir: dir})
	require.False(t, server.Adopted)
	require.NoError(t, syscall.Kill(stranger, 0), "the stranger is left alone")
}
