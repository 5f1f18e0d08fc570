package postgres

import (
	"context"
	"errors"
	"slices"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// PutMany puts many shots in one transaction, each as Put does: an item that is refused leaves no trace and does
// not touch the others. What the items must fit is read once a game, and all rows are sent in one round trip. Should
// the database refuse one of them all the same, the items are put again one by one.
func (s *shots) PutMany(ctx context.Context, a domain.Actor, items []domain.ShotItem) ([]domain.ShotResult, error) {
	if err := domain.MayAny(a, domain.Write, domain.NounShot); err != nil {
		return nil, err
	}
	results, err := s.putAtOnce(ctx, a, items)
	if _, refused := errors.AsType[*rowRefused](err); refused {
		return s.putOneByOne(ctx, a, items)
	}
	return results, err
}

// rowRefused is the database's refusal of a row that the checks had let pass: a race with somebody else.
type rowRefused struct{ error }

func (e *rowRefused) Unwrap() error { return e.error }

// batch is the state of one PutMany.
type batch struct {
	*shots
	t      *tx
	a      domain.Actor
	known  map[domain.ID]*domain.Shot // there already, or earlier in the batch
	spent  map[domain.ID]error        // ids that cannot be used any more, and why
	places map[domain.ID]domain.ShotPlace
	reads  shotReads
	fresh  []*domain.Shot // to be written
}

func (s *shots) putAtOnce(ctx context.Context, a domain.Actor, items []domain.ShotItem) ([]domain.ShotResult, error) {
	var results []domain.ShotResult
	var refused error
	err := s.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		b := &batch{shots: s, t: t, a: a, places: map[domain.ID]domain.ShotPlace{}, reads: newShotReads()}
		if err := b.prepare(ctx, items); err != nil {
			return err
		}
		results, refused = make([]domain.ShotResult, len(items)), nil
		for _, i := range inIDOrder(items) {
			shot, how, err := b.put(ctx, items[i])
			if err != nil && !itemsFault(ctx, err) {
				return err
			}
			results[i] = domain.ShotResult{Status: domain.StatusOf(how, err), Shot: shot, Err: err}
		}
		err := b.write(ctx)
		tellRevs(results)
		if err != nil && !worthRetrying(err) && itemsFault(ctx, err) {
			refused = &rowRefused{err}
		}
		return err
	})
	if refused != nil {
		return nil, refused
	}
	return results, err
}

// tellRevs tells an item that is in conflict with an earlier one of its batch that one's rev, which it has only now.
func tellRevs(results []domain.ShotResult) {
	for _, r := range results {
		if e, is := errors.AsType[*domain.Error](r.Err); is && r.Status == domain.ItemConflict && r.Shot != nil {
			e.Rev = r.Shot.Rev
		}
	}
}

// itemsFault tells whether an error is about one item rather than about the service.
func itemsFault(ctx context.Context, err error) bool {
	switch domain.CodeOf(asDomain(ctx, err)) {
	case domain.Internal, domain.Unavailable, domain.Timeout:
		return false
	}
	return true
}

// prepare locks the games and then the shots that are there, in the order in which every writer locks them.
func (b *batch) prepare(ctx context.Context, items []domain.ShotItem) error {
	ids, games := make([]domain.ID, len(items)), make([]domain.ID, len(items))
	for i, item := range items {
		ids[i], games[i] = item.ID, item.GameID
	}
	_, err := b.t.Exec(ctx, `SELECT 1 FROM games WHERE program_id = $1 AND (id = ANY($2)
		OR id IN (SELECT game_id FROM shots WHERE program_id = $1 AND id = ANY($3))) ORDER BY id FOR NO KEY UPDATE`,
		b.t.program, games, ids)
	if err != nil {
		return err
	}
	there, err := b.where(ctx, b.t, "id = ANY($2) ORDER BY shots.id FOR NO KEY UPDATE", ids)
	if err != nil {
		return err
	}
	b.known = make(map[domain.ID]*domain.Shot, len(items))
	for i := range there {
		b.known[there[i].ID] = &there[i]
	}
	b.spent = map[domain.ID]error{}
	rows, err := b.t.Query(ctx, `SELECT record_id, false FROM changes
		WHERE program_id = $1 AND record_id = ANY($2) AND noun = 'shot' AND op = 'remove'
		UNION ALL SELECT id, true FROM record_ids WHERE program_id = $1 AND id = ANY($2) AND noun <> 'shot'`, b.t.program, ids)
	if err != nil {
		return err
	}
	var id domain.ID
	var taken bool
	_, err = pgx.ForEachRow(rows, []any{&id, &taken}, func() error {
		b.spent[id] = removedError(domain.NounShot)
		if taken {
			b.spent[id] = takenError()
		}
		return nil
	})
	return err
}

// put does for one item what Put does, but leaves the writing to write.
func (b *batch) put(ctx context.Context, item domain.ShotItem) (*domain.Shot, domain.Written, error) {
	if err := checkID(item.ID); err != nil {
		return nil, 0, err
	}
	if err := domain.Refusal(item.ShotFields.Check()); err != nil {
		return nil, 0, err
	}
	if present := b.known[item.ID]; present != nil {
		return present, domain.Unchanged, b.confirm(ctx, b.t, b.a, *present, item.ShotFields)
	}
	place, err := b.place(ctx, item.GameID)
	if err != nil {
		return nil, 0, err
	}
	on := domain.Subject{TeamIDs: []domain.ID{place.Game.TeamID}}
	if err := domain.May(b.a, domain.Write, domain.NounShot, on); err != nil {
		return nil, 0, err
	}
	if err := b.spent[item.ID]; err != nil {
		return nil, 0, err
	}
	shot := &domain.Shot{ID: item.ID, Fields: item.ShotFields}
	if err := b.stores.fitShot(ctx, b.t, place, shot, b.reads); err != nil {
		return nil, 0, err
	}
	if err := refuseForeignReading(ctx, b.t, *shot); err != nil {
		return nil, 0, err
	}
	b.known[item.ID] = shot
	b.fresh = append(b.fresh, shot)
	return shot, domain.Created, nil
}

func (b *batch) place(ctx context.Context, game domain.ID) (domain.ShotPlace, error) {
	if place, known := b.places[game]; known {
		return place, nil
	}
	place, err := b.stores.placeLocked(ctx, b.t, game)
	if err == nil {
		b.places[game] = place
	}
	return place, err
}

// write writes every new row and its change.
func (b *batch) write(ctx context.Context) error { return b.insertMany(ctx, b.t, by(b.a), b.fresh) }

// inIDOrder gives the places of the items in the order of their games and ids, so that two batches that overlap
// write in one order; items of one id stay in their own order.
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

// putOneByOne is the slow way: a transaction an item. What was put stays put when a later one fails, which is safe
// for the batch may be repeated.
func (s *shots) putOneByOne(ctx context.Context, a domain.Actor, items []domain.ShotItem) ([]domain.ShotResult, error) {
	results := make([]domain.ShotResult, len(items))
	for i, item := range items {
		shot, how, err := s.Put(ctx, a, item.ID, item.ShotFields)
		if err != nil && !itemsFault(ctx, err) {
			return nil, err
		}
		results[i] = domain.ShotResult{Status: domain.StatusOf(how, err), Err: err}
		if err == nil {
			results[i].Shot = &shot
		}
	}
	return results, nil
}
