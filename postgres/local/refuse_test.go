//go:build linux

package local_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"cagework/postgres/local"

	"github.com/stretchr/testify/require"
)

// contentOf lists a directory's files with what they hold, so that a test can tell that nothing changed.
func contentOf(t *testing.T, dir string) map[string]string {
	t.Helper()
	content := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, entry os.DirEntry, err error) error {
		if err != nil || entry.IsDir() || entry.Name() == local.LockFile {
			return err
		}
		bytes, err := os.ReadFile(path)
		content[path] = string(bytes)
		return err
	}))
	return content
}

func TestDataOfAnotherVersionIsLeftAlone(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachableDir(t), "server")
	server, err := local.Start(t.Context(), local.Options{Dir: dir})
	require.NoError(t, err)
	require.NoError(t, server.Stop(t.Context()))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "data", "PG_VERSION"), []byte("9\n"), 0o600))
	before := contentOf(t, dir)

	_, err = local.Start(t.Context(), local.Options{Dir: dir})
	require.ErrorIs(t, err, local.ErrOtherVersion)
	require.ErrorContains(t, err, dir+" is of version 9")
	require.ErrorContains(t, err, "install PostgreSQL 9, or move the directory away")
	require.Equal(t, before, contentOf(t, dir))
}

func TestForeignDirectoryIsLeftAlone(t *testing.T) {
	t.Parallel()
	dir := reachableDir(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "thesis.txt"), []byte("years of work"), 0o600))
	before := contentOf(t, dir)
	_, err := local.Start(t.Context(), local.Options{Dir: dir})
	require.ErrorIs(t, err, local.ErrNotOurs)
	require.ErrorContains(t, err, "thesis.txt")
	require.Equal(t, before, contentOf(t, dir))

	_, err = local.Start(t.Context(), local.Options{Dir: filepath.Join(dir, "thesis.txt")})
	require.ErrorIs(t, err, local.ErrNotOurs)
}

func TestDirectoryOfAnotherUserIsLeftAlone(t *testing.T) {
	t.Parallel()
	dir := "/" // root's
	if uid, err := local.ServerAccountID(); uid >= 0 {
		require.NoError(t, err)
		dir = reachableDir(t)
		require.NoError(t, os.Chown(dir, uid, uid))
	}
	_, err := local.Start(t.Context(), local.Options{Dir: dir})
	require.ErrorIs(t, err, local.ErrNotOurs)
}

func TestMissingPasswordIsNotReplaced(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(reachableDir(t), "server")
	server, err := local.Start(t.Context(), local.Options{Dir: dir})
	require.NoError(t, err)
	require.NoError(t, server.Stop(t.Context()))
	password := filepath.Join(dir, local.PasswordFile)
	secret, err := os.ReadFile(password)
	require.NoError(t, err)
	require.NoError(t, os.Remove(password))

	_, err = local.Start(t.Context(), local.Options{Dir: dir})
	require.ErrorContains(t, err, password+" is missing")

	// A wrong one is noticed too, and the orphan it can't open is named.
	require.NoError(t, os.WriteFile(password, secret, 0o600))
	orphan := startChild(t, "persistent", dir)
	orphan.kill(t)
	require.NoError(t, os.WriteFile(password, []byte("wrong\n"), 0o600))
	_, err = local.Start(t.Context(), local.Options{Dir: dir})
	require.ErrorContains(t, err, "not with the password in")

	require.NoError(t, os.WriteFile(password, secret, 0o600))
	require.True(t, startIn(t, local.Options{Dir: dir}).Adopted)
}

func TestUnreachableDirectory(t *testing.T) {
	t.Parallel()
	uid, err := local.ServerAccountID()
	require.NoError(t, err)
	closed := reachableDir(t)
	require.NoError(t, os.Chmod(closed, 0o700))
	server, err := local.Start(t.Context(), local.Options{Dir: filepath.Join(closed, "server")})
	if uid < 0 {
		// We run the server ourselves, so what we can enter it can.
		require.NoError(t, err)
		require.NoError(t, server.Stop(t.Context()))
		return
	}
	require.ErrorContains(t, err, "can't enter "+closed)
	require.ErrorContains(t, err, "chmod o+x")
}

func TestDefaultDirIsOutsideOfRootsHome(t *testing.T) {
	t.Parallel()
	dir := local.DefaultDir()
	require.True(t, filepath.IsAbs(dir))
	if os.Geteuid() == 0 {
		require.True(t, strings.HasPrefix(dir, "/var/lib/cagework"), dir)
	} else if cache, err := os.UserCacheDir(); err == nil {
		require.True(t, strings.HasPrefix(dir, cache), dir)
	}
}
