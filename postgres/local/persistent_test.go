//go:build linux

package local_test

import (
	"context"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"cagework/postgres/local"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

func TestPersistentServerKeepsItsData(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachableDir(t), "deep", "server")
	var log strings.Builder

	first, err := local.Start(t.Context(), local.Options{Dir: dir, Log: &log})
	require.NoError(t, err)
	require.False(t, first.Adopted)
	require.Contains(t, log.String(), "making a database directory")
	execute(t, first.URL("postgres"), "CREATE DATABASE kept")
	require.Equal(t, "on", ask(t, first.URL("kept"), "SHOW fsync"))
	require.Equal(t, "on", ask(t, first.URL("kept"), "SHOW full_page_writes"))
	require.Equal(t, "on", ask(t, first.URL("kept"), "SHOW synchronous_commit"))
	require.Equal(t, "on", ask(t, first.URL("kept"), "SHOW data_checksums"))
	require.Equal(t, "UTF8", ask(t, first.URL("kept"), "SHOW server_encoding"))
	require.Equal(t, "É", ask(t, first.URL("kept"), "SELECT upper('é')"))
	require.NoError(t, first.Stop(t.Context()))
	requireGone(t, first.PID, dir, false)
	require.NoError(t, first.Stop(t.Context()), "a second stop does nothing")

	again := startIn(t, local.Options{Dir: dir})
	require.False(t, again.Adopted)
	require.Equal(t, "kept", ask(t, again.URL("kept"), "SELECT current_database()::text"))
	written, err := os.ReadFile(again.LogFile())
	require.NoError(t, err)
	require.NotContains(t, string(written), "not properly shut down")
}

func TestServerAsksForThePassword(t *testing.T) {
	t.Parallel()
	server := startIn(t, local.Options{Dir: filepath.Join(reachableDir(t), "server")})
	for _, password := range []string{"", "postgres"} {
		_, err := pgx.Connect(t.Context(), withPassword(t, server.URL("postgres"), password))
		require.ErrorContains(t, err, "authentication failed")
	}
	info, err := os.Stat(filepath.Join(server.Dir, local.PasswordFile))
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.Equal(t, "127.0.0.1", ask(t, server.URL("postgres"), "SHOW listen_addresses"))
	require.Empty(t, ask(t, server.URL("postgres"), "SHOW unix_socket_directories"))
}

func TestProcessesAreUnprivileged(t *testing.T) {
	t.Parallel()
	server := startIn(t, local.Options{Dir: filepath.Join(reachableDir(t), "server")})
	want, err := local.ServerAccountID()
	require.NoError(t, err)
	if want < 0 {
		want = os.Geteuid()
	}
	require.NotZero(t, want)
	info, err := os.Stat("/proc/" + strconv.Itoa(server.PID))
	require.NoError(t, err)
	require.EqualValues(t, want, info.Sys().(*syscall.Stat_t).Uid)

	byWorkingDir, byPS := local.Running(server.PID, server.Dir)
	require.True(t, byWorkingDir)
	require.True(t, byPS)
	byWorkingDir, byPS = local.Running(os.Getpid(), server.Dir)
	require.False(t, byWorkingDir)
	require.False(t, byPS)
}

func TestStoppedByTheCallersContext(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachableDir(t), "server")
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	_, err := local.Start(ctx, local.Options{Dir: dir})
	require.Error(t, err)

	server := startIn(t, local.Options{Dir: dir})
	require.Equal(t, "1", ask(t, server.URL("postgres"), "SELECT '1'"))
}

func TestOneDirectoryTwoPrograms(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachableDir(t), "server")
	var (
		group   sync.WaitGroup
		mutex   sync.Mutex
		servers []*local.Server
		refused []error
	)
	for range 4 {
		group.Go(func() {
			server, err := local.Start(t.Context(), local.Options{Dir: dir})
			mutex.Lock()
			defer mutex.Unlock()
			if err != nil {
				refused = append(refused, err)
			} else {
				servers = append(servers, server)
			}
		})
	}
	group.Wait()
	require.Len(t, servers, 1)
	require.Len(t, refused, 3)
	for _, err := range refused {
		require.ErrorIs(t, err, local.ErrInUse)
		require.ErrorContains(t, err, dir)
	}
	require.NoError(t, servers[0].Stop(t.Context()))

	child := startChild(t, "persistent", dir)
	_, err := local.Start(t.Context(), local.Options{Dir: dir})
	require.ErrorIs(t, err, local.ErrInUse, "another process holds it")
	child.kill(t)
	startIn(t, local.Options{Dir: dir})
}

func TestPortTakenInBetween(t *testing.T) {
	t.Parallel()
	listener, err := net.Listen("tcp4", "127.0.0.1:0") //nolint:noctx // it waits for nothing
	require.NoError(t, err)
	defer listener.Close()
	taken := listener.Addr().(*net.TCPAddr).Port

	options := local.WithPorts(local.Options{Dir: filepath.Join(reachableDir(t), "server")}, taken, taken)
	server := startIn(t, options)
	require.NotEqual(t, taken, server.Port)
	require.NotZero(t, server.Port)
}
