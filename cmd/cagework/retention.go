package main

import (
	"context"
	"errors"
	"time"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

type retentionCmd struct {
	databaseFlags `embed:""`
	erasuresFlag  `embed:""`
	Program       string `name:"program" required:"" help:"The program's id."`
	Months        int    `name:"months" env:"CAGEWORK_RETENTION_MONTHS" default:"0" help:"Goalies about whom nothing was written and who were in no team, game, practice or block for so many months are erased; 0 for never."`
	Apply         bool   `name:"apply" help:"Erase them. Without it they are only listed, by their ids."`
}

// Validate refuses what cannot be meant.
func (r retentionCmd) Validate() error {
	if r.Months < 0 || r.Months > 1200 {
		return errors.New("--months must be from 0 to 1200")
	}
	return r.databaseFlags.Validate()
}

// Run lists whom the retention would erase, or erases them.
func (r retentionCmd) Run(ctx context.Context, c *console) error {
	if r.Months == 0 {
		c.printf("Retention is off: nobody is erased for their age (--months or CAGEWORK_RETENTION_MONTHS).\n")
		return nil
	}
	program, err := domain.ParseID(r.Program)
	if err != nil {
		return errors.New("--program is " + err.Error())
	}
	db, err := postgres.Open(ctx, r.config())
	if err != nil {
		return err
	}
	defer db.Close()
	s := postgres.NewStores(db, judgement.Judge{})
	if err := r.keep(s); err != nil {
		return err
	}
	from := domain.DateOf(time.Now().UTC().AddDate(0, -r.Months, 0))
	ids, err := s.Erasures.Unused(ctx, program, from)
	if err != nil {
		return err
	}
	for _, id := range ids {
		if !r.Apply {
			c.printf("would erase goalie %s\n", id)
			continue
		}
		// Whoever was written about meanwhile has another state than a moment ago; each is looked at alone, so that is rare.
		a := domain.Actor{ProgramID: program, Role: domain.Director}
		plan, done, err := s.Erasures.Plan(ctx, a, domain.NounGoalie, id)
		if err != nil {
			return err
		}
		if done == nil {
			if _, err := s.Erasures.Erase(ctx, a, domain.NounGoalie, id, domain.ErasureConsent{Digest: plan.Digest}); err != nil {
				return err
			}
			noteChore(ctx, c, s, a, domain.AccessErase, domain.NounErasure, domain.NounGoalie, id)
		}
		c.printf("erased goalie %s\n", id)
	}
	c.printf("%d goalies without anything since %s\n", len(ids), from)
	return nil
}
