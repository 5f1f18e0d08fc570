package backup

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"filippo.io/age"
	"github.com/jackc/pgx/v5"

	"cagework/postgres/local"
)

// The ways in which a restore can fail that are told apart. The error around each says more.
var (
	ErrDiffers  = errors.New("what was restored differs from what was backed up")
	ErrNotEmpty = errors.New("the database is not empty, and a restore never writes over anything")
)

// RestoreOptions say what to restore, and where to.
type RestoreOptions struct {
	// DatabaseURL is the database, under a login that owns it or is a superuser. It must be empty.
	DatabaseURL string
	// Path is the backup, Identities what opens it when it is encrypted.
	Path       string
	Identities []age.Identity
	// Create makes the database.
	Create bool
	// Jobs is how many tables are written at once; more than one takes a copy of the dump beside TMPDIR, in the clear and
	// readable for us alone, until it is done.
	Jobs int
	// Before, if any, is called when all is back and compared, before anybody can connect.
	Before func(context.Context, *Manifest) error
}

// Restored is a database that holds what a backup held.
type Restored struct {
	Manifest Manifest
	// Roles are those that the server lacked. None of them can log in.
	Roles []string
}

// Restore brings a backup back. The whole file is read before anything is touched. Until all is compared and Before has
// returned, the database is closed to everybody but its owner and superusers, and says that it is not ready.
func Restore(ctx context.Context, o RestoreOptions) (*Restored, error) {
	m, err := Check(o.Path, o.Identities)
	if err != nil {
		return nil, err
	}
	with, err := findTools(ctx, m.ToolMajor, "the backup")
	if err != nil {
		return nil, err
	}
	if o.Create {
		drop, err := create(ctx, o.DatabaseURL)
		if err != nil {
			return nil, err
		}
		restored, err := restore(ctx, o, m, with)
		if err != nil {
			return nil, errors.Join(err, drop(context.WithoutCancel(ctx)))
		}
		return restored, nil
	}
	return restore(ctx, o, m, with)
}

