package main

import (
	"context"
	"errors"
	"os"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

type personCmd struct {
	Export personExport `cmd:"" help:"Write all that is held on a goalie or a member to a zip file, to hand over."`
	Erase  personErase  `cmd:"" help:"Say what erasing a goalie or a member would touch; with --digest erase them, for good."`
}

// personFlags say who it is about.
type personFlags struct {
	databaseFlags `embed:""`
	Program       string `name:"program" required:"" help:"The program's id."`
	Goalie        string `name:"goalie" xor:"person" required:"" help:"The goalie's id."`
	Member        string `name:"member" xor:"person" required:"" help:"The member's id."`
}

// who reads the flags. Whoever runs the service acts with a director's rights and under nobody's name.
func (f personFlags) who() (a domain.Actor, noun domain.Noun, id domain.ID, err error) {
	if a.ProgramID, err = domain.ParseID(f.Program); err != nil {
		return a, noun, id, errors.New("--program is " + err.Error())
	}
	a.Role = domain.Director
	text := f.Goalie
	if noun = domain.NounGoalie; text == "" {
		noun, text = domain.NounMember, f.Member
	}
	if id, err = domain.ParseID(text); err != nil {
		err = errors.New("--" + string(noun) + " is " + err.Error())
	}
	return a, noun, id, err
}

type personExport struct {
	personFlags `embed:""`
	Out         string `name:"out" required:"" type:"path" help:"The zip file to write."`
}

// Run writes the file. One that could not be finished is taken away again.
func (p personExport) Run(ctx context.Context, c *console) (err error) {
	a, noun, id, err := p.who()
	if err != nil {
		return err
	}
	db, err := postgres.Open(ctx, p.config())
	if err != nil {
		return err
	}
	defer db.Close()
	file, err := os.OpenFile(p.Out, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	defer func() {
		if err = errors.Join(err, file.Close()); err != nil {
			err = errors.Join(err, os.Remove(p.Out))
		}
	}()
	s := postgres.NewStores(db, judgement.Judge{})
	write := s.Exports.Goalie
	if noun == domain.NounMember {
		write = s.Exports.Member
	}
	z := domain.NewExportZip(file, "What is held on "+string(noun)+" "+id.String())
	if err := write(ctx, a, id, z); err != nil {
		return err
	}
	if err := z.Close(); err != nil {
		return err
	}
	noteChore(ctx, c, s, a, domain.AccessExport, domain.NounExport, noun, id)
	c.printf("%s\n", p.Out)
	return nil
}

type personErase struct {
	personFlags  `embed:""`
	erasuresFlag `embed:""`
	Digest       string `name:"digest" help:"That of the dry run which is to be carried out."`
}

// Run makes a dry run, or erases.
func (p personErase) Run(ctx context.Context, c *console) (err error) {
	a, noun, id, err := p.who()
	if err != nil {
		return err
	}
	db, err := postgres.Open(ctx, p.config())
	if err != nil {
		return err
	}
	defer db.Close()
	s := postgres.NewStores(db, judgement.Judge{})
	if err := p.keep(s); err != nil {
		return err
	}
	defer func() {
		if err == nil {
			noteChore(ctx, c, s, a, domain.AccessErase, domain.NounErasure, noun, id)
		}
	}()
	if p.Digest == "" {
		plan, done, err := s.Erasures.Plan(ctx, a, noun, id)
		if err != nil {
			return err
		}
		if done != nil {
			sayErased(c, *done)
			return nil
		}
		sayCounts(c, plan.Counts)
		for _, record := range plan.Elsewhere {
			c.printf("named in %s %s\n", record.Noun, record.ID)
		}
		c.printf("Nothing was written. To erase, add --digest=%s\n", plan.Digest)
		return nil
	}
	done, err := s.Erasures.Erase(ctx, a, noun, id, domain.ErasureConsent{Digest: p.Digest})
	if err != nil {
		return err
	}
	sayErased(c, done)
	return nil
}

func sayCounts(c *console, counts []domain.ErasedCount) {
	for _, n := range counts {
		c.printf("%-12s %6d records %6d changes\n", n.Noun, n.Records, n.Changes)
	}
}

// sayErased prints a receipt.
func sayErased(c *console, done domain.Erasure) {
	sayCounts(c, done.Fields.Counts)
	c.printf("%s %s was erased at %s\n", done.Fields.Noun, done.ID, done.Fields.At.Format("2006-01-02 15:04:05 MST"))
	if !done.Fields.KeptApart {
		c.printf("The id is NOT kept apart from the database (--erasures-file): a backup that is restored brings the person back.\n")
	}
}
