package main

import (
	"context"
	"errors"
	"fmt"

	"cagework/migrations"
)

type migrateCmd struct {
	DatabaseURL string `name:"database-url" env:"DATABASE_URL" help:"The database (required), under a login that owns its schema and may create roles."`

	Up      migrateUp      `cmd:"" default:"1" help:"Apply the migrations that are missing (the default)."`
	Down    migrateDown    `cmd:"" help:"Take migrations back. This drops what they made."`
	Version migrateVersion `cmd:"" help:"Print the version that the database has, those that this program needs, and what the database lacks besides."`
	Force   migrateForce   `cmd:"" help:"Write down which version the schema really has, after a migration failed. It runs nothing."`
}

// Validate refuses what cannot work, before anything starts.
func (m migrateCmd) Validate() error { return checkDatabaseURL(m.DatabaseURL) }

type migrateUp struct{}

// Run applies what is missing. First it makes good what a restore leaves out, since the files grant rights to a role that has
// to be there.
func (migrateUp) Run(ctx context.Context, m *migrateCmd, c *console) error {
	mended, err := migrations.Mend(ctx, m.DatabaseURL)
	if err != nil {
		return err
	}
	for _, f := range mended {
		c.printf("%s: mended\n", f.What)
	}
	if err := migrations.Up(ctx, m.DatabaseURL); err != nil {
		return err
	}
	return migrateVersion{}.Run(ctx, m, c)
}

type migrateDown struct {
	Steps int `arg:"" help:"How many migrations to take back; 0 for all."`
}

// Validate refuses a count that would read as "all".
func (d migrateDown) Validate() error {
	if d.Steps < 0 {
		return errors.New("<steps> must be 0 or more")
	}
	return nil
}

// Run takes migrations back.
func (d migrateDown) Run(ctx context.Context, m *migrateCmd, c *console) error {
	if err := migrations.Down(ctx, m.DatabaseURL, d.Steps); err != nil {
		return err
	}
	return migrateVersion{}.Run(ctx, m, c)
}

type migrateVersion struct{}

// Run prints both versions.
func (migrateVersion) Run(ctx context.Context, m *migrateCmd, c *console) error {
	have, dirty, err := migrations.Version(ctx, m.DatabaseURL)
	if err != nil {
		return err
	}
	latest, err := migrations.Latest()
	if err != nil {
		return err
	}
	state := ""
	if dirty {
		state = ", and failed half-way"
	}
	needs := fmt.Sprint(latest)
	if migrations.Lowest < latest {
		needs = fmt.Sprintf("%d to %d", migrations.Lowest, latest)
	}
	c.printf("the database is at schema version %d%s; this program needs %s\n", have, state, needs)
	faults, err := migrations.Inspect(ctx, m.DatabaseURL)
	if err != nil {
		return err
	}
	for _, f := range faults {
		if f.Hand {
			c.printf("%s: %s\n", f.What, f.Mend)
		} else {
			c.printf("%s: migrate mends it (%s)\n", f.What, f.Mend)
		}
	}
	return nil
}

type migrateForce struct {
	Version *int `arg:"" optional:"" help:"The version."`
	None    bool `name:"none" short:"1" help:"No migration is applied: version -1."`
}

// Validate wants one answer.
func (f migrateForce) Validate() error {
	if (f.Version == nil) != f.None || f.Version != nil && *f.Version < 1 {
		return errors.New("give the version, or -1 when no migration is applied")
	}
	return nil
}

// Run writes the version down.
func (f migrateForce) Run(ctx context.Context, m *migrateCmd, c *console) error {
	version := -1
	if f.Version != nil {
		version = *f.Version
	}
	if err := migrations.Force(ctx, m.DatabaseURL, version); err != nil {
		return err
	}
	return migrateVersion{}.Run(ctx, m, c)
}
