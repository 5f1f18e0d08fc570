//go:build linux

package local_test

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"testing"
	"time"

	"cagework/postgres/local"

	"github.com/stretchr/testify/require"
)

func TestThrowawayIsFastAndGoesAway(t *testing.T) {
	t.Parallel()
	server, err := local.Start(t.Context(), local.Options{Throwaway: true, Dir: reachableDir(t)})
	require.NoError(t, err)
	for setting, want := range map[string]string{
		"fsync": "off", "synchronous_commit": "off", "full_page_writes": "off", "max_connections": "300",
	} {
		require.Equal(t, want, ask(t, server.URL("postgres"), "SHOW "+setting), setting)
	}
	require.NoError(t, server.Stop(t.Context()))
	requireGone(t, server.PID, server.Dir, true)
	require.NoError(t, server.Stop(t.Context()), "a second stop does nothing")
}

func TestThrowawayEndsWithItsProcess(t *testing.T) {
	t.Parallel()
	for name, end := range map[string]func(*testing.T, started){
		"killed": func(t *testing.T, s started) {
			t.Helper()
			s.kill(t)
		},
		"asked to end": func(t *testing.T, s started) {
			t.Helper()
			require.NoError(t, s.cmd.Process.Signal(syscall.SIGTERM))
			_ = s.cmd.Wait()
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			child := startChild(t, "throwaway", reachableDir(t))
			require.Equal(t, "1", ask(t, child.url, "SELECT '1'"))
			end(t, child)
			requireGone(t, child.pid, child.dir, true)
		})
	}
}

func TestThrowawayEndsWithItsProcessWhileStarting(t *testing.T) {
	t.Parallel()
	parent := reachableDir(t)
	// At any moment: before, in and after initdb, and while the server starts.
	for after := 20; after < 900; after += 80 {
		cmd := childCommand("throwaway", parent)
		require.NoError(t, cmd.Start())
		time.Sleep(time.Duration(after) * time.Millisecond)
		require.NoError(t, cmd.Process.Kill())
		_ = cmd.Wait()
	}
	// What is left without a guard goes with the next sweep.
	server, err := local.Start(t.Context(), local.Options{Throwaway: true, Dir: parent})
	require.NoError(t, err)
	require.NoError(t, server.Stop(t.Context()))
	require.Eventually(t, func() bool {
		left, err := os.ReadDir(parent)
		return err == nil && len(left) == 0 && len(processesOf(t, parent)) == 0
	}, 15*time.Second, 50*time.Millisecond, "left are %v", processesOf(t, parent))
}

func TestThrowawayStoppedByTheCallersContext(t *testing.T) {
	t.Parallel()
	parent := reachableDir(t)
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	_, err := local.Start(ctx, local.Options{Throwaway: true, Dir: parent})
	require.Error(t, err)
	require.Eventually(t, func() bool {
		left, err := os.ReadDir(parent)
		return err == nil && len(left) == 0 && len(processesOf(t, parent)) == 0
	}, 15*time.Second, 50*time.Millisecond)
}

func TestSweep(t *testing.T) {
	t.Parallel()
	parent := reachableDir(t)

	// Everything was killed at once, the guard first: server and directory are left.
	dead := startChild(t, "throwaway", parent)
	for _, guard := range guardsOf(t, dead) {
		require.NoError(t, syscall.Kill(guard, syscall.SIGKILL))
	}
	dead.kill(t)
	running, _ := local.Running(dead.pid, dead.dir)
	require.True(t, running, "else there is nothing to sweep")

	alive := startChild(t, "throwaway", parent)
	for name, content := range map[string]string{
		"cagework-throwaway-unmarked": "",
		"cagework-throwaway-foreign":  "something else",
		"another-marked":              local.ThrowawayMarker,
	} {
		dir := filepath.Join(parent, name)
		require.NoError(t, os.Mkdir(dir, 0o700))
		if content != "" {
			require.NoError(t, os.WriteFile(filepath.Join(dir, local.MarkerFile), []byte(content), 0o600))
		}
	}

	server, err := local.Start(t.Context(), local.Options{Throwaway: true, Dir: parent})
	require.NoError(t, err)
	requireGone(t, dead.pid, dead.dir, true)
	require.Equal(t, "1", ask(t, alive.url, "SELECT '1'"), "a living one is left alone")
	for _, name := range []string{"cagework-throwaway-unmarked", "cagework-throwaway-foreign", "another-marked"} {
		require.DirExists(t, filepath.Join(parent, name), "what isn't surely ours is left alone")
	}
	require.NoError(t, server.Stop(t.Context()))
	alive.kill(t)
	requireGone(t, alive.pid, alive.dir, true)
}

func TestManyThrowawaysAtOnce(t *testing.T) {
	t.Parallel()
	parent := reachableDir(t)
	var group sync.WaitGroup
	errs := make([]error, 4)
	for i := range errs {
		group.Go(func() {
			server, err := local.Start(t.Context(), local.Options{Throwaway: true, Dir: parent})
			if err == nil {
				err = server.Stop(t.Context())
			}
			errs[i] = err
		})
	}
	group.Wait()
	require.NoError(t, errors.Join(errs...))
}
