package postgres

import (
	"context"

	"cagework/domain"
)

func newViews(db *DB, s *Stores) *records[domain.ViewFields, domain.ViewFound] {
	r := newRecords[domain.ViewFields, domain.ViewFound](db, domain.NounView, "views")
	r.game = "views.game_id"
	r.first = lockGameOf("views")
	r.filters = map[string]string{"game": "views.game_id = @game"}
	r.home = func(rec domain.View) home { return home{game: &rec.Fields.GameID} }
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.View) error {
		if before != nil && before.Fields.GameID != after.Fields.GameID {
			return domain.InvalidField("/game_id", "cannot change; remove the view and put it into the other game")
		}
		_, competition, err := gameLocked(ctx, t, after.Fields.GameID)
		if err != nil {
			return err
		}
		places, faults := domain.FindPlaces(after.Fields, competition)
		after.Found.Places = places
		return domain.Refusal(faults)
	}
	r.after = s.findSpotsAgain
	r.decorate = func(_ context.Context, _ *tx, views []domain.View) error {
		for i := range views {
			views[i].Found = domain.FindView(views[i])
		}
		return nil
	}
	return r
}

// readViews reads the views that are not in known yet, and keeps them from changing until the commit: their game is held.
func (s *Stores) readViews(ctx context.Context, t *tx, ids []domain.ID, known map[domain.ID]*domain.Mapping) error {
	for _, id := range ids {
		if known[id] != nil {
			continue
		}
		view, err := s.Views.load(ctx, t, id, "FOR SHARE")
		if err != nil {
			return err
		}
		if view == nil {
			continue // domain.FindSpots says so
		}
		if known[id], err = domain.NewMapping(*view); err != nil {
			return err
		}
	}
	return nil
}

// findSpotsAgain finds anew where the clicks lie of the shots that name a view, after it was corrected, and writes the
// shots whose answer changed, with their history. A click that has no spot any more loses it, and the shot's warnings say
// so: the correction of a view is not held up by a shot.
func (s *Stores) findSpotsAgain(ctx context.Context, t *tx, a domain.Actor, before, after *domain.View) error {
	if before == nil || after == nil {
		return nil // no shot names a view that is not there
	}
	all, err := s.Shots.where(ctx, t, "(ground_view_id = $2 OR goal_view_id = $2) ORDER BY shots.id FOR NO KEY UPDATE", after.ID)
	if err != nil {
		return err
	}
	views := map[domain.ID]*domain.Mapping{}
	for _, shot := range all {
		if err := s.readViews(ctx, t, shot.Fields.Views(), views); err != nil {
			return err
		}
		moved := shot
		moved.Found.ShotSpots, _ = domain.FindSpots(shot.Fields, views)
		if sameContent(shot.Found, moved.Found) {
			continue
		}
		if err := s.Shots.update(ctx, t, by(a), &shot, &moved); err != nil {
			return err
		}
	}
	return nil
}
