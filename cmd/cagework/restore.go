package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"filippo.io/age"

	"cagework/domain/judgement"
	"cagework/migrations"
	"cagework/postgres"
	"cagework/postgres/backup"
)

type restoreCmd struct {
	File        string `arg:"" help:"The backup."`
	DatabaseURL string `name:"database-url" env:"DATABASE_URL" help:"The database (required), which must be empty, under the login that owns it."`
	Create      bool   `name:"create" help:"Make the database."`
	Jobs        int    `name:"jobs" default:"1" help:"How many tables to restore at once; more than one needs room for the dump in TMPDIR, in the clear."`
	Erasures    string `name:"erasures-file" env:"CAGEWORK_ERASURES_FILE" help:"The list of erasures that serve keeps apart from the database: whoever stands on it is erased again before anybody can connect."`
	NoErasures  bool   `name:"no-erasures" help:"There is no such list: whoever was erased since the backup comes back."`
	openFlags   `embed:""`
}

// Validate refuses what cannot work, before anything starts.
func (r restoreCmd) Validate() error {
	switch {
	case r.Erasures == "" && !r.NoErasures:
		return errors.New("give --erasures-file, or whoever was erased since the backup comes back; --no-erasures says that this is meant")
	case r.Erasures != "" && r.NoErasures:
		return errors.New("--erasures-file and --no-erasures contradict each other")
	}
	return checkDatabaseURL(r.DatabaseURL)
}

// Run brings a backup back, compares it, and erases again whoever was erased since.
func (r restoreCmd) Run(ctx context.Context, c *console) error {
	keys, err := r.keys()
	if err != nil {
		return err
	}
	latest, err := migrations.Latest()
	if err != nil {
		return err
	}
	if err := r.mayErase(keys, latest); err != nil {
		return err
	}
	begun := time.Now()
	restored, err := backup.Restore(ctx, backup.RestoreOptions{
		DatabaseURL: r.DatabaseURL, Path: r.File, Identities: keys, Create: r.Create, Jobs: r.Jobs,
		Before: func(ctx context.Context, m *backup.Manifest) error { return r.eraseAgain(ctx, c, m, latest) },
	})
	if err != nil {
		return err
	}
	m := &restored.Manifest
	c.printf("restored what stood at %s: %d rows in %d tables, compared with the backup, in %.1f s\n",
		m.MadeAt.Format(time.RFC3339), m.Rows(), len(m.Tables), time.Since(begun).Seconds())
	for _, role := range restored.Roles {
		c.notef("made the role %s, which can't log in\n", role)
	}
	switch {
	case m.Schema < latest && r.Erasures == "":
		c.notef("next: cagework migrate (the schema is %d, this program needs %d)\n", m.Schema, latest)
	case m.Schema > latest:
		c.notef("next: a newer cagework (the schema is %d, this one knows %d)\n", m.Schema, latest)
	}
	if r.NoErasures {
		c.notef("whoever was erased since the backup is back\n")
	}
	c.notef("tokens that were revoked and sessions that ended since the backup work again: revoke and end them again\n" +
		"next: the service's login, a plain member of cagework_service; a backup holds no logins and no passwords\n" +
		"then, on each phone and whatever else follows changes: start the change feed over, and send again what it still holds.\n" +
		"What is there already is answered with 200. What was written after the backup and is held by nobody is gone.\n")
	return nil
}

// mayErase finds out, before anything is touched, whether the list can be read and this program knows the schema.
func (r restoreCmd) mayErase(keys []age.Identity, latest uint) error {
	if r.Erasures == "" {
		return nil
	}
	if _, err := readErasures(r.Erasures); err != nil {
		return fmt.Errorf("--erasures-file: %w", err)
	}
	file, err := backup.Open(r.File, keys)
	if err != nil {
		return err
	}
	defer file.Close()
	if file.Manifest.Schema > latest {
		return fmt.Errorf("the backup's schema is %d and this program knows %d, so it can't erase anybody there: use the newer cagework",
			file.Manifest.Schema, latest)
	}
	return nil
}

// eraseAgain erases whoever stands on the list, in a database to which nobody else can connect yet. It takes the schema that
// erases.
func (r restoreCmd) eraseAgain(ctx context.Context, c *console, m *backup.Manifest, latest uint) error {
	if r.Erasures == "" {
		return nil
	}
	if m.Schema < latest {
		if err := migrations.Up(ctx, r.DatabaseURL); err != nil {
			return err
		}
		c.notef("migrated from schema %d to %d\n", m.Schema, latest)
	}
	give, err := backup.Lend(ctx, r.DatabaseURL, "cagework_service")
	if err != nil {
		return err
	}
	persons, programs, err := r.replay(ctx)
	if err := errors.Join(err, give(ctx)); err != nil {
		return fmt.Errorf("erase again whoever was erased: %w", err)
	}
	c.notef("erased again: %d persons and %d programs\n", persons, programs)
	return nil
}

func (r restoreCmd) replay(ctx context.Context) (persons, programs int, err error) {
	db, err := postgres.Open(ctx, postgres.Config{URL: r.DatabaseURL, MaxConns: 2})
	if err != nil {
		return 0, 0, err
	}
	defer db.Close()
	return replayErasures(ctx, postgres.NewStores(db, judgement.Judge{}), r.Erasures)
}
