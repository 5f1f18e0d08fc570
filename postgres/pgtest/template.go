package pgtest

import (
	"context"
	"errors"
	"fmt"
	"time"

	"cagework/migrations"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// lockKey is the advisory lock under which templates and roles are made, any number that nobody else uses.
const lockKey = 0x6361676577726b

// The SQLSTATEs that mean something here.
const (
	objectInUse       = "55006"
	duplicateDatabase = "42P04"
)

// recipe is how a template comes about: the hash tells one recipe from another.
type recipe struct {
	hash    func() string
	migrate func(ctx context.Context, databaseURL string) error
}

var embedded = recipe{hash: migrations.Hash, migrate: migrations.Up}

// template gives the name of a migrated database to copy, making it when no process has done so yet.
func (s *server) template(ctx context.Context, r recipe) (string, error) {
	s.templates.Lock()
	defer s.templates.Unlock()
	hash := r.hash()[:16]
	name := "tpl_" + hash
	if s.made[name] {
		return name, nil
	}
	err := s.with(ctx, func(conn *pgx.Conn) error {
		if there, err := exists(ctx, conn, name); there || err != nil {
			return err
		}
		return locked(ctx, conn, func() error {
			if there, err := exists(ctx, conn, name); there || err != nil {
				return err
			}
			return s.makeTemplate(ctx, conn, r, "tmp_"+hash, name)
		})
	})
	s.made[name] = err == nil
	return name, err
}

// makeTemplate migrates under another name first: a database with the template's name is complete. What an interrupted
// run left under the other name is removed, as the lock says that nobody works on it.
func (s *server) makeTemplate(ctx context.Context, conn *pgx.Conn, r recipe, draft, name string) error {
	if err := execute(ctx, conn,
		"DROP DATABASE IF EXISTS "+quote(draft)+" WITH (FORCE)",
		"CREATE DATABASE "+quote(draft)+" TEMPLATE template0 ENCODING 'UTF8'",
	); err != nil {
		return err
	}
	if err := r.migrate(ctx, s.adminURL(draft)); err != nil {
		return errors.Join(err, execute(context.WithoutCancel(ctx), conn, "DROP DATABASE "+quote(draft)+" WITH (FORCE)"))
	}
	// Nobody may connect from here on, since a database in use can't be copied. Renaming is the last step, and waits for
	// the migration's sessions to be gone.
	if err := execute(ctx, conn, "ALTER DATABASE "+quote(draft)+" WITH IS_TEMPLATE true ALLOW_CONNECTIONS false"); err != nil {
		return err
	}
	return again(ctx, func() error {
		return execute(ctx, conn, "ALTER DATABASE "+quote(draft)+" RENAME TO "+quote(name))
	})
}

// clone copies a template. Copying files beats logging every page: nothing here has to survive a crash.
func (s *server) clone(ctx context.Context, template, name string) error {
	statement := "CREATE DATABASE " + quote(name) + " TEMPLATE " + quote(template)
	if template == "template0" {
		statement += " ENCODING 'UTF8'"
	}
	if s.major >= 15 {
		statement += " STRATEGY FILE_COPY"
	}
	return again(ctx, func() error {
		return s.with(ctx, func(conn *pgx.Conn) error { return execute(ctx, conn, statement) })
	})
}

func (s *server) drop(ctx context.Context, name string) error {
	return s.with(ctx, func(conn *pgx.Conn) error {
		return execute(ctx, conn, "DROP DATABASE IF EXISTS "+quote(name)+" WITH (FORCE)")
	})
}

// again repeats what fails because a session in the database is about to end.
func again(ctx context.Context, do func() error) error {
	for attempt := 1; ; attempt++ {
		err := do()
		var refused *pgconn.PgError
		if err == nil || attempt == 5 || !errors.As(err, &refused) || refused.Code != objectInUse || ctx.Err() != nil {
			return err
		}
		time.Sleep(time.Duration(attempt) * 50 * time.Millisecond)
	}
}

// locked does something while no other process does the like on this server.
func locked(ctx context.Context, conn *pgx.Conn, do func() error) error {
	if _, err := conn.Exec(ctx, "SELECT pg_advisory_lock($1)", int64(lockKey)); err != nil {
		return fmt.Errorf("wait for other tests: %w", err)
	}
	err := do()
	_, unlockErr := conn.Exec(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock($1)", int64(lockKey))
	return errors.Join(err, unlockErr)
}

func exists(ctx context.Context, conn *pgx.Conn, database string) (bool, error) {
	var there bool
	err := conn.QueryRow(ctx, "SELECT EXISTS (SELECT FROM pg_database WHERE datname = $1)", database).Scan(&there)
	return there, err
}

func execute(ctx context.Context, conn *pgx.Conn, statements ...string) error {
	for _, statement := range statements {
		if _, err := conn.Exec(ctx, statement); err != nil {
			return fmt.Errorf("%s: %w", statement, err)
		}
	}
	return nil
}

func quote(name string) string {
	return pgx.Identifier{name}.Sanitize()
}
