package main

import (
	"context"
	"errors"
	"time"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

type programCmd struct {
	Create programCreate `cmd:"" help:"Make a program with the starter targets, drills and rules, its first director and a token for them."`
	Remove programRemove `cmd:"" help:"Count what a program has; with --confirm and its name take all of it away, for good."`
}

type programCreate struct {
	databaseFlags `embed:""`
	ID            string `name:"id" help:"The program's id, a UUID; one is made when it is absent."`
	Name          string `name:"name" required:"" help:"What the program is called."`
	TimeZone      string `name:"time-zone" required:"" help:"IANA time zone, such as America/New_York."`
	Units         string `name:"units" default:"yards" enum:"yards,metric" help:"How pages show lengths: yards or metric."`
	Director      string `name:"director" required:"" help:"The first director's name."`
}

// Run makes the program and prints its id, the director's and the token, which is shown only here.
func (p programCreate) Run(ctx context.Context, c *console) error {
	db, err := postgres.Open(ctx, p.config())
	if err != nil {
		return err
	}
	defer db.Close()
	id := domain.NewID(time.Now())
	if p.ID != "" {
		if id, err = domain.ParseID(p.ID); err != nil {
			return errors.New("--id is " + err.Error())
		}
	}
	stores := postgres.NewStores(db, judgement.Judge{})
	fields := domain.ProgramFields{Name: p.Name, TimeZone: p.TimeZone, Units: domain.Units(p.Units)}
	program, director, err := stores.Programs.Create(ctx, id, fields, p.Director)
	if err != nil {
		return err
	}
	secret, err := newToken(ctx, stores, program.ID, director.ID, "made with the program", 365)
	if secret == "" {
		return err
	}
	c.printf("program  %s\ndirector %s\ntoken    %s\n", program.ID, director.ID, secret)
	return err
}

type programRemove struct {
	databaseFlags `embed:""`
	erasuresFlag  `embed:""`
	Program       string `name:"program" required:"" help:"The program's id."`
	Confirm       string `name:"confirm" help:"The program's name: then it is removed."`
}

// Run counts the program's rows, or removes them. The database's login must own the schema.
func (p programRemove) Run(ctx context.Context, c *console) error {
	id, err := domain.ParseID(p.Program)
	if err != nil {
		return errors.New("--program is " + err.Error())
	}
	db, err := postgres.Open(ctx, p.config())
	if err != nil {
		return err
	}
	defer db.Close()
	stores := postgres.NewStores(db, judgement.Judge{})
	if err := p.keep(stores); err != nil {
		return err
	}
	counts, err := stores.Programs.Remove(ctx, id, p.Confirm, p.Confirm == "")
	if err != nil {
		return err
	}
	for _, n := range counts {
		c.printf("%-16s %9d rows\n", n.Table, n.Rows)
	}
	switch {
	case p.Confirm == "":
		c.printf("Nothing was removed. To remove the program, add --confirm and its name.\n")
	case p.ErasuresFile == "":
		c.printf("The program was removed. Its id is NOT kept apart from the database (--erasures-file): a backup that is restored brings it back.\n")
	default:
		c.printf("The program was removed.\n")
	}
	return nil
}
