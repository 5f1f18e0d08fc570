package postgres

import (
	"context"

	"cagework/domain"
)

func newShots(db *DB, s *Stores) *records[domain.ShotFields, domain.ShotFound] {
	r := newRecords[domain.ShotFields, domain.ShotFound](db, domain.NounShot, "shots")
	r.own = gameOwn("shots")
	r.filters = map[string]string{"game": "shots.game_id = @game", "goalie": "shots.faced_goalie_id = @goalie"}
	r.subject = func(ctx context.Context, t *tx, rec domain.Shot) (domain.Subject, error) {
		return gameSubject(ctx, t, rec.Fields.GameID)
	}
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.Shot) error {
		if before != nil && before.Fields.GameID != after.Fields.GameID {
			return domain.InvalidField("/game_id", "cannot change; remove the shot and put it into the other game")
		}
		_, comp, err := gameLocked(ctx, t, after.Fields.GameID)
		if err != nil {
			return err
		}
		stints, err := s.stintsOf(ctx, t, after.Fields.GameID)
		if err != nil {
			return err
		}
		found, faults := domain.FindShot(after.Fields, comp, stints)
		after.Found = found
		return domain.Refusal(faults)
	}
	return r
}

// findShots finds whose each shot of a game was under the given stints, and writes those whose answer changed,
// with their history.
func (s *Stores) findShots(ctx context.Context, t *tx, by *domain.ID, game domain.ID, stints []domain.Stint) error {
	_, comp, err := gameLocked(ctx, t, game)
	if err != nil {
		return err
	}
	shots, err := s.Shots.where(ctx, t, "game_id = $2 ORDER BY shots.id FOR NO KEY UPDATE", game)
	if err != nil {
		return err
	}
	for _, before := range shots {
		after := before
		// The clock cannot fail here: a game's competition does not change under its shots.
		after.Found, _ = domain.FindShot(before.Fields, comp, stints)
		if sameContent(before.Found, after.Found) {
			continue
		}
		if err := s.Shots.update(ctx, t, by, &before, &after); err != nil {
			return err
		}
	}
	return nil
}
