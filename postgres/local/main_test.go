//go:build linux

package local_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"cagework/postgres/local"

	"github.com/stretchr/testify/require"
)

// The test program is also the program that tests kill: told so by its environment, it starts a server, says which, and
// does nothing more.
const (
	childKind = "LOCAL_TEST_CHILD"
	childDir  = "LOCAL_TEST_DIR"
)

func TestMain(m *testing.M) {
	if kind := os.Getenv(childKind); kind != "" {
		os.Exit(child(kind))
	}
	os.Exit(m.Run())
}

func child(kind string) int {
	options := local.Options{Dir: os.Getenv(childDir), Throwaway: kind == "throwaway"}
	server, err := local.Start(context.Background(), options)
	switch {
	case errors.Is(err, local.ErrInUse):
		fmt.Println("in use")
		return 0
	case err != nil:
		fmt.Println(err)
		return 1
	}
	fmt.Println(server.Dir, server.PID, server.URL("postgres"), server.Adopted)
	// Ends with the parent, which holds the other end.
	_, _ = os.Stdin.Read(make([]byte, 1))
	return 0
}

// started is what a child said about the server it started.
type started struct {
	cmd     *exec.Cmd
	dir     string
	pid     int
	url     string
	adopted bool
}

// startChild starts a server from another process, as the given kind of server.
func startChild(t *testing.T, kind, dir string) started {
	t.Helper()
	cmd := childCommand(kind, dir)
	stdin, err := cmd.StdinPipe()
	require.NoError(t, err)
	output, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = stdin.Close()
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	buffer := make([]byte, 4096)
	n, err := output.Read(buffer)
	require.NoError(t, err)
	words := strings.Fields(string(buffer[:n]))
	require.Len(t, words, 4, "the child said %q", buffer[:n])
	pid, err := strconv.Atoi(words[1])
	require.NoError(t, err)
	return started{cmd: cmd, dir: words[0], pid: pid, url: words[2], adopted: words[3] == "true"}
}

func childCommand(kind, dir string) *exec.Cmd {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childKind+"="+kind, childDir+"="+dir)
	return cmd
}

// guardsOf lists the shells that look after a throwaway server.
func guardsOf(t *testing.T, s started) []int {
	t.Helper()
	var pids []int
	for _, line := range processesOf(t, s.dir) {
		home, arguments, _ := strings.Cut(line, " ")
		if pid, err := strconv.Atoi(filepath.Base(home)); err == nil && strings.HasPrefix(arguments, "/bin/sh") {
			pids = append(pids, pid)
		}
	}
	require.NotEmpty(t, pids)
	return pids
}

// kill ends the child as the system does when it must.
func (s started) kill(t *testing.T) {
	t.Helper()
	require.NoError(t, s.cmd.Process.Kill())
	_ = s.cmd.Wait()
}

// startStranger starts a process of the server's account that has nothing to do with it.
func startStranger(t *testing.T) int {
	t.Helper()
	cmd := exec.Command("/bin/sleep", "60")
	uid, err := local.ServerAccountID()
	require.NoError(t, err)
	if uid >= 0 {
		cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uint32(uid), Gid: uint32(uid)}}
	}
	require.NoError(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	return cmd.Process.Pid
}
