//go:build linux

package local_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"cagework/postgres/local"

	"github.com/stretchr/testify/require"
)

// fakePrograms makes a directory of programs that only tell a version.
func fakePrograms(t *testing.T, dir string, versions map[string]string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(dir, 0o755))
	for program, version := range versions {
		script := fmt.Sprintf("#!/bin/sh\necho '%s (PostgreSQL) %s (Somebody)'\n", program, version)
		require.NoError(t, os.WriteFile(filepath.Join(dir, program), []byte(script), 0o755))
	}
}

func TestFindOnThisMachine(t *testing.T) {
	t.Parallel()
	found, err := local.Find()
	require.NoError(t, err)
	require.GreaterOrEqual(t, found.Major, local.OldestMajor)
	require.Regexp(t, fmt.Sprintf(`^%d\D?`, found.Major), found.Version)
	require.FileExists(t, filepath.Join(found.Dir, "postgres"))
	require.FileExists(t, filepath.Join(found.Dir, "initdb"))
}

func TestFindPrefersPathThenNewest(t *testing.T) {
	t.Parallel()
	root := reachableDir(t)
	for _, version := range []string{"9", "16", "17", "100"} {
		number := version + ".3"
		fakePrograms(t, filepath.Join(root, "lib", version, "bin"), map[string]string{"postgres": number, "initdb": number})
	}
	fakePrograms(t, filepath.Join(root, "path"), map[string]string{"postgres": "15beta2", "initdb": "15beta2"})
	places := []string{filepath.Join(root, "lib", "*", "bin")}

	found, err := local.FindIn("", places)
	require.NoError(t, err)
	require.Equal(t, []int{100, 17, 16}, majors(found), "newest first, and none that is too old")

	found, err = local.FindIn("relative:"+filepath.Join(root, "path"), places)
	require.NoError(t, err)
	require.Equal(t, []int{15, 100, 17, 16}, majors(found))
	require.Equal(t, "15beta2", found[0].Version)
}

func TestFindFollowsALoneLinkInPath(t *testing.T) {
	t.Parallel()
	root := reachableDir(t)
	real := filepath.Join(root, "elsewhere")
	fakePrograms(t, real, map[string]string{"postgres": "16.1", "initdb": "16.1", "pg_ctl": "16.1"})
	path := filepath.Join(root, "path")
	require.NoError(t, os.Mkdir(path, 0o755))
	require.NoError(t, os.Symlink(filepath.Join(real, "pg_ctl"), filepath.Join(path, "pg_ctl")))

	found, err := local.FindIn(path, nil)
	require.NoError(t, err)
	require.Equal(t, []local.Binaries{{Dir: real, Version: "16.1", Major: 16}}, found)
}

func TestNoBinaries(t *testing.T) {
	t.Parallel()
	root := reachableDir(t)
	halves := filepath.Join(root, "halves")
	fakePrograms(t, halves, map[string]string{"initdb": "16.1"})
	mixed := filepath.Join(root, "mixed")
	fakePrograms(t, mixed, map[string]string{"initdb": "16.1", "postgres": "15.1"})
	broken := filepath.Join(root, "broken")
	fakePrograms(t, broken, map[string]string{"initdb": "16.1"})
	require.NoError(t, os.WriteFile(filepath.Join(broken, "postgres"), []byte("#!/bin/sh\nexit 127\n"), 0o755))
	old := filepath.Join(root, "old")
	fakePrograms(t, old, map[string]string{"initdb": "9.6.1", "postgres": "9.6.1"})

	place := filepath.Join(root, "nothing", "*", "bin")
	_, err := local.FindIn(halves+":"+mixed+":"+broken+":"+old, []string{place})
	require.ErrorIs(t, err, local.ErrNoBinaries)
	for _, want := range []string{
		"looked in PATH, " + place,
		halves + ": has no postgres",
		mixed + ": postgres is of version 15.1, initdb of 16.1",
		broken + ": postgres --version",
		old + ": version 9.6.1 is too old",
		"apt-get install postgresql",
		"brew install postgresql",
		"into PATH",
		"by its URL",
	} {
		require.ErrorContains(t, err, want)
	}
}

func majors(found []local.Binaries) []int {
	var all []int
	for _, b := range found {
		all = append(all, b.Major)
	}
	return all
}
