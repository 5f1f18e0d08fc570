package postgres

import (
	"context"

	"cagework/domain"
)

func newClears(db *DB, s *Stores) *records[domain.ClearFields, domain.ClearFound] {
	r := newRecords[domain.ClearFields, domain.ClearFound](db, domain.NounClear, "clears")
	r.game = "clears.game_id"
	r.first = lockGameOf("clears")
	r.filters = map[string]string{"game": "clears.game_id = @game", "goalie": "clears.cage_goalie_id = @goalie"}
	r.home = func(rec domain.Clear) home { return home{game: &rec.Fields.GameID} }
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.Clear) error {
		if before != nil && before.Fields.GameID != after.Fields.GameID {
			return domain.InvalidField("/game_id", "cannot change; remove the clear and put it into the other game")
		}
		place, err := s.placeLocked(ctx, t, after.Fields.GameID)
		if err != nil {
			return err
		}
		shot, err := s.shotOfGame(ctx, t, after.Fields.ShotID, after.Fields.GameID)
		if err != nil {
			return err
		}
		found, faults := domain.FindClear(after.Fields, shot, place.Competition, place.Stints)
		after.Found = found
		return domain.Refusal(faults)
	}
	return r
}

// shotOfGame reads the shot that a clear followed; nil when it names none.
func (s *Stores) shotOfGame(ctx context.Context, t *tx, id *domain.ID, game domain.ID) (*domain.Shot, error) {
	if id == nil {
		return nil, nil
	}
	shot, err := s.Shots.load(ctx, t, *id, "FOR KEY SHARE")
	if err != nil {
		return nil, err
	}
	if shot == nil {
		return nil, domain.InvalidField("/shot_id", "there is no such shot")
	}
	if shot.Fields.GameID != game {
		return nil, domain.InvalidField("/shot_id", "is a shot of another game")
	}
	return shot, nil
}

// findClears finds who was in the cage at each clear of a game, after its stints or shots changed.
func (s *Stores) findClears(ctx context.Context, t *tx, by *domain.ID, comp domain.CompetitionFields, game domain.ID, stints []domain.Stint) error {
	all, err := s.Clears.where(ctx, t, "game_id = $2 ORDER BY clears.id FOR NO KEY UPDATE", game)
	if err != nil {
		return err
	}
	for _, before := range all {
		shot, err := s.shotOfGame(ctx, t, before.Fields.ShotID, game)
		if err != nil {
			return err
		}
		after := before
		after.Found, _ = domain.FindClear(before.Fields, shot, comp, stints)
		if sameContent(before.Found, after.Found) {
			continue
		}
		if err := s.Clears.update(ctx, t, by, &before, &after); err != nil {
			return err
		}
	}
	return nil
}
