//go:build unix

package local

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"syscall"
)

// guard is a small process that outlives ours for a moment. It reads from a pipe whose other end only we hold, so it
// learns of our end in any case: return, panic or kill. Then it stops the server and removes the directory.
type guard struct {
	pipe *os.File
	pid  int
	dir  string
}

// The guard's program. The number of a process alone proves nothing, it may have been given anew: the process's working
// directory or, where the system doesn't tell that, its arguments must be the server's. It's tried for ten seconds, as
// initdb may still be at work.
const guardProgram = `
dir=$1
cat >/dev/null
serves() {
	if [ -d /proc/self ]; then
		[ "/proc/$pid/cwd" -ef "$dir/data" ]
	else
		ps -ww -o args= -p "$pid" | grep -qF "$dir/data"
	fi
}
try=0
while [ -e "$dir" ] && [ "$try" -lt 200 ]; do
	pid=
	read -r pid <"$dir/data/postmaster.pid"
	if [ "${pid:-0}" -gt 1 ] && serves; then
		signal=QUIT
		[ "$try" -gt 100 ] && signal=KILL
		kill -s "$signal" "$pid"
	else
		rm -rf "$dir"
	fi
	try=$((try + 1))
	[ -e "$dir" ] && sleep 0.05
done
`

func startGuard(dir string) (*guard, error) {
	read, write, err := os.Pipe()
	if err != nil {
		return nil, err
	}
	defer read.Close()
	cmd := exec.Command("/bin/sh", "-c", guardProgram, "sh", dir)
	// In a session of its own, which Ctrl-C doesn't reach, and with nothing but the pipe: whoever waits for
	// our output to end must not wait for the guard.
	cmd.Stdin = read
	cmd.Dir, cmd.SysProcAttr = "/", &syscall.SysProcAttr{Setsid: true}
	cmd.Env = append(environment(), "PATH=/usr/bin:/bin:"+os.Getenv("PATH"))
	if err := cmd.Start(); err != nil {
		_ = write.Close()
		return nil, fmt.Errorf("local: start the throwaway server's guard: %w", err)
	}
	g := &guard{pipe: write, pid: cmd.Process.Pid, dir: dir}
	return g, cmd.Process.Release()
}

// dismiss lets the guard do its work and waits for its end. The server, zero for none, is our child and would stay in
// the list of processes if it weren't collected meanwhile.
func (g *guard) dismiss(ctx context.Context, server int) error {
	_ = g.pipe.Close()
	for !exited(g.pid) {
		if server != 0 {
			exited(server)
		}
		if err := sleep(ctx, pause); err != nil {
			return fmt.Errorf("local: the throwaway server in %s is still stopping: %w", g.dir, err)
		}
	}
	if _, err := os.Lstat(g.dir); err == nil {
		return fmt.Errorf("local: the throwaway server in %s couldn't be removed", g.dir)
	}
	return nil
}
