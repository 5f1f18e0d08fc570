package migrations

import (
	"errors"
	"fmt"
	"io/fs"

	"github.com/golang-migrate/migrate/v4"
	"github.com/golang-migrate/migrate/v4/database"
	"github.com/jackc/pgx/v5/pgconn"
)

// DirtyError says that an earlier migration failed, and how to go on. Nothing is run until that is done.
type DirtyError struct {
	// Version is the one that was being reached, -1 when the first migration was being taken back.
	Version int
	// Before and After are its neighbours, -1 for none; After is Version itself if there is no later one.
	Before, After int
}

// Error tells the two cases apart that the database can't: was it on the way up or down?
func (e *DirtyError) Error() string {
	up := fmt.Sprintf("on the way up to %d, the schema still is what version %d made: `cagework migrate force %d`", e.Version, e.Before, e.Before)
	down := fmt.Sprintf("on the way down to %d, it still is what version %d made: `cagework migrate force %d`", e.Version, e.After, e.After)
	choice := up
	switch {
	case e.Version == none:
		choice = down
	case e.After != e.Version:
		choice = up + "; " + down
	}
	return fmt.Sprintf("migrations: an earlier migration failed and left the database marked dirty at version %d. "+
		"A file is one transaction, so nothing of the failed one remains. To recover: repair the cause (the failed run said what it was), "+
		"then write down the version the schema really has, then migrate again. If it failed %s. "+
		"(-1 means no migration at all. Only a file that builds an index CONCURRENTLY may leave one behind that is INVALID: drop it first.)",
		e.Version, choice)
}

// explain turns the library's errors into ones that say what to do.
func explain(err error, files fs.FS) error {
	var (
		dirty   migrate.ErrDirty
		failed  database.Error
		refused *pgconn.PgError
	)
	switch {
	case err == nil:
		return nil
	case errors.As(err, &dirty):
		versions, listErr := versionsIn(files)
		if listErr != nil {
			return listErr
		}
		before, after := around(versions, dirty.Version)
		return &DirtyError{Version: dirty.Version, Before: before, After: after}
	case errors.Is(err, migrate.ErrLockTimeout), code(err) == lockNotAvailable && !errors.As(err, &failed):
		return fmt.Errorf("migrations: another program is migrating this database: wait until it's done, then try again: %w", err)
	case errors.As(err, &failed):
		// The library's own text repeats the whole file.
		reason := failed.OrigErr
		if errors.As(reason, &refused) && refused.Detail != "" {
			reason = fmt.Errorf("%w: %s", reason, refused.Detail)
		}
		return fmt.Errorf("migrations: a file failed at its line %d, nothing of it was kept, and the database is marked dirty: %w", failed.Line, reason)
	default:
		return fmt.Errorf("migrations: %w", err)
	}
}

// code is the SQLSTATE behind an error, empty when there is none.
func code(err error) string {
	var (
		wrapped *database.Error
		refused *pgconn.PgError
	)
	if errors.As(err, &wrapped) {
		err = wrapped.OrigErr
	}
	if errors.As(err, &refused) {
		return refused.Code
	}
	return ""
}
