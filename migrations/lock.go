package migrations

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

const (
	// lockKey is the advisory lock that a run holds from its first look at the version to its last file. The library's
	// own lock is per file, which lets another run take the mark of a file at work for that of one that failed.
	lockKey = 0x63616765_6d696772
	// lockPatience ends the wait for another run.
	lockPatience = 15 * time.Second
	// lockPause is the time between two tries.
	lockPause = 50 * time.Millisecond
)

// alone does something while no other run works on the database. It asks again and again instead of waiting in the
// server: a statement that waits is a transaction, and CREATE INDEX CONCURRENTLY in the other run would wait for that.
func alone(ctx context.Context, databaseURL string, do func() error) error {
	conn, err := pgx.Connect(ctx, databaseURL)
	if err != nil {
		return fmt.Errorf("migrations: %w", err)
	}
	// Closing gives the lock back.
	defer conn.Close(context.WithoutCancel(ctx))

	waiting, cancel := context.WithTimeout(ctx, lockPatience)
	defer cancel()
	for tried := false; ; tried = true {
		var got bool
		err := conn.QueryRow(ctx, `SELECT pg_try_advisory_lock($1)`, int64(lockKey)).Scan(&got)
		switch {
		case err != nil && tried && ctx.Err() != nil: // the caller's time ended while asking again
			return busy(ctx.Err())
		case err != nil:
			return fmt.Errorf("migrations: %w", err)
		case got:
			return do()
		}
		select {
		case <-waiting.Done():
			return busy(waiting.Err())
		case <-time.After(lockPause):
		}
	}
}

func busy(err error) error {
	return fmt.Errorf("migrations: another program is migrating this database: wait until it's done, then try again: %w", err)
}
