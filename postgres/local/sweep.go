package local

import (
	"os"
	"path/filepath"
	"time"
)

// sweep removes the throwaway servers whose programs have ended although the guard couldn't do its work, such as after
// everything was killed at once. It does what it can and leaves the rest to the next sweep.
func sweep(parent string) {
	if parent == "" {
		return
	}
	left, _ := filepath.Glob(filepath.Join(parent, throwawayPrefix+"*"))
	for _, dir := range left {
		if isThrowaway(dir) {
			removeDead(dir)
		}
	}
}

// removeDead removes a throwaway server's directory, and ends the server, unless a living program holds its lock.
func removeDead(dir string) {
	held, err := tryLock(filepath.Join(dir, lockFile))
	if err != nil || held == nil {
		return
	}
	defer held.release()
	data := filepath.Join(dir, dataDir)
	if orphan, ok := readPostmaster(data); ok && running(orphan.pid, data) {
		_ = stopNow(orphan.pid)
		for deadline := time.Now().Add(5 * time.Second); running(orphan.pid, data) && time.Now().Before(deadline); {
			time.Sleep(pause)
		}
	}
	_ = os.RemoveAll(dir)
}
