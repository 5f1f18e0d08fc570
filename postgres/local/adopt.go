package local

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

const invalidPassword = "28P01"

// adopt takes over a server that a program of ours left running when it was killed. It gives false when there is none,
// which includes a server that was killed itself: Postgres recovers from that when it's started.
func (c *cluster) adopt(ctx context.Context) (postmaster, bool, error) {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	for {
		found, ok := readPostmaster(c.data())
		if !ok {
			return postmaster{}, false, nil
		}
		if !running(found.pid, c.data()) {
			return postmaster{}, false, c.discard(found)
		}
		// It may still be starting, or stopping.
		if found.ready {
			err := c.verify(ctx, found.port)
			if err == nil {
				c.say("adopted the server that runs in %s on 127.0.0.1:%d", c.dir, found.port)
				return found, true, nil
			}
			if refused := (*pgconn.PgError)(nil); errors.As(err, &refused) && refused.Code == invalidPassword {
				return postmaster{}, false, fmt.Errorf("local: a server runs in %s (process %d), but not with the password in %s: stop it, or put the right password there", c.dir, found.pid, passwordFile)
			}
		}
		if err := sleep(ctx, 10*pause); err != nil {
			return postmaster{}, false, fmt.Errorf("local: a server runs in %s (process %d), but doesn't answer: %w", c.dir, found.pid, err)
		}
	}
}

// discard removes a dead server's note about itself in the one case in which Postgres wouldn't: another process has got
// its number since.
func (c *cluster) discard(dead postmaster) error {
	if exited(dead.pid) {
		return nil
	}
	c.say("process %d isn't the server any more that ran in %s", dead.pid, c.dir)
	return os.Remove(filepath.Join(c.data(), "postmaster.pid"))
}

// verify connects with our password and checks that the server which answers is the one of this directory.
func (c *cluster) verify(ctx context.Context, port int) error {
	ctx, cancel := context.WithTimeout(ctx, 10*time.Second)
	defer cancel()
	config, err := pgx.ParseConfig(address(c.password, port, "postgres"))
	if err != nil {
		return err
	}
	// A stranger that got hold of the port must not be told the password, which other methods would do.
	config.RequireAuth = "scram-sha-256"
	conn, err := pgx.ConnectConfig(ctx, config)
	if err != nil {
		return err
	}
	defer conn.Close(context.WithoutCancel(ctx))

	var data string
	if err := conn.QueryRow(ctx, "SHOW data_directory").Scan(&data); err != nil {
		return err
	}
	if real, err := filepath.EvalSymlinks(data); err != nil || real != c.data() {
		return fmt.Errorf("the server on port %d is that of %s", port, data)
	}
	return nil
}
