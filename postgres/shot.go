package postgres

import (
	"cmp"
	"context"
	"slices"

	"cagework/domain"
)

// shots is the store of shots: plain records whose owner is found, and that can be put many at once.
type shots struct {
	*records[domain.ShotFields, domain.ShotFound]
	stores *Stores
}

func newShots(db *DB, s *Stores) *shots {
	r := newRecords[domain.ShotFields, domain.ShotFound](db, domain.NounShot, "shots")
	r.game = "shots.game_id"
	r.first = lockGameOf("shots")
	r.filters = map[string]string{
		"game": "shots.game_id = @game", "goalie": "shots.faced_goalie_id = @goalie",
		"unresolved": "shots.faced_how = 'unresolved'", "resolved": "shots.faced_how <> 'unresolved'",
	}
	r.home = func(rec domain.Shot) home { return home{game: &rec.Fields.GameID} }
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.Shot) error {
		if before != nil && before.Fields.GameID != after.Fields.GameID {
			return domain.InvalidField("/game_id", "cannot change; remove the shot and put it into the other game")
		}
		place, err := s.placeLocked(ctx, t, after.Fields.GameID)
		if err != nil {
			return err
		}
		if err := s.fitShot(ctx, t, place, after, newShotReads()); err != nil {
			return err
		}
		return refuseForeignReading(ctx, t, *after)
	}
	r.decorate = s.warn
	return &shots{r, s}
}

// placeLocked reads what the shots of a game must fit, and holds the game.
func (s *Stores) placeLocked(ctx context.Context, t *tx, game domain.ID) (domain.ShotPlace, error) {
	fields, comp, err := gameLocked(ctx, t, game)
	if err != nil {
		return domain.ShotPlace{}, err
	}
	stints, err := s.stintsOf(ctx, t, game)
	return domain.ShotPlace{Game: fields, Competition: comp, Stints: stints}, err
}

// shotReads holds what was read for shots before, so that a batch reads it once.
type shotReads struct {
	goalies map[domain.ID]*domain.GoalieFields
	views   map[domain.ID]*domain.Mapping
}

func newShotReads() shotReads {
	return shotReads{map[domain.ID]*domain.GoalieFields{}, map[domain.ID]*domain.Mapping{}}
}

// fitShot finds what is found of a shot and refuses it when it contradicts itself or its place.
func (s *Stores) fitShot(ctx context.Context, t *tx, place domain.ShotPlace, shot *domain.Shot, reads shotReads) error {
	goalies := reads.goalies
	found, faults := domain.FindShot(shot.Fields, place.Competition, place.Stints)
	if id := found.FacedGoalieID; id != nil {
		if goalies[*id] == nil {
			goalie, err := s.Goalies.load(ctx, t, *id, "FOR KEY SHARE")
			if err != nil {
				return err
			}
			if goalie == nil {
				return domain.InvalidField("/goalie_id", "there is no such goalie")
			}
			goalies[*id] = &goalie.Fields
		}
		place.Goalie = goalies[*id]
	}
	if err := s.readViews(ctx, t, shot.Fields.Views(), reads.views); err != nil {
		return err
	}
	spots, unmapped := domain.FindSpots(shot.Fields, reads.views)
	found.ShotSpots = spots
	faults = append(faults, unmapped...)
	faults = append(faults, shot.Fields.With(spots).Contradictions(place)...)
	found.Warnings, found.Derived = shot.Fields.Warnings(found, place), shot.Fields.Derived(found, place)
	shot.Found = found
	return domain.Refusal(faults)
}

// refuseForeignReading keeps a shot from counting a reading of another shot.
func refuseForeignReading(ctx context.Context, t *tx, shot domain.Shot) error {
	reading := shot.Fields.CountedReadingID
	if reading == nil {
		return nil
	}
	var of domain.ID
	var how domain.HowRead
	err := t.QueryRow(ctx, `SELECT shot_id, how_read FROM readings WHERE program_id = $1 AND id = $2 FOR KEY SHARE`,
		t.program, *reading).Scan(&of, &how)
	if err != nil {
		return missingIfNone(err, "/counted_reading_id", "reading")
	}
	if of != shot.ID {
		return domain.InvalidField("/counted_reading_id", "is a reading of another shot")
	}
	if how == domain.Live {
		return domain.InvalidField("/counted_reading_id", "was read live; live readings are not pooled with film")
	}
	return nil
}

// warn works out the warnings, and what follows from the places, of shots that are about to be shown.
func (s *Stores) warn(ctx context.Context, t *tx, shots []domain.Shot) error {
	var games, faced []domain.ID
	for _, shot := range shots {
		if shot.Found.Warnings == nil { // else it was worked out while the shot was written
			games = append(games, shot.Fields.GameID)
			if shot.Found.FacedGoalieID != nil {
				faced = append(faced, *shot.Found.FacedGoalieID)
			}
		}
	}
	if len(games) == 0 {
		return nil
	}
	places, err := s.places(ctx, t, games)
	if err != nil {
		return err
	}
	goalies, err := s.Goalies.where(ctx, t, "id = ANY($2)", faced)
	if err != nil {
		return err
	}
	for i := range shots {
		shot := &shots[i]
		if shot.Found.Warnings != nil {
			continue
		}
		place := places[shot.Fields.GameID]
		for k := range goalies {
			if id := shot.Found.FacedGoalieID; id != nil && goalies[k].ID == *id {
				place.Goalie = &goalies[k].Fields
			}
		}
		shot.Found.Warnings, shot.Found.Derived = shot.Fields.Warnings(shot.Found, place), shot.Fields.Derived(shot.Found, place)
	}
	return nil
}

// places reads what the shots of games must fit, and holds nothing.
func (s *Stores) places(ctx context.Context, t *tx, ids []domain.ID) (map[domain.ID]domain.ShotPlace, error) {
	games, err := s.gamesByID(ctx, t, ids)
	if err != nil {
		return nil, err
	}
	stints, err := s.Stints.where(ctx, t, "game_id = ANY($2)", ids)
	if err != nil {
		return nil, err
	}
	places := make(map[domain.ID]domain.ShotPlace, len(games))
	for id, g := range games {
		place := domain.ShotPlace{Game: g.game.Fields, Competition: g.competition}
		for _, stint := range stints {
			if stint.Fields.GameID == id {
				place.Stints = append(place.Stints, stint)
			}
		}
		slices.SortFunc(place.Stints, func(a, b domain.Stint) int {
			return cmp.Compare(a.Found.StartElapsedS, b.Found.StartElapsedS)
		})
		places[id] = place
	}
	return places, nil
}

// findShots finds whose each shot of a game was under the given stints, and writes those whose answer changed,
// with their history.
func (s *Stores) findShots(ctx context.Context, t *tx, by *domain.ID, comp domain.CompetitionFields, game domain.ID, stints []domain.Stint) error {
	all, err := s.Shots.where(ctx, t, "game_id = $2 ORDER BY shots.id FOR NO KEY UPDATE", game)
	if err != nil {
		return err
	}
	for _, before := range all {
		after := before
		// The clock cannot fail here: a game's competition does not change under its shots.
		after.Found, _ = domain.FindShot(before.Fields, comp, stints)
		after.Found.ShotSpots = before.Found.ShotSpots // they hang on no stint
		if sameContent(before.Found, after.Found) {
			continue
		}
		if err := s.Shots.update(ctx, t, by, &before, &after); err != nil {
			return err
		}
	}
	return nil
}
