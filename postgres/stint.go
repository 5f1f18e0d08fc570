package postgres

import (
	"context"

	"cagework/domain"
)

func newStints(db *DB, s *Stores) *records[domain.StintFields, domain.StintFound] {
	r := newRecords[domain.StintFields, domain.StintFound](db, domain.NounStint, "stints")
	r.game = "stints.game_id"
	r.first = lockGameOf("stints")
	r.filters = map[string]string{"game": "stints.game_id = @game", "goalie": "stints.goalie_id = @goalie"}
	r.home = func(rec domain.Stint) home { return home{game: &rec.Fields.GameID} }
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.Stint) error {
		return s.checkStint(ctx, t, before, after)
	}
	r.removable = func(ctx context.Context, t *tx, a domain.Actor, rec domain.Stint) error {
		return s.forgetStint(ctx, t, a, rec)
	}
	r.after = func(ctx context.Context, t *tx, a domain.Actor, before, after *domain.Stint) error {
		return s.findShotsAgain(ctx, t, a, before, after)
	}
	return r
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
		return domain.InTheWayField("/start_clock_s", "another stint of this game covers part of that time")
	}
	return nil
}

func (s *Stores) stintsOf(ctx context.Context, t *tx, game domain.ID) ([]domain.Stint, error) {
	return s.Stints.where(ctx, t, "game_id = $2 ORDER BY stints.start_elapsed_s, stints.id", game)
}

// forgetStint lets go of a stint that is about to be removed: what was found by it is found again without it. A shot
// that names the stint holds it.
func (s *Stores) forgetStint(ctx context.Context, t *tx, a domain.Actor, gone domain.Stint) error {
	stints, err := s.Stints.where(ctx, t, "game_id = $2 AND id <> $3 ORDER BY stints.start_elapsed_s, stints.id",
		gone.Fields.GameID, gone.ID)
	if err != nil {
		return err
	}
	var named bool
	err = t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM shots WHERE program_id = $1 AND stint_id = $2)`,
		t.program, gone.ID).Scan(&named)
	if err != nil {
		return err
	}
	if named {
		return domain.Errorf(domain.InUse, "It cannot be removed: shots name this stint.")
	}
	return s.findAgain(ctx, t, a, gone.Fields.GameID, stints)
}

// findShotsAgain finds anew what was found by the stints of a game, after they changed.
func (s *Stores) findShotsAgain(ctx context.Context, t *tx, a domain.Actor, _, after *domain.Stint) error {
	if after == nil {
		return nil // forgetStint has done it, before the row went
	}
	stints, err := s.stintsOf(ctx, t, after.Fields.GameID)
	if err != nil {
		return err
	}
	return s.findAgain(ctx, t, a, after.Fields.GameID, stints)
}

// findAgain finds whose each shot was and who was in the cage at each clear; shots first, for clears lean on them.
func (s *Stores) findAgain(ctx context.Context, t *tx, a domain.Actor, game domain.ID, stints []domain.Stint) error {
	_, comp, err := gameLocked(ctx, t, game)
	if err != nil {
		return err
	}
	if err := s.findShots(ctx, t, by(a), comp, game, stints); err != nil {
		return err
	}
	return s.findClears(ctx, t, by(a), comp, game, stints)
}
