package pgtest_test

import (
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"cagework/postgres/local"
	"cagework/postgres/pgtest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// run runs one test of this package in a process of its own, for which nothing is set but what is given here, and gives
// what it printed and how long it took.
func run(t *testing.T, settings ...string) (output string, took time.Duration, err error) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^TestNewIsMigrated$", "-test.v")
	cmd.Env = append(slices.DeleteFunc(os.Environ(), func(setting string) bool {
		return strings.HasPrefix(setting, "TEST_DATABASE_") || strings.HasPrefix(setting, "DOCKER_")
	}), settings...)
	begun := time.Now()
	printed, err := cmd.CombinedOutput()
	return string(printed), time.Since(begun), err
}

// takes runs with these settings and requires that this is said, and this source taken.
func takes(t *testing.T, taken string, said []string, settings ...string) time.Duration {
	t.Helper()
	output, took, err := run(t, settings...)
	require.NoError(t, err, output)
	require.Contains(t, output, "--- PASS: TestNewIsMigrated")
	require.Contains(t, output, "pgtest: "+taken+", PostgreSQL ")
	for _, want := range said {
		require.Contains(t, output, "pgtest: not from a container: not available: "+want)
	}
	if len(said) == 0 {
		require.NotContains(t, output, "not from")
	}
	return took
}

// soon is how long a run may take that decides on a source in the time that it's given, on a busy machine.
const soon = 25 * time.Second

func TestNoEngine(t *testing.T) {
	t.Parallel()
	nowhere := filepath.Join(t.TempDir(), "docker.sock")
	takes(t, "machine binaries", []string{"no Docker engine answers: "}, "DOCKER_HOST=unix://"+nowhere)
	takes(t, "machine binaries", []string{"no Docker engine answers: "}, "DOCKER_HOST=tcp://127.0.0.1:1")
	takes(t, "machine binaries", []string{"no Docker engine answers: "}, "DOCKER_HOST=nonsense")
}

// TestDeadEngine has one that takes the connection and never says a word.
func TestDeadEngine(t *testing.T) {
	t.Parallel()
	var lc net.ListenConfig
	dead, err := lc.Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { _ = dead.Close() })
	took := takes(t, "machine binaries", []string{"no Docker engine answers: "}, "DOCKER_HOST=tcp://"+dead.Addr().String())
	require.Less(t, took, soon)
}

func TestEngineWithoutImage(t *testing.T) {
	t.Parallel()
	f := newFakeEngine(t, &fakeEngine{})
	takes(t, "machine binaries", []string{"the Docker engine has no image postgres:17, and it could not be pulled just now: "},
		"DOCKER_HOST="+f.host, "XDG_CACHE_HOME="+t.TempDir(), "HOME="+t.TempDir())
	pulls, _, _ := f.did()
	require.Equal(t, 1, pulls)
}

func TestEngineWhosePullNeverEnds(t *testing.T) {
	t.Parallel()
	over := make(chan struct{})
	f := newFakeEngine(t, &fakeEngine{pull: func() { <-over }})
	t.Cleanup(func() { close(over) }) // before the engine closes, which waits for it
	home := t.TempDir()
	settings := []string{"DOCKER_HOST=" + f.host, "XDG_CACHE_HOME=" + home, "HOME=" + home, pgtest.ImageVariable + "=some/image:1"}
	missing := "the Docker engine has no image some/image:1, and it could not be pulled just now: "
	took := takes(t, "machine binaries", []string{missing + `it takes longer than 6 seconds ("docker pull some/image:1"`}, settings...)
	require.Less(t, took, soon)
	takes(t, "machine binaries", []string{missing + "it was tried less than 10 minutes ago"}, settings...)
	pulls, _, _ := f.did()
	require.Equal(t, 1, pulls, "the next package of the run doesn't wait again")
}

func TestEngineWithImage(t *testing.T) {
	t.Parallel()
	f := newFakeEngine(t, &fakeEngine{hasImage: true, starts: true})
	takes(t, "a container", nil, "DOCKER_HOST="+f.host)
	pulls, _, first := f.did()
	require.Zero(t, pulls)
	require.Regexp(t, "^cagework-tests-[0-9a-f]{16}$", first["Name"])
	require.Equal(t, true, first["HostConfig"].(map[string]any)["AutoRemove"], "the engine removes it")

	// This process is the one that started both, so that they are of one run.
	takes(t, "a container", nil, "DOCKER_HOST="+f.host)
	_, _, second := f.did()
	require.Equal(t, first, second, "the second process of a run takes the same container")
}

func TestEngineThatCantStartIt(t *testing.T) {
	t.Parallel()
	f := newFakeEngine(t, &fakeEngine{hasImage: true})
	takes(t, "machine binaries", []string{"a container of postgres:17: "}, "DOCKER_HOST="+f.host)
	_, removed, made := f.did()
	require.Nil(t, made, "what could not start isn't left")
	require.Equal(t, 1, removed)
}

func TestACopyIsTaken(t *testing.T) {
	t.Parallel()
	machine, err := local.Find()
	require.NoError(t, err)
	cache := reachableDir(t)
	bin := filepath.Join(cache, "1.0.0", "bin")
	require.NoError(t, os.MkdirAll(bin, 0o755))
	for _, program := range []string{"postgres", "initdb"} {
		script := "#!/bin/sh\nexec '" + filepath.Join(machine.Dir, program) + "' \"$@\"\n"
		require.NoError(t, os.WriteFile(filepath.Join(bin, program), []byte(script), 0o755))
	}
	takes(t, "a fetched copy", nil, pgtest.FromVariable+"=copy", "CAGEWORK_POSTGRES_CACHE="+cache, "CAGEWORK_POSTGRES_VERSION=1.0.0")
}

func TestNoneAtAll(t *testing.T) {
	t.Parallel()
	output, took, err := run(t, pgtest.FromVariable+"=copy",
		"CAGEWORK_POSTGRES_CACHE="+reachableDir(t), "CAGEWORK_POSTGRES_REPOSITORY=http://127.0.0.1:1")
	require.Error(t, err)
	for _, want := range []string{
		"--- FAIL: TestNewIsMigrated", "there is no Postgres server to test with, and these tests are never skipped",
		"set " + pgtest.Variable, "install PostgreSQL's server", "Docker engine that has the image postgres:17",
		"a copy of PostgreSQL could not be fetched", "connection refused", "apt-get install postgresql", "docker compose up",
	} {
		assert.Contains(t, output, want)
	}
	require.Less(t, took, soon)
}

func TestASourceThatIsAskedForIsNotReplaced(t *testing.T) {
	t.Parallel()
	for key, want := range map[string]string{
		"container":   "no Docker engine answers",
		"environment": pgtest.Variable + ": not available: not set",
		"elsewhere":   `"elsewhere"; it can be one of environment, container, machine, copy`,
	} {
		output, _, err := run(t, pgtest.FromVariable+"="+key, "DOCKER_HOST=tcp://127.0.0.1:1")
		require.Error(t, err, key)
		require.Contains(t, output, want)
	}
	takes(t, "machine binaries", nil, pgtest.FromVariable+"=machine", "DOCKER_HOST=tcp://127.0.0.1:1")
}

// reachableDir is a directory that the user of the server can get into, who is another one for root.
func reachableDir(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for d := dir; d != os.TempDir() && strings.HasPrefix(d, os.TempDir()); d = filepath.Dir(d) {
		require.NoError(t, os.Chmod(d, 0o711))
	}
	return dir
}
