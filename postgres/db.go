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
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"cagework/domain"
)

// Config says how to reach the database.
type Config struct {
	URL      string  // a login that is a member of the role cagework_service
	MaxConns int     // 0 means the driver's default
	Shares   *Shares // how the connections are divided; nil for what suits their number
	Now      func() time.Time
	Tracer   pgx.QueryTracer // sees every query; nil for none
}

// DB is a pool of connections, who may use how many of them, and the stores' clock.
type DB struct {
	pool   *pgxpool.Pool
	shares *shares
	now    func() time.Time

	found  atomic.Pointer[domain.Readiness] // when the database was last asked; see [DB.Ready]
	fullAt atomic.Int64                     // when a write last found the disk full, in Unix nanoseconds; 0 for never
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
	cfg.ShouldPing = func(context.Context, pgxpool.ShouldPingParams) bool { return false } // the BEGIN finds out as well
	cfg.ConnConfig.Tracer = c.Tracer
	cfg.ConnConfig.ConnectTimeout = 5 * time.Second
	cfg.ConnConfig.DialFunc = dialer().DialContext
	cfg.ConnConfig.RuntimeParams["application_name"] = "cagework"
	cfg.AfterConnect = func(ctx context.Context, conn *pgx.Conn) error {
		registerTypes(conn.TypeMap())
		return watchPeer(ctx, conn.PgConn())
	}
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("database pool: %w", err)
	}
	now := c.Now
	if now == nil {
		now = time.Now
	}
	divided := sharesOf(int(cfg.MaxConns))
	if c.Shares != nil {
		divided = *c.Shares
	}
	return &DB{pool: pool, shares: newShares(divided), now: now}, nil
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
	reads   bool // nothing is written, so that nothing may be locked either
	still   bool // every query sees one moment, and nothing is written; see [DB.inSnapshot]
}

// begin opens a transaction, steps down to the service's role, names the program and sets limits, in one round
// trip. SET LOCAL, not set_config: a sharded Postgres passes only the statement on to its workers. The program is
// printed from a typed UUID, so nothing can be injected. No query here runs long enough to be worth compiling. The
// server's limits end a query before the caller's does, and a transaction whose service has stopped in the middle of it,
// which would keep its locks for as long as the machines are connected.
func begin(mode string, program domain.ID, more string) pgx.TxOptions {
	return pgx.TxOptions{BeginQuery: "BEGIN" + mode + "; SET LOCAL ROLE cagework_service; SET LOCAL app.program_id = '" +
		program.String() + "'; SET LOCAL statement_timeout = '8s'; SET LOCAL lock_timeout = '4s'; " +
		"SET LOCAL idle_in_transaction_session_timeout = '5s'; SET LOCAL jit = off" + more}
}

// walkIndexes makes the planner give a page by walking the index that is in the page's order, whatever it guesses of
// the filters: its way out, to read a whole table and sort it, gets slower with every game that is charted.
const walkIndexes = "; SET LOCAL enable_sort = off; SET LOCAL enable_seqscan = off"

// The modes of a transaction that does not write: it locks nothing, so that a standby can serve it.
const (
	readOnly = " READ ONLY"
	still    = " ISOLATION LEVEL REPEATABLE READ, READ ONLY" // every query sees one moment
)

// mayThink is for a transaction that works out much between two queries, and keeps no lock meanwhile.
const mayThink = "; SET LOCAL idle_in_transaction_session_timeout = '15s'"

// inProgram runs fn in a transaction of the program that may write, and commits it. fn may run again after a serialization
// failure, a deadlock or a lost race to create the same record, so it must have no effects outside the
// transaction. The error is always a *domain.Error.
func (db *DB) inProgram(ctx context.Context, program domain.ID, fn func(context.Context, *tx) error) error {
	return db.inTx(ctx, writing, begin("", program, ""), program, fn)
}

// inReading is inProgram for what only reads. Nothing can be written in it, and it never waits behind who writes.
func (db *DB) inReading(ctx context.Context, program domain.ID, fn func(context.Context, *tx) error) error {
	return db.inTx(ctx, reading, begin(readOnly, program, ""), program, fn)
}

// inList is inReading for a list or a sum over what was charted.
func (db *DB) inList(ctx context.Context, program domain.ID, fn func(context.Context, *tx) error) error {
	return db.inTx(ctx, reading, begin(readOnly, program, walkIndexes), program, fn)
}

// inSnapshot is inList in which every query sees the program at one moment, whatever is written meanwhile. Nothing can be
// written in it.
func (db *DB) inSnapshot(ctx context.Context, program domain.ID, fn func(context.Context, *tx) error) error {
	return db.inTx(ctx, reading, begin(still, program, walkIndexes+mayThink), program, func(ctx context.Context, t *tx) error {
		t.still = true
		return fn(ctx, t)
	})
}

func (db *DB) inTx(ctx context.Context, as class, options pgx.TxOptions, program domain.ID, fn func(context.Context, *tx) error) error {
	return again(ctx, func() error {
		if as == reading {
			return db.explained(db.once(ctx, as, options, program, fn))
		}
		if err := db.refusesWrites(); err != nil {
			return err
		}
		err := db.once(ctx, as, options, program, fn)
		db.wrote(err)
		return db.explained(err)
	})
}

// again does something up to five times, as long as trying again may help. The error is always a *domain.Error.
func again(ctx context.Context, do func() error) error {
	const tries = 5
	for try := 1; ; try++ {
		err := do()
		if err == nil {
			return nil
		}
		if try == tries || !worthRetrying(err) || ctx.Err() != nil || try > 1 && pgconn.Timeout(err) {
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

func (db *DB) once(ctx context.Context, as class, options pgx.TxOptions, program domain.ID, fn func(context.Context, *tx) error) error {
	done, err := db.shares.turn(ctx, program, as)
	if err != nil {
		return err
	}
	defer done()
	conn, err := db.acquire(ctx)
	if err != nil {
		return err
	}
	defer letGo(conn)
	t, err := beginOn(ctx, conn, options)
	if err != nil {
		return db.notBegun(ctx, err)
	}
	running := true
	defer func() {
		if running { // fn panics: its connection and locks must not go with it
			_ = rollback(ctx, t)
		}
	}()
	// Postgres keeps microseconds; truncating here makes what is read back equal to what was written.
	now := db.now().UTC().Truncate(time.Microsecond)
	err = fn(ctx, &tx{Tx: t, program: program, now: now, reads: as == reading})
	running = false
	if err != nil {
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

// beginError is a transaction that did not begin, so that nothing was done.
type beginError struct{ err error }

func (e *beginError) Error() string { return "begin: " + e.err.Error() }
func (e *beginError) Unwrap() error { return e.err }

// commitError is a COMMIT whose outcome may be unknown. A client that sends the same again is safe: its ids make
// the repeat "unchanged" when the commit went through.
type commitError struct{ err error }

func (e *commitError) Error() string { return "commit: " + e.err.Error() }
func (e *commitError) Unwrap() error { return e.err }
