//go:build unix

package local

import (
	"errors"
	"os"
	"syscall"
)

// tryLock takes a lock that lasts until the file is closed or the process ends, however it ends. It doesn't wait: nil
// and no error mean that another one holds it.
func tryLock(path string) (*lock, error) {
	file, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR|syscall.O_NOFOLLOW, 0o600)
	if err != nil {
		return nil, err
	}
	err = syscall.Flock(int(file.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if err == nil {
		return &lock{file}, nil
	}
	_ = file.Close()
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return nil, nil
	}
	return nil, &os.PathError{Op: "lock", Path: path, Err: err}
}

// release gives the lock back.
func (l *lock) release() error {
	// Unlocked by name, because a process that is being started at this moment has a copy of the file for an instant.
	return errors.Join(syscall.Flock(int(l.file.Fd()), syscall.LOCK_UN), l.file.Close())
}
