//go:build linux

package local_test

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"cagework/postgres/local"

	"github.com/stretchr/testify/require"
)

// shelf is a repository on the loopback address that has one archive: the machine's own programs.
type shelf struct {
	url, version string
	fetched      atomic.Int32
}

// newShelf packs the machine's programs as the public repository does: a tar in xz in a zip, beside it its sum.
func newShelf(t *testing.T) *shelf {
	t.Helper()
	machine, err := local.Find()
	require.NoError(t, err)
	s := &shelf{version: machine.Version + ".0"}
	architecture := map[string]string{"arm64": "arm64v8"}[runtime.GOARCH]
	if architecture == "" {
		architecture = runtime.GOARCH
	}
	if _, err := os.Stat("/etc/alpine-release"); err == nil {
		architecture += "-alpine"
	}
	name := "embedded-postgres-binaries-linux-" + architecture
	path := fmt.Sprintf("/io/zonky/test/postgres/%s/%s/%s-%s.jar", name, s.version, name, s.version)

	jar := zipped(t, "postgres.txz", xzStored(programsTar(t, machine)))
	sum := sha256.Sum256(jar)
	mux := http.NewServeMux()
	mux.HandleFunc("GET "+path, func(w http.ResponseWriter, _ *http.Request) {
		s.fetched.Add(1)
		_, _ = w.Write(jar)
	})
	mux.HandleFunc("GET "+path+".sha256", func(w http.ResponseWriter, _ *http.Request) {
		_, _ = io.WriteString(w, hex.EncodeToString(sum[:]))
	})
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	s.url = server.URL
	return s
}

// programsTar holds the programs in bin, the machine's own. Debian's find the rest of their installation from anywhere;
// others look for it beside themselves, so that there a script stands for each, which runs the installed one.
func programsTar(t *testing.T, machine local.Binaries) []byte {
	t.Helper()
	var buffer bytes.Buffer
	archive := tar.NewWriter(&buffer)
	add := func(name string, content []byte) {
		require.NoError(t, archive.WriteHeader(&tar.Header{Name: name, Mode: 0o755, Size: int64(len(content)), Typeflag: tar.TypeReg}))
		_, err := archive.Write(content)
		require.NoError(t, err)
	}
	require.NoError(t, archive.WriteHeader(&tar.Header{Name: "bin/", Mode: 0o755, Typeflag: tar.TypeDir}))
	for _, program := range []string{"postgres", "initdb", "pg_ctl"} {
		installed := filepath.Join(machine.Dir, program)
		content, err := os.ReadFile(installed)
		require.NoError(t, err)
		if !strings.HasPrefix(machine.Dir, "/usr/lib/postgresql/") {
			content = []byte("#!/bin/sh\nexec '" + installed + "' \"$@\"\n")
		}
		add("bin/"+program, content)
	}
	require.NoError(t, archive.Close())
	return buffer.Bytes()
}

func zipped(t *testing.T, name string, content []byte) []byte {
	t.Helper()
	var buffer bytes.Buffer
	archive := zip.NewWriter(&buffer)
	file, err := archive.Create(name)
	require.NoError(t, err)
	_, err = file.Write(content)
	require.NoError(t, err)
	require.NoError(t, archive.Close())
	return buffer.Bytes()
}

// useShelf makes the environment name the shelf and an empty place for copies.
func useShelf(t *testing.T, url, version string) (cache string) {
	t.Helper()
	cache = filepath.Join(reachableDir(t), "programs")
	t.Setenv(local.RepositoryVariable, url)
	t.Setenv(local.VersionVariable, version)
	t.Setenv(local.CacheVariable, cache)
	t.Setenv("TMPDIR", filepath.Dir(cache))
	return cache
}

