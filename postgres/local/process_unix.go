//go:build unix

package local

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// exited says that a process is no more. A child of ours is collected on the way: no goroutine waits for it, so that a
// server in the background doesn't look like a leak to tests.
func exited(pid int) bool {
	var status syscall.WaitStatus
	if collected, _ := syscall.Wait4(pid, &status, syscall.WNOHANG, nil); collected == pid {
		return true
	}
	return syscall.Kill(pid, 0) != nil
}

// running says that a process is the server of a data directory, and not one that got a dead server's number.
func running(pid int, data string) bool {
	return !exited(pid) && serves(pid, data)
}

// stopFast asks a server to end its sessions, write everything down and leave.
func stopFast(_ *cluster, pid int) error {
	return syscall.Kill(pid, syscall.SIGINT)
}

// stopNow makes a server leave at once, without writing anything down.
func stopNow(pid int) error {
	return syscall.Kill(pid, syscall.SIGQUIT)
}

// listedByPS asks the system's list of processes whether one is the server of a data directory: the path is among the
// arguments it was started with.
func listedByPS(pid int, data string) bool {
	cmd := exec.Command("ps", "-ww", "-o", "args=", "-p", strconv.Itoa(pid))
	cmd.Env = environment()
	output, err := cmd.Output()
	return err == nil && strings.Contains(string(output), filepath.Clean(data))
}

// sameFile says that two paths lead to one file.
func sameFile(a, b string) bool {
	first, err := os.Stat(a)
	if err != nil {
		return false
	}
	second, err := os.Stat(b)
	return err == nil && os.SameFile(first, second)
}
