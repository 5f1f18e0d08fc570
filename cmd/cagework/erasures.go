package main

import (
	"context"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

type erasuresCmd struct {
	Replay erasuresReplay `cmd:"" help:"Erase whoever stands on the list that was kept apart, in a database that is older than it, such as a restored backup."`
}

type erasuresReplay struct {
	databaseFlags `embed:""`
	File          string `arg:"" help:"The list, as --erasures-file wrote it."`
}

// Run replays the list and says what it did.
func (r erasuresReplay) Run(ctx context.Context, c *console) error {
	db, err := postgres.Open(ctx, r.config())
	if err != nil {
		return err
	}
	defer db.Close()
	persons, programs, err := replayErasures(ctx, postgres.NewStores(db, judgement.Judge{}), r.File)
	c.printf("erased %d persons and %d programs that were still there\n", persons, programs)
	return err
}

// replayErasures brings a database up to a list of erasures; it can be repeated. Nobody may be served before it is done.
// Programs that were removed whole need the login that owns the schema.
func replayErasures(ctx context.Context, s *postgres.Stores, file string) (persons, programs int, err error) {
	list, err := readErasures(file)
	if err != nil {
		return 0, 0, err
	}
	for _, e := range domain.EffectiveErasures(list) {
		if e.Noun != domain.NounProgram {
			continue
		}
		_, err := s.Programs.Remove(ctx, e.ID, "", false)
		switch {
		case err == nil:
			programs++
		case domain.CodeOf(err) != domain.NotFound:
			return 0, programs, err
		}
	}
	persons, err = s.Erasures.Replay(ctx, list)
	return persons, programs, err
}
