package postgres

import (
	"context"
	"errors"
	"net"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
)

// A peer that says nothing for so long is dead: a network that was cut tells neither side.
const (
	peerIdle    = 5 * time.Second // before the first question whether it is there
	peerAgain   = 2 * time.Second // between two questions
	peerTries   = 3
	peerTimeout = 10 * time.Second // for what was sent to be confirmed
)

// beginLimit bounds a BEGIN, which waits for nobody: what takes longer went to a dead server.
const beginLimit = 2 * time.Second

// dialer makes connections on which this side finds out in seconds that the server is gone.
func dialer() *net.Dialer {
	return &net.Dialer{
		KeepAliveConfig: net.KeepAliveConfig{Enable: true, Idle: peerIdle, Interval: peerAgain, Count: peerTries},
		Control:         peerControl,
	}
}

// watchPeer has the server find out in seconds that this side is gone, and give up what it is waiting for then. These are
// settings of the session made after it began, for a pooler may refuse them at its start; a server that has not all of
// them does without: the transactions' own limits hold all the same.
func watchPeer(ctx context.Context, conn *pgconn.PgConn) error {
	for _, sql := range []string{
		`SELECT set_config('tcp_keepalives_idle', '5', false), set_config('tcp_keepalives_interval', '2', false),
			set_config('tcp_keepalives_count', '3', false), set_config('tcp_user_timeout', '10000', false)`,
		`SELECT set_config('client_connection_check_interval', '1000', false)`,
	} {
		_, err := conn.Exec(ctx, sql).ReadAll()
		if _, refused := errors.AsType[*pgconn.PgError](err); err != nil && !refused {
			return err
		}
	}
	return nil
}

// acquireError is a connection that was not to be had, so that nothing was done. Trying again would only keep the caller.
type acquireError struct{ err error }

func (e *acquireError) Error() string { return "acquire: " + e.err.Error() }
func (e *acquireError) Unwrap() error { return e.err }

// acquire takes a connection from the pool, or makes one, and does not wait for long.
func (db *DB) acquire(ctx context.Context) (*pgxpool.Conn, error) {
	waiting, cancel := context.WithTimeout(ctx, db.shares.Connect)
	defer cancel()
	conn, err := db.pool.Acquire(waiting)
	if err != nil {
		return nil, &acquireError{err}
	}
	return conn, nil
}

// letGo gives a connection back; one that failed inside a transaction is thrown away. One that broke leaves the pool at
// once: the driver takes up to 15 seconds over its end, and it must not keep another's place meanwhile.
func letGo(conn *pgxpool.Conn) {
	if conn.Conn().IsClosed() {
		conn.Hijack()
		return
	}
	conn.Release()
}

// beginOn begins a transaction on a connection that may be dead.
func beginOn(ctx context.Context, conn *pgxpool.Conn, options pgx.TxOptions) (pgx.Tx, error) {
	ctx, cancel := context.WithTimeout(ctx, beginLimit)
	defer cancel()
	return conn.BeginTx(ctx, options)
}

// notBegun is about a transaction that did not begin. When its connection had died, so have the others that lie idle.
func (db *DB) notBegun(ctx context.Context, err error) error {
	failed := &beginError{err}
	if ctx.Err() == nil && pooledLost(failed) {
		db.pool.Reset()
	}
	return failed
}
