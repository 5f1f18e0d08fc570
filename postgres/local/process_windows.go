package local

import (
	"os/exec"

	"golang.org/x/sys/windows"
)

func exited(pid int) bool {
	process, err := windows.OpenProcess(windows.SYNCHRONIZE, false, uint32(pid))
	if err != nil {
		return true
	}
	defer windows.CloseHandle(process)
	event, err := windows.WaitForSingleObject(process, 0)
	return err != nil || event == windows.WAIT_OBJECT_0
}

// running can't tell here which data directory a process serves; the password will.
func running(pid int, _ string) bool {
	return !exited(pid)
}

func serves(int, string) bool { return true }

// stopFast goes through pg_ctl, as only the server's own programs know how to signal it here.
func stopFast(c *cluster, _ int) error {
	return exec.Command(c.binaries.path("pg_ctl"), "stop", "-D", c.data(), "-m", "fast", "-W").Run()
}

func stopNow(pid int) error {
	process, err := windows.OpenProcess(windows.PROCESS_TERMINATE, false, uint32(pid))
	if err != nil {
		return err
	}
	defer windows.CloseHandle(process)
	return windows.TerminateProcess(process, 1)
}
