package migrations

import (
	"context"
	"errors"
	"fmt"
	"io/fs"

	"github.com/golang-migrate/migrate/v4"
	driver "github.com/golang-migrate/migrate/v4/database/pgx/v5"
	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
)

// lockTimeout ends the wait for another migration's lock, which has no deadline of its own, and for a table that is in
// use. A file that needs another limit says SET LOCAL lock_timeout.
const lockTimeout = "15s"

// The SQLSTATEs that mean something here.
const (
	lockNotAvailable = "55P03"
	undefinedTable   = "42P01"
)

// Version reads which migration was applied last, zero for none, and whether a migration failed half way. It only
// reads, so any login that may read the table can ask.
func Version(ctx context.Context, databaseURL string) (version uint, dirty bool, err error) {
	stored, dirty, err := readVersion(ctx, databaseURL)
	if err != nil {
		return 0, false, fmt.Errorf("migrations: %w", err)
	}
	return uint(max(stored, 0)), dirty, nil
}

func readVersion(ctx context.Context, databaseURL string) (version int, dirty bool, err error) {
	conn, err := pgx.Connect(ctx, databaseURL)
	if err != nil {
		return none, false, err
	}
	defer conn.Close(context.WithoutCancel(ctx))

	err = conn.QueryRow(ctx, `SELECT version, dirty FROM schema_migrations`).Scan(&version, &dirty)
	var refused *pgconn.PgError
	switch {
	case errors.Is(err, pgx.ErrNoRows), errors.As(err, &refused) && refused.Code == undefinedTable:
		return none, false, nil
	case err != nil:
		return none, false, fmt.Errorf("read the version: %w", err)
	}
	return version, dirty, nil
}

// open connects the library to the database. Closing what it returns closes the connections too.
func open(ctx context.Context, files fs.FS, databaseURL string) (*migrate.Migrate, error) {
	config, err := pgx.ParseConfig(databaseURL)
	if err != nil {
		return nil, err
	}
	if _, set := config.RuntimeParams["lock_timeout"]; !set {
		config.RuntimeParams["lock_timeout"] = lockTimeout
	}
	db := stdlib.OpenDB(*config)
	// The library pings without a context: find out here, where it can be cancelled.
	if err := db.PingContext(ctx); err != nil {
		_ = db.Close()
		return nil, err
	}
	target, err := driver.WithInstance(db, &driver.Config{})
	if err != nil {
		_ = db.Close()
		return nil, err
	}
	from, err := iofs.New(files, ".")
	if err != nil {
		_ = target.Close()
		return nil, err
	}
	return migrate.NewWithInstance("iofs", from, "pgx5", target)
}
