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
