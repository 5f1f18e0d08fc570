package local

import (
	"context"
	"os"
	"time"
)

// lock is held on a file, and by that on a server's directory.
type lock struct {
	file *os.File
}

// lockGrace is how long a lock is tried for. That of a program which was killed may last for an instant longer, in the
// copy of a process that it was just starting.
const lockGrace = 300 * time.Millisecond

// lockSoon is tryLock with that patience.
func lockSoon(ctx context.Context, path string) (*lock, error) {
	ctx, cancel := context.WithTimeout(ctx, lockGrace)
	defer cancel()
	for {
		held, err := tryLock(path)
		if held != nil || err != nil || sleep(ctx, 4*pause) != nil {
			return held, err
		}
	}
}