func restore(ctx context.Context, o RestoreOptions, m *Manifest, with local.Binaries) (*Restored, error) {
	conn, err := connect(ctx, o.DatabaseURL)
	if err != nil {
		return nil, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	l, err := whoAmI(ctx, conn)
	if err != nil {
		return nil, err
	}
	if l.major < m.ServerMajor {
		return nil, fmt.Errorf("the backup is of a server of PostgreSQL %d, this one is %s: restore on the same or a newer major version",
			m.ServerMajor, l.version)
	}
	missing, err := mayRestore(ctx, conn, l, m)
	if err != nil {
		return nil, err
	}
	reopen, err := shut(ctx, conn)
	if err != nil {
		return nil, err
	}
	if err := alone(ctx, conn); err != nil {
		return nil, errors.Join(err, reopen(ctx))
	}
	err = fill(ctx, conn, l, o, m, with, missing)
	if err == nil && o.Before != nil {
		err = o.Before(ctx, m)
	}
	if err == nil {
		err = reopen(ctx)
	}
	if err != nil {
		return nil, fmt.Errorf("%w\n  the database %s is unfinished and stays closed: drop it before you try again", err, conn.Config().Database)
	}
	return &Restored{Manifest: *m, Roles: missing}, nil
}

func fill(ctx context.Context, conn *pgx.Conn, l login, o RestoreOptions, m *Manifest, with local.Binaries, missing []string) error {
	for _, role := range missing {
		_, err := conn.Exec(ctx, `CREATE ROLE `+pgx.Identifier{role}.Sanitize()+
			` NOLOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOREPLICATION NOBYPASSRLS`)
		if err != nil {
			return fmt.Errorf("make the role %s: %w", role, err)
		}
	}
	if err := load(ctx, o, conn.Config().Database, with, l); err != nil {
		return err
	}
	if err := compare(ctx, conn, l, m); err != nil {
		return err
	}
	if _, err := conn.Exec(ctx, `ANALYZE`); err != nil {
		return fmt.Errorf("gather statistics: %w", err)
	}
	return nil
}

// mayRestore finds out what would fail later. It gives the roles that the server lacks.
func mayRestore(ctx context.Context, conn *pgx.Conn, l login, m *Manifest) (missing []string, err error) {
	var owner, unfinished, filled bool
	err = conn.QueryRow(ctx, `SELECT
			(SELECT pg_has_role(datdba, 'USAGE') FROM pg_database WHERE datname = current_database()),
			to_regnamespace('`+marker+`') IS NOT NULL,
			EXISTS (SELECT FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
				WHERE n.nspname NOT LIKE 'pg\_%' AND n.nspname <> 'information_schema')`).Scan(&owner, &unfinished, &filled)
	name := conn.Config().Database
	switch {
	case err != nil:
		return nil, err
	case unfinished:
		return nil, fmt.Errorf("%w: %s holds a restore that was not finished: drop it, then restore with --create", ErrNotEmpty, name)
	case filled:
		return nil, fmt.Errorf("%w: %s holds tables. Name another one; --create makes it", ErrNotEmpty, name)
	case !owner:
		return nil, fmt.Errorf("%q does not own the database %s: restore with the login that owns it, which migrates it too", l.name, name)
	}
	rows, err := conn.Query(ctx, `SELECT r FROM unnest($1::text[]) r WHERE r NOT IN (SELECT rolname::text FROM pg_roles)`, m.Roles)
	if err != nil {
		return nil, err
	}
	if missing, err = pgx.CollectRows(rows, pgx.RowTo[string]); err != nil {
		return nil, err
	}
	if len(missing) > 0 && !l.roles {
		return nil, fmt.Errorf("the server lacks the role %s, and %q may not make roles. As a superuser, once:  CREATE ROLE %s NOLOGIN",
			missing[0], l.name, pgx.Identifier{missing[0]}.Sanitize())
	}
	return missing, nil
}

// load has pg_restore write the dump into the database.
func load(ctx context.Context, o RestoreOptions, database string, with local.Binaries, l login) error {
	r, err := Open(o.Path, o.Identities)
	if err != nil {
		return err
	}
	defer r.Close()
	if o.Jobs < 2 {
		return runRestore(ctx, o, database, with, l, r)
	}
	copied, remove, err := unpack(r)
	if err != nil {
		return err
	}
	defer remove()
	jobs := "--jobs=" + strconv.Itoa(o.Jobs)
	if l.bypass {
		return runRestore(ctx, o, database, with, l, nil, jobs, copied)
	}
	// Several at once would force row security on one table while a foreign key of another is checked, which must see all rows.
	err = runRestore(ctx, o, database, with, l, nil, "--section=pre-data", "--section=data", jobs, copied)
	if err != nil {
		return err
	}
	return runRestore(ctx, o, database, with, l, nil, "--section=post-data", copied)
}

func runRestore(ctx context.Context, o RestoreOptions, database string, with local.Binaries, l login, from io.Reader, more ...string) error {
	env, err := toolEnvironment(o.DatabaseURL, database)
	if err != nil {
		return err
	}
	args := []string{"--dbname=" + conninfo(database), "--no-owner", "--no-tablespaces", "--no-publications", "--no-subscriptions",
		"--no-password"}
	if with.Major <= l.major {
		args = append(args, "--exit-on-error")
	}
	var said bytes.Buffer
	cmd := exec.CommandContext(ctx, with.Program(restoreTool), append(args, more...)...)
	cmd.Env, cmd.Stdin, cmd.Stderr, cmd.WaitDelay = env, from, &said, 5*time.Second
	if err := cmd.Run(); err != nil && !onlyNewer(err, said.String()) {
		return toolFailed(ctx, restoreTool, err, said.String())
	}
	return nil
}

// onlyNewer says that all pg_restore had to complain of is that a server older than itself lacks a setting that it resets.
func onlyNewer(err error, said string) bool {
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 1 {
		return false
	}
	seen := false
	for line := range strings.Lines(said) {
		if strings.Contains(line, "error:") {
			if !strings.Contains(line, `unrecognized configuration parameter "transaction_timeout"`) {
				return false
			}
			seen = true
		}
	}
	return seen
}

// unpack puts the dump into a file of its own, for several readers at once.
func unpack(r io.Reader) (path string, remove func(), err error) {
	dir, err := os.MkdirTemp("", "cagework-restore-") // mode 0700
	if err != nil {
		return "", nil, err
	}
	remove = func() { _ = os.RemoveAll(dir) }
	path = filepath.Join(dir, "dump")
	file, err := os.OpenFile(path, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err == nil {
		_, err = io.Copy(file, r)
		err = errors.Join(err, file.Close())
	}
	if err != nil {
		remove()
		return "", nil, err
	}
	return path, remove, nil
}

// compare holds a database against the manifest. An owner from whom row security hides the rows takes that away for the
// length of this transaction, which is rolled back.
func compare(ctx context.Context, on beginner, l login, m *Manifest) error {
	tx, err := on.Begin(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }()
	all, err := tables(ctx, tx)
	if err != nil {
		return err
	}
	for _, t := range all {
		if t.Forced && !l.bypass {
			if _, err := tx.Exec(ctx, `ALTER TABLE `+t.Name+` NO FORCE ROW LEVEL SECURITY`); err != nil {
				return fmt.Errorf("read %s: %w", t.Name, err)
			}
		}
	}
	if err := count(ctx, tx, all); err != nil {
		return err
	}
	if found := m.differences(all); len(found) > 0 {
		return fmt.Errorf("%w:\n  %s", ErrDiffers, strings.Join(found, "\n  "))
	}
	return nil
}

// beginner is a connection, or a transaction for one within it.
type beginner interface {
	Begin(ctx context.Context) (pgx.Tx, error)
}
