//go:build linux

package local_test

import (
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"cagework/postgres/local"

	"github.com/stretchr/testify/require"
)

// TestAsOrdinaryUser runs all other tests again without root's rights. An ordinary user has run them already.
func TestAsOrdinaryUser(t *testing.T) {
	if os.Geteuid() != 0 {
		return
	}
	t.Parallel()
	uid, err := local.ServerAccountID()
	require.NoError(t, err)
	dir := reachableDir(t)
	program := filepath.Join(dir, "local.test")
	copyFile(t, os.Args[0], program)
	home := filepath.Join(dir, "home")
	require.NoError(t, os.Mkdir(home, 0o700))
	require.NoError(t, os.Chown(home, uid, uid))

	cmd := exec.Command(program, "-test.v")
	cmd.Dir = home
	cmd.Env = append(os.Environ(), "HOME="+home, "TMPDIR="+home, "XDG_CACHE_HOME=")
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(uid)}}
	output, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", output)
	require.Contains(t, string(output), "--- PASS: TestOrphanIsAdopted")
	require.NotContains(t, string(output), "--- SKIP")
}

func copyFile(t *testing.T, from, to string) {
	t.Helper()
	source, err := os.Open(from)
	require.NoError(t, err)
	defer source.Close()
	target, err := os.OpenFile(to, os.O_CREATE|os.O_WRONLY, 0o755)
	require.NoError(t, err)
	_, err = io.Copy(target, source)
	require.NoError(t, err)
	require.NoError(t, target.Close())
	require.NoError(t, os.Chmod(to, 0o755))
}
