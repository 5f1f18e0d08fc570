// Package postgres keeps the records of package domain in PostgreSQL. A store method is a use case: it opens one
// transaction, asks domain.May, reads what the checks need, writes the row and its change, and returns.
//
// Every transaction steps down to the service's own role and names its program, so that row security holds even
// when a query forgets its program (none may).
package postgres

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"cagework/domain"
)

// Config says how to reach the database.
type Config struct {
	URL      string // a login that is a member of the role cagework_service
	MaxConns int    // 0 means the driver's default
	Now      func() time.Time
}

// DB is a pool of connections and the stores' clock.
type DB struct {
	pool *pgxpool.Pool
	now  func() time.Time
}

// Open makes the pool. It does not connect: Ready tells whether the database answers.
func Open(ctx context.Context, c Config) (*DB, error) {
	cfg, err := pgxpool.ParseConfig(c.URL)
	if err != nil {
		return nil, fmt.Errorf("database URL: %w", err)
	}
	if c.MaxConns > 0 {
		cfg.MaxConns = int32(min(c.MaxConns, 1000))
	}
	cfg.MaxConnLifetimeJitter = 5 * time.Minute
	cfg.PingTimeout = time.Second
	cfg.ConnConfig.ConnectTimeout = 5 * time.Second
	cfg.ConnConfig.RuntimeParams["application_name"] = "cagework"
	cfg.AfterConnect = func(_ context.Context, conn *pgx.Conn) error {
		registerTypes(conn.TypeMap())
		return nil
	}
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("database pool: %w", err)
	}
	now := c.Now
	if now == nil {
		now = time.Now
	}
	return &DB{pool, now}, nil
}

// Close waits for the connections in use and closes the pool.
func (db *DB) Close() { db.pool.Close() }

// Stat gives the pool's figures.
func (db *DB) Stat() *pgxpool.Stat { return db.pool.Stat() }

// tx is one transaction of one program. Its now is fixed, so that all rows of one use case bear one time.
type tx struct {
	pgx.Tx
	program domain.ID
	now     time.Time
}

// begin opens a transaction, steps down to the service's role, names the program and sets limits, in one round
// trip. SET LOCAL, not set_config: a sharded Postgres passes only the statement on to its workers. The program is
// printed from a typed UUID, so nothing can be injected. The server's limit ends a query before the caller's does.
func begin(program domain.ID) pgx.TxOptions {
	return pgx.TxOptions{BeginQuery: "BEGIN; SET LOCAL ROLE cagework_service; SET LOCAL app.program_id = '" +
		program.String() + "'; SET LOCAL statement_timeout = '8s'; SET LOCAL lock_timeout = '4s'"}
}

// inProgram runs fn in a transaction of the program and commits it. fn may run again after a serialization
// failure, a deadlock or a lost race to create the same record, so it must have no effects outside the
// transaction. The error is always a *domain.Error.
func (db *DB) inProgram(ctx context.Context, program domain.ID, fn func(context.Context, *tx) error) error {
	const tries = 5
	for try := 1; ; try++ {
		err := db.once(ctx, program, fn)
		if err == nil {
			return nil
		}
		if try == tries || !worthRetrying(err) || ctx.Err() != nil {
			return asDomain(ctx, err)
		}
		pause := time.Duration(10+rand.IntN(20<<try)) * time.Millisecond //nolint:gosec // jitter, not secrecy
		select {
		case <-time.After(pause):
		case <-ctx.Done():
			return asDomain(ctx, err)
		}
	}
}

func (db *DB) once(ctx context.Context, program domain.ID, fn func(context.Context, *tx) error) error {
	t, err := db.pool.BeginTx(ctx, begin(program))
	if err != nil {
		return err
	}
	// Postgres keeps microseconds; truncating here makes what is read back equal to what was written.
	now := db.now().UTC().Truncate(time.Microsecond)
	if err := fn(ctx, &tx{t, program, now}); err != nil {
		return errors.Join(err, rollback(ctx, t))
	}
	if err := t.Commit(ctx); err != nil {
		return &commitError{err}
	}
	return nil
}

// rollback also works when the caller's context has ended: else the connection would be thrown away.
func rollback(ctx context.Context, t pgx.Tx) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if err := t.Rollback(ctx); err != nil && !errors.Is(err, pgx.ErrTxClosed) {
		return fmt.Errorf("roll back: %w", err)
	}
	return nil
}

// commitError is a COMMIT whose outcome may be unknown. A client that sends the same again is safe: its ids make
// the repeat "unchanged" when the commit went through.
type commitError struct{ err error }

func (e *commitError) Error() string { return "commit: " + e.err.Error() }
func (e *commitError) Unwrap() error { return e.err }
