package postgres

import (
	"context"
	"slices"

	"cagework/domain"
)

// PutMany puts many shots in one transaction, each as Put does: an item that is refused leaves no trace and does
// not touch the others. Items of one game share what they must fit, which is read once.
func (s *shots) PutMany(ctx context.Context, a domain.Actor, items []domain.ShotItem) ([]domain.ShotResult, error) {
	if err := domain.MayAny(a, domain.Write, domain.NounShot); err != nil {
		return nil, err
	}
	var results []domain.ShotResult
	err := s.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := lockGames(ctx, t, items); err != nil {
			return err
		}
		results = make([]domain.ShotResult, len(items))
		for _, i := range inIDOrder(items) {
			var err error
			if results[i], err = s.putItem(ctx, t, a, items[i]); err != nil {
				return err
			}
		}
		return nil
	})
	return results, err
}

// lockGames holds all games of a batch, and keeps their competitions, before anything is written: the first write
// takes the program's row, which whoever holds a later game may be waiting for.
func lockGames(ctx context.Context, t *tx, items []domain.ShotItem) error {
	ids := make([]domain.ID, len(items))
	for i := range items {
		ids[i] = items[i].GameID
	}
	_, err := t.Exec(ctx, `SELECT 1 FROM games WHERE program_id = $1 AND id = ANY($2) ORDER BY id FOR NO KEY UPDATE`,
		t.program, ids)
	if err != nil {
		return err
	}
	_, err = t.Exec(ctx, `SELECT 1 FROM competitions WHERE program_id = $1 AND id IN
		(SELECT competition_id FROM games WHERE program_id = $1 AND id = ANY($2)) ORDER BY id FOR SHARE`, t.program, ids)
	return err
}

// inIDOrder gives the places of the items in the order of their games and ids, so that two batches that overlap
// lock in one order; items of one id stay in their own order.
func inIDOrder(items []domain.ShotItem) []int {
	order := make([]int, len(items))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if c := slices.Compare(items[a].GameID[:], items[b].GameID[:]); c != 0 {
			return c
		}
		return slices.Compare(items[a].ID[:], items[b].ID[:])
	})
	return order
}

// putItem puts one item inside a savepoint, so that what the database refuses for one does not end the others. The
// error is one that ends the whole batch: a lost connection, a deadlock.
func (s *shots) putItem(ctx context.Context, t *tx, a domain.Actor, item domain.ShotItem) (domain.ShotResult, error) {
	inner, err := t.Begin(ctx)
	if err != nil {
		return domain.ShotResult{}, err
	}
	at := &tx{inner, t.program, t.now}
	shot, how, err := s.put(ctx, at, a, item.ID, item.ShotFields)
	if err == nil {
		err = s.showOne(ctx, at, &shot)
	}
	if err == nil {
		return domain.ShotResult{Status: domain.StatusOf(how, nil), Shot: &shot}, inner.Commit(ctx)
	}
	if worthRetrying(err) {
		return domain.ShotResult{}, err
	}
	refused := asDomain(ctx, err)
	switch domain.CodeOf(refused) {
	case domain.Internal, domain.Unavailable, domain.Timeout:
		return domain.ShotResult{}, err
	}
	return domain.ShotResult{Status: domain.StatusOf(0, refused), Err: refused}, inner.Rollback(ctx)
}
