package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// process is the program as a process of its own.
type process struct {
	t    *testing.T
	cmd  *exec.Cmd
	out  text
	log  text
	gone chan struct{} // closed when it has ended; err is then set
	err  error
}

// start starts the program. The end of the test ends it at the latest.
func start(t *testing.T, args ...string) *process {
	t.Helper()
	p := &process{t: t, cmd: exec.CommandContext(t.Context(), os.Args[0], args...), gone: make(chan struct{})}
	p.cmd.Env = append(os.Environ(), asProgram+"=1")
	p.cmd.Stdout, p.cmd.Stderr = &p.out, &p.log
	p.cmd.WaitDelay = 5 * time.Second
	stdin, err := p.cmd.StdinPipe()
	require.NoError(t, err)
	require.NoError(t, p.cmd.Start())
	go func() {
		p.err = p.cmd.Wait()
		close(p.gone)
	}()
	t.Cleanup(func() {
		_ = p.cmd.Process.Kill()
		_ = stdin.Close()
		<-p.gone
	})
	return p
}

func (p *process) signal(s syscall.Signal) {
	p.t.Helper()
	require.NoError(p.t, p.cmd.Process.Signal(s))
}

// end waits for the process to end by itself.
func (p *process) end(within time.Duration) error {
	p.t.Helper()
	select {
	case <-p.gone:
		return p.err
	case <-time.After(within):
		require.FailNow(p.t, "the program does not end", "%s%s", p.out.String(), p.log.String())
		return nil
	}
}

// kill ends it as the system does when it must.
func (p *process) kill() {
	p.t.Helper()
	require.NoError(p.t, p.cmd.Process.Kill())
	<-p.gone
}

// requireNothingLeft checks that neither a directory nor, where the system tells, a process of it is left.
func requireNothingLeft(t *testing.T, dir string) {
	t.Helper()
	require.NoDirExists(t, dir)
	homes, err := filepath.Glob("/proc/[0-9]*")
	require.NoError(t, err)
	for _, home := range homes {
		arguments, _ := os.ReadFile(filepath.Join(home, "cmdline"))
		cwd, _ := os.Readlink(filepath.Join(home, "cwd"))
		require.NotContains(t, string(arguments), dir, "a process is left")
		require.NotContains(t, cwd, dir, "a process is left")
	}
}

// reachableDir is a directory that the user of a demo's Postgres can get into, who is another one for root.
func reachableDir(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	for d := dir; d != os.TempDir() && strings.HasPrefix(d, os.TempDir()); d = filepath.Dir(d) {
		require.NoError(t, os.Chmod(d, 0o711)) // others must pass through, and see nothing
	}
	return dir
}
