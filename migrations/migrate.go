package migrations

import (
	"context"
	"fmt"
	"io/fs"
	"slices"

	"github.com/golang-migrate/migrate/v4"
)

// Up applies every migration the database lacks. It stops between two files when the context ends, never within one.
// The login must own the schema and be allowed to create roles. Only one program may migrate at a time: a second one
// waits for a while, then says so.
func Up(ctx context.Context, databaseURL string) error {
	return alone(ctx, databaseURL, func() error { return up(ctx, FS, databaseURL) })
}

// Down takes back the newest migrations, as many as steps says; zero or less takes all of them back. What the tables
// held is lost.
func Down(ctx context.Context, databaseURL string, steps int) error {
	return alone(ctx, databaseURL, func() error { return down(ctx, FS, databaseURL, steps) })
}

// Force writes down the version the schema has, without running anything, and marks it clean. It's for recovery only,
// as the *DirtyError says. Version -1 means that no migration is applied.
func Force(ctx context.Context, databaseURL string, version int) error {
	return alone(ctx, databaseURL, func() error { return force(ctx, FS, databaseURL, version) })
}

func up(ctx context.Context, files fs.FS, databaseURL string) error {
	versions, err := versionsIn(files)
	if err != nil {
		return err
	}
	latest := versions[len(versions)-1]
	return walk(ctx, files, databaseURL, 1, func(current int) (bool, error) {
		if current > latest {
			return false, fmt.Errorf("migrations: the database is at version %d, but this program knows versions up to %d only: use the newer program", current, latest)
		}
		return current < latest, nil
	})
}

func down(ctx context.Context, files fs.FS, databaseURL string, steps int) error {
	all, taken := steps <= 0, 0
	return walk(ctx, files, databaseURL, -1, func(current int) (bool, error) {
		more := current != none && (all || taken < steps)
		taken++
		return more, nil
	})
}

// walk runs files one at a time in a direction for as long as more says so. One at a time because the library can't be
// told of a context: between two files is the only place where stopping is safe.
func walk(ctx context.Context, files fs.FS, databaseURL string, step int, more func(current int) (bool, error)) error {
	m, err := open(ctx, files, databaseURL)
	if err != nil {
		return explain(err, files)
	}
	defer m.Close()

	for {
		current, err := currentVersion(ctx, databaseURL)
		if err != nil {
			return explain(err, files)
		}
		if goOn, err := more(current); !goOn || err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("migrations: stopped between two files: %w", err)
		}
		if err := m.Steps(step); err != nil {
			return fmt.Errorf("%w (the step was %+d from version %d)", explain(err, files), step, current)
		}
	}
}

func force(ctx context.Context, files fs.FS, databaseURL string, version int) error {
	versions, err := versionsIn(files)
	if err != nil {
		return err
	}
	if version != none && !slices.Contains(versions, version) {
		return fmt.Errorf("migrations: there is no version %d", version)
	}
	m, err := open(ctx, files, databaseURL)
	if err != nil {
		return explain(err, files)
	}
	defer m.Close()
	return explain(m.Force(version), files)
}

// currentVersion is the applied version, none when there is none, and an error when the last run left it in doubt. The
// library would hide the doubt about version none.
func currentVersion(ctx context.Context, databaseURL string) (int, error) {
	version, dirty, err := readVersion(ctx, databaseURL)
	if err == nil && dirty {
		err = migrate.ErrDirty{Version: version}
	}
	return version, err
}
