package postgres

import (
	"context"

	"cagework/domain"
)

func newViews(db *DB) *records[domain.ViewFields, domain.ViewFound] {
	r := newRecords[domain.ViewFields, domain.ViewFound](db, domain.NounView, "views")
	r.game = "views.game_id"
	r.first = lockGameOf("views")
	r.filters = map[string]string{"game": "views.game_id = @game"}
	r.subject = func(ctx context.Context, t *tx, rec domain.View) (domain.Subject, error) {
		return gameSubject(ctx, t, rec.Fields.GameID)
	}
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.View) error {
		if before != nil && before.Fields.GameID != after.Fields.GameID {
			return domain.InvalidField("/game_id", "cannot change; remove the view and put it into the other game")
		}
		_, _, err := gameLocked(ctx, t, after.Fields.GameID)
		return err
	}
	r.decorate = func(_ context.Context, _ *tx, views []domain.View) error {
		for i := range views {
			views[i].Found = domain.FindView(views[i].Fields)
		}
		return nil
	}
	return r
}
