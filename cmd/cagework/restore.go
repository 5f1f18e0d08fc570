package main

import (
	"context"
	"time"

	"cagework/migrations"
	"cagework/postgres/backup"
)

type restoreCmd struct {
	File        string `arg:"" help:"The backup."`
	DatabaseURL string `name:"database-url" env:"DATABASE_URL" help:"The database (required), which must be empty, under the login that owns it."`
	Create      bool   `name:"create" help:"Make the database."`
	Jobs        int    `name:"jobs" default:"1" help:"How many tables to restore at once; more than one needs room for the dump in TMPDIR, in the clear."`
	openFlags   `embed:""`
}

// Validate refuses what cannot work, before anything starts.
func (r restoreCmd) Validate() error { return checkDatabaseURL(r.DatabaseURL) }

// Run brings a backup back and compares it.
func (r restoreCmd) Run(ctx context.Context, c *console) error {
	keys, err := r.keys()
	if err != nil {
		return err
	}
	latest, err := migrations.Latest()
	if err != nil {
		return err
	}
	begun := time.Now()
	restored, err := backup.Restore(ctx, backup.RestoreOptions{
		DatabaseURL: r.DatabaseURL, Path: r.File, Identities: keys, Create: r.Create, Jobs: r.Jobs,
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
	case m.Schema < latest:
		c.notef("next: cagework migrate (the schema is %d, this program needs %d)\n", m.Schema, latest)
	case m.Schema > latest:
		c.notef("next: a newer cagework (the schema is %d, this one knows %d)\n", m.Schema, latest)
	}
	c.notef("next: the service's login, a plain member of cagework_service; a backup holds no logins and no passwords\n" +
		"then, on each phone and whatever else follows changes: start the change feed over, and send again what it still holds.\n" +
		"What is there already is answered with 200. What was written after the backup and is held by nobody is gone.\n")
	return nil
}
