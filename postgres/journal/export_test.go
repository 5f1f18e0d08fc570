package journal

import "context"

// Kill ends the journal as a kill ends its process: nothing more is written anywhere, and the lock is free.
func (j *Journal) Kill() {
	j.closed.Store(true)
	j.giveUp()
	j.shelf.mu.Lock()
	defer j.shelf.mu.Unlock()
	_ = j.shelf.files.lock.Close()
}

// Flush writes at once all that waits, and tells whether it could. Nobody else may be sending.
func (j *Journal) Flush(ctx context.Context) bool { return j.flush(ctx) }
