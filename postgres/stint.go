package postgres

import (
	"context"

	"cagework/domain"
)

func newStints(db *DB, s *Stores) *records[domain.StintFields, domain.StintFound] {
	r := newRecords[domain.StintFields, domain.StintFound](db, domain.NounStint, "stints")
	r.own = gameOwn("stints")
	r.filters = map[string]string{"game": "stints.game_id = @game", "goalie": "stints.goalie_id = @goalie"}
	r.subject = func(ctx context.Context, t *tx, rec domain.Stint) (domain.Subject, error) {
		return gameSubject(ctx, t, rec.Fields.GameID)
	}
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.Stint) error {
		return s.checkStint(ctx, t, before, after)
	}
	r.removable = func(ctx context.Context, t *tx, rec domain.Stint) error {
		return s.forgetStint(ctx, t, rec)
	}
	r.after = func(ctx context.Context, t *tx, a domain.Actor, before, after *domain.Stint) error {
		return s.findShotsAgain(ctx, t, a, before, after)
	}
	return r
}

func gameOwn(table string) string {
	return `EXISTS (SELECT 1 FROM games g WHERE g.program_id = ` + table + `.program_id
		AND g.id = ` + table + `.game_id AND g.team_id = ANY(@own_teams))`
}

// checkStint finds the stint's elapsed seconds and refuses one that overlaps another: two goalies cannot stand in
// one cage. Stints may touch.
func (s *Stores) checkStint(ctx context.Context, t *tx, before, after *domain.Stint) error {
	if before != nil && before.Fields.GameID != after.Fields.GameID {
		return domain.InvalidField("/game_id", "cannot change; remove the stint and put it into the other game")
	}
	_, comp, err := gameLocked(ctx, t, after.Fields.GameID)
	if err != nil {
		return err
	}
	found, faults := after.Fields.Find(comp)
	if err := domain.Refusal(faults); err != nil {
		return err
	}
	after.Found = found
	var overlaps bool
	err = t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM stints WHERE program_id = $1 AND game_id = $2 AND id <> $3
		AND start_elapsed_s < $5 AND $4 < end_elapsed_s)`,
		t.program, after.Fields.GameID, after.ID, found.StartElapsedS, found.EndElapsedS).Scan(&overlaps)
	if err != nil {
		return err
	}
	if overlaps {
		return domain.ConflictField("/start_clock_s", "another stint of this game covers part of that time")
	}
	return nil
}

func (s *Stores) stintsOf(ctx context.Context, t *tx, game domain.ID) ([]domain.Stint, error) {
	return s.Stints.where(ctx, t, "game_id = $2 ORDER BY stints.start_elapsed_s, stints.id", game)
}

// forgetStint lets go of a stint that is about to be removed: its shots are found again without it.
func (s *Stores) forgetStint(ctx context.Context, t *tx, gone domain.Stint) error {
	if _, _, err := gameLocked(ctx, t, gone.Fields.GameID); err != nil {
		return err
	}
	stints, err := s.Stints.where(ctx, t, "game_id = $2 AND id <> $3 ORDER BY stints.start_elapsed_s, stints.id",
		gone.Fields.GameID, gone.ID)
	if err != nil {
		return err
	}
	return s.findShots(ctx, t, nil, gone.Fields.GameID, stints)
}

// findShotsAgain finds anew whose each shot of the game was, after its stints changed.
func (s *Stores) findShotsAgain(ctx context.Context, t *tx, a domain.Actor, _, after *domain.Stint) error {
	if after == nil {
		return nil // forgetStint has done it, before the row went
	}
	stints, err := s.stintsOf(ctx, t, after.Fields.GameID)
	if err != nil {
		return err
	}
	return s.findShots(ctx, t, by(a), after.Fields.GameID, stints)
}
