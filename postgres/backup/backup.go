// Package backup writes a database into one file, and a file back into a database, through the standard tools pg_dump and
// pg_restore, while the service works.
//
// A backup carries what a dump lacks: the roles that hold rights, and a manifest that says how many rows each table holds
// and what they sum up to, read in the very snapshot that the dump is taken of. So it can be verified: restored into a
// scratch database that is dropped afterwards, and compared. It is encrypted where a key is given (age), and its name is
// never that of half a file.
//
// While a database is being restored nobody but its owner can connect to it, and it says that it is not ready.
package backup

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os/exec"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"cagework/postgres/local"
)

// Options say what to back up, and where to.
type Options struct {
	// DatabaseURL is the database, under a login that sees all rows.
	DatabaseURL string
	// Path is the file to be made. It must not be there yet.
	Path string
	// Keys encrypt the file, where there are any.
	Keys Keys
	// Program is this program's version, for the manifest.
	Program string
	// Now is the clock, the system's when nil.
	Now func() time.Time
}

// Made is a backup that was written.
type Made struct {
	Path     string
	Manifest Manifest
	Bytes    int64
	// keys open the file in this run.
	keys Keys
}

// Make writes a backup. Whatever happens, there is no file under its name unless all of it is on the disk.
func Make(ctx context.Context, o Options) (*Made, error) {
	conn, err := connect(ctx, o.DatabaseURL)
	if err != nil {
		return nil, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	l, err := whoAmI(ctx, conn)
	if err != nil {
		return nil, err
	}
	if err := mustSeeAll(ctx, conn, l); err != nil {
		return nil, err
	}
	with, err := findTools(ctx, l.major, "the server")
	if err != nil {
		return nil, err
	}
	keys, err := o.Keys.forThisRun()
	if err != nil {
		return nil, err
	}
	file, err := newDraft(o.Path)
	if err != nil {
		return nil, err
	}
	defer file.drop()
	made := &Made{Path: o.Path, keys: keys}
	if err := made.write(ctx, conn, o, l, with, file); err != nil {
		return nil, err
	}
	info, err := file.Stat()
	if err != nil {
		return nil, err
	}
	made.Bytes = info.Size()
	return made, file.keep()
}

func (b *Made) write(ctx context.Context, conn *pgx.Conn, o Options, l login, with local.Binaries, file *draft) error {
	now := o.Now
	if now == nil {
		now = time.Now
	}
	return inSnapshot(ctx, conn, func(tx pgx.Tx, all []Table, snapshot string) error {
		b.Manifest = Manifest{
			Format: format, MadeAt: now().UTC().Truncate(time.Second), Program: o.Program,
			Server: l.version, ServerMajor: l.major, Tool: with.Version, ToolMajor: with.Major, Tables: all,
		}
		if err := b.Manifest.read(ctx, tx); err != nil {
			return err
		}
		encrypting, err := b.keys.encrypt(file)
		if err != nil {
			return err
		}
		to, err := newWriter(encrypting, &b.Manifest)
		if err != nil {
			return err
		}
		if err := dump(ctx, with, o.DatabaseURL, conn.Config().Database, snapshot, to); err != nil {
			return err
		}
		return errors.Join(to.end(), encrypting.Close())
	})
}

// inSnapshot runs fn while the database stands still for this transaction and for whoever is told its snapshot. The
// tables are locked before the snapshot is taken: emptying a table is not undone for older snapshots, so that a migration
// in between would be half seen.
func inSnapshot(ctx context.Context, conn *pgx.Conn, fn func(tx pgx.Tx, all []Table, snapshot string) error) error {
	before, err := tables(ctx, conn)
	if err != nil {
		return err
	}
	if len(before) == 0 {
		return errors.New("the database holds no tables: is it the right one, and was it migrated?")
	}
	tx, err := conn.BeginTx(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly})
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }()
	if _, err := tx.Exec(ctx, `SET LOCAL lock_timeout = '60s'`); err != nil {
		return err
	}
	if _, err := tx.Exec(ctx, `LOCK TABLE `+named(before)+` IN ACCESS SHARE MODE`); err != nil {
		return fmt.Errorf("lock the tables against a change of the schema: %w", err)
	}
	var snapshot string
	if err := tx.QueryRow(ctx, `SELECT pg_export_snapshot()`).Scan(&snapshot); err != nil {
		return fmt.Errorf("export a snapshot: %w", err)
	}
	now, err := tables(ctx, tx)
	if err != nil {
		return err
	}
	if named(now) != named(before) {
		return errors.New("the schema changes just now: try again when the migration is over")
	}
	return fn(tx, now, snapshot)
}

// read fills in what is read from the database.
func (m *Manifest) read(ctx context.Context, tx pgx.Tx) (err error) {
	if err := count(ctx, tx, m.Tables); err != nil {
		return err
	}
	if m.Roles, err = grantees(ctx, tx); err != nil {
		return err
	}
	var dirty bool
	err = tx.QueryRow(ctx, `SELECT version, dirty FROM `+versions).Scan(&m.Schema, &dirty)
	var refused *pgconn.PgError
	switch {
	case errors.Is(err, pgx.ErrNoRows), errors.As(err, &refused) && refused.Code == "42P01":
		return errors.New("the database was never migrated: there is nothing to back up")
	case err != nil:
		return fmt.Errorf("read the schema's version: %w", err)
	case dirty:
		return fmt.Errorf("migration %d failed half-way: see cagework migrate --help, then back up", m.Schema)
	}
	return nil
}

// dump has pg_dump write what the snapshot shows.
func dump(ctx context.Context, with local.Binaries, databaseURL, database, snapshot string, to *writer) error {
	env, err := toolEnvironment(databaseURL, database)
	if err != nil {
		return err
	}
	var said bytes.Buffer
	cmd := exec.CommandContext(ctx, with.Program(dumpTool), "--format=custom", "--no-password", "--snapshot="+snapshot,
		"--lock-wait-timeout=60s", "--dbname="+conninfo(database))
	cmd.Env, cmd.Stdout, cmd.Stderr, cmd.WaitDelay = env, to, &said, 5*time.Second
	if err := cmd.Run(); err != nil {
		return toolFailed(ctx, dumpTool, err, said.String())
	}
	return nil
}

// toolFailed says why a tool failed, in its own words.
func toolFailed(ctx context.Context, tool string, err error, said string) error {
	if ctx.Err() != nil {
		return fmt.Errorf("%s was stopped: %w", tool, ctx.Err())
	}
	lines := strings.Split(strings.TrimSpace(said), "\n")
	return fmt.Errorf("%s: %w\n  %s", tool, err, strings.Join(lines[:min(len(lines), 12)], "\n  "))
}