func TestACopyIsFetchedOnce(t *testing.T) {
	s := newShelf(t)
	cache := useShelf(t, s.url, s.version)
	left := filepath.Join(cache, "fetching-by-one-that-was-killed")
	require.NoError(t, os.MkdirAll(left, 0o711))
	require.NoError(t, os.Chmod(cache, 0o711))

	var said bytes.Buffer
	server, err := local.Start(t.Context(), local.Options{Throwaway: true, Programs: local.Copied, Log: &said, Dir: filepath.Dir(cache)})
	require.NoError(t, err)
	require.Equal(t, filepath.Join(cache, s.version, "bin"), server.Programs.Dir)
	require.Equal(t, "1", ask(t, server.URL("postgres"), "SELECT '1'"))
	require.Contains(t, said.String(), "fetching a copy of version "+s.version+", once, into "+cache)
	require.NoError(t, server.Stop(t.Context()))

	require.Equal(t, []string{s.version, local.LockFile}, namesIn(t, cache), "nothing half-made is left")
	require.NotContains(t, strings.Join(namesIn(t, filepath.Dir(cache)), " "), "embedded_postgres_log")

	said.Reset()
	server, err = local.Start(t.Context(), local.Options{Throwaway: true, Programs: local.Copied, Log: &said, Dir: filepath.Dir(cache)})
	require.NoError(t, err)
	require.NoError(t, server.Stop(t.Context()))
	require.NotContains(t, said.String(), "fetching")
	require.EqualValues(t, 1, s.fetched.Load())
}

func TestACopyIsFetchedByOneOfMany(t *testing.T) {
	s := newShelf(t)
	cache := useShelf(t, s.url, s.version)
	var group sync.WaitGroup
	errs := make([]error, 4)
	for i := range errs {
		group.Go(func() { errs[i] = local.FetchCopy(t.Context()) })
	}
	group.Wait()
	for _, err := range errs {
		require.NoError(t, err)
	}
	require.EqualValues(t, 1, s.fetched.Load())
	require.Equal(t, []string{s.version, local.LockFile}, namesIn(t, cache))
}

// TestTheMachinesProgramsComeFirst asks for both where both are: nothing is fetched.
func TestTheMachinesProgramsComeFirst(t *testing.T) {
	s := newShelf(t)
	cache := useShelf(t, s.url, s.version)
	machine, err := local.Find()
	require.NoError(t, err)
	server, err := local.Start(t.Context(), local.Options{Throwaway: true, Programs: local.OfMachineOrCopied, Dir: filepath.Dir(cache)})
	require.NoError(t, err)
	require.NoError(t, server.Stop(t.Context()))
	require.Equal(t, machine, server.Programs)
	require.Zero(t, s.fetched.Load())
	require.NoDirExists(t, cache)
}

func TestNoCopySaysWhatToDo(t *testing.T) {
	s := newShelf(t)
	silent := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { time.Sleep(time.Minute) }))
	t.Cleanup(silent.CloseClientConnections)
	for name, c := range map[string]struct{ url, version, reason string }{
		"no network":      {"http://127.0.0.1:1", s.version, "connection refused"},
		"no such host":    {"http://repository.invalid", s.version, "no such host"},
		"silent":          {silent.URL, s.version, "deadline exceeded"},
		"another version": {s.url, "1.2.3", "no version found matching 1.2.3"},
	} {
		t.Run(name, func(t *testing.T) {
			cache := useShelf(t, c.url, c.version)
			begun := time.Now()
			_, err := local.Start(t.Context(), local.Options{Throwaway: true, Programs: local.Copied, Dir: filepath.Dir(cache)})
			require.ErrorIs(t, err, local.ErrNoBinaries)
			require.ErrorIs(t, err, local.ErrNotFetched)
			for _, want := range []string{
				c.reason, c.version, c.url,
				"apt-get install postgresql", "docker compose up", "DATABASE_URL=",
			} {
				require.ErrorContains(t, err, want)
			}
			require.Equal(t, 1, strings.Count(err.Error(), "could not be fetched"))
			require.Less(t, time.Since(begun), 15*time.Second)
			require.Equal(t, []string{local.LockFile}, namesIn(t, cache))
		})
	}
}

func namesIn(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var names []string
	for _, entry := range entries {
		names = append(names, entry.Name())
	}
	return names
}
