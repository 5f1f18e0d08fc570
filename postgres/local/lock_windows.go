package local

import (
	"os"

	"golang.org/x/sys/windows"
)

// tryLock takes a lock that lasts until the file is closed or the process ends, however it ends. It doesn't wait: nil
// and no error mean that another one holds it.
func tryLock(path string) (*lock, error) {
	file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, err
	}
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	// One byte far behind the end, so that the content can still be read: locks are not advisory here.
	err = windows.LockFileEx(windows.Handle(file.Fd()), flags, 0, 1, 0, &windows.Overlapped{OffsetHigh: 1})
	if err == nil {
		return &lock{file}, nil
	}
	file.Close()
	if err == windows.ERROR_LOCK_VIOLATION {
		return nil, nil
	}
	return nil, &os.PathError{Op: "lock", Path: path, Err: err}
}

// release gives the lock back.
func (l *lock) release() error {
	return l.file.Close()
}
