package postgres

import (
	"context"

	"cagework/domain"
)

// records is the store of one kind of record; what differs between kinds is in its members. It implements
// domain.Records.
type records[F domain.Fields, K any] struct {
	db    *DB
	noun  domain.Noun
	table string

	// own is the condition under which a row belongs to the teams @own_teams (and for a recorder's reading, and a goalie
	// who was on no roster yet: to @own_member). "" where no role is confined to its own.
	own string
	// filters are the conditions of the list filters that this kind takes: team, goalie, game, member, shot,
	// unresolved, code_of_play, level, and from (with @to) for the days of a season or week.
	filters map[string]string
	// game is the column that names the game, for a kind that belongs to one.
	game string
	// home gives what a record belongs to; nil where no role is confined to its own.
	home func(domain.Record[F, K]) home
	// madeBy tells that a record is that of who makes it, until it belongs to a team.
	madeBy bool
	// first locks what must be held before the record itself, so that all writers lock in one order; nil where a
	// record's writers lock nothing that they share with writers of other kinds.
	first func(ctx context.Context, t *tx, id domain.ID) error
	// person gives whom a record is about, who may be erased: then nothing more is written about them. nil where a record holds
	// no words about anybody.
	person func(domain.ID, F) (domain.Noun, domain.ID)
	// check refuses what can only be seen with other records, and fills in what the service finds. before is nil
	// for a new record.
	check func(ctx context.Context, t *tx, a domain.Actor, before, after *domain.Record[F, K]) error
	// freeze fills in what is kept as it was when the record was given: for a new record (before is nil) and for one that
	// is about to change. It comes before check. Undo brings back what stood then. nil where nothing is kept.
	freeze func(ctx context.Context, t *tx, before, after *domain.Record[F, K]) error
	// removable refuses a removal for reasons other than rows that stand on the record.
	removable func(ctx context.Context, t *tx, a domain.Actor, r domain.Record[F, K]) error
	// after follows up on a write; it gets nil for a state that does not exist.
	after func(ctx context.Context, t *tx, a domain.Actor, before, after *domain.Record[F, K]) error

	// decorate works out what is not stored, for records that are about to be shown.
	decorate func(context.Context, *tx, []domain.Record[F, K]) error

	fields, found columns
}

func newRecords[F domain.Fields, K any](db *DB, noun domain.Noun, table string) *records[F, K] {
	return &records[F, K]{db: db, noun: noun, table: table, fields: columnsOf[F](), found: columnsOf[K]()}
}

// List gives a page of the records that the actor may read.
func (r *records[F, K]) List(ctx context.Context, a domain.Actor, q domain.Query) (domain.Page[domain.Record[F, K]], error) {
	var page domain.Page[domain.Record[F, K]]
	err := r.db.inList(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Read, r.noun); err != nil {
			return err
		}
		var err error
		page, err = r.page(ctx, t, a, q)
		return err
	})
	return page, err
}

// Get gives one record.
func (r *records[F, K]) Get(ctx context.Context, a domain.Actor, id domain.ID) (domain.Record[F, K], error) {
	var rec domain.Record[F, K]
	err := r.db.inReading(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Read, r.noun); err != nil {
			return err
		}
		found, err := r.load(ctx, t, id, "")
		if err != nil {
			return err
		}
		if found == nil {
			return notFound(r.noun)
		}
		rec = *found
		if err := r.may(ctx, t, a, domain.Read, rec); err != nil {
			return err
		}
		return r.showOne(ctx, t, &rec)
	})
	return rec, err
}

// show fills in what is not stored, for records that are about to be shown.
func (r *records[F, K]) show(ctx context.Context, t *tx, recs []domain.Record[F, K]) error {
	if r.decorate == nil || len(recs) == 0 {
		return nil
	}
	return r.decorate(ctx, t, recs)
}

func (r *records[F, K]) showOne(ctx context.Context, t *tx, rec *domain.Record[F, K]) error {
	one := []domain.Record[F, K]{*rec}
	err := r.show(ctx, t, one)
	*rec = one[0]
	return err
}

// Put creates the record or confirms that it is there.
func (r *records[F, K]) Put(ctx context.Context, a domain.Actor, id domain.ID, fields F) (domain.Record[F, K], domain.Written, error) {
	var rec domain.Record[F, K]
	var how domain.Written
	err := r.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Write, r.noun); err != nil {
			return err
		}
		var err error
		if rec, how, err = r.put(ctx, t, a, id, fields); err != nil {
			return err
		}
		return r.showOne(ctx, t, &rec)
	})
	return rec, how, err
}

func (r *records[F, K]) put(ctx context.Context, t *tx, a domain.Actor, id domain.ID, fields F) (domain.Record[F, K], domain.Written, error) {
	if n, ok := any(fields).(interface{ Normal() F }); ok {
		fields = n.Normal()
	}
	rec := domain.Record[F, K]{ID: id, Fields: fields}
	if err := checkID(id); err != nil {
		return rec, 0, err
	}
	if err := domain.Refusal(fields.Check()); err != nil {
		return rec, 0, err
	}
	if err := r.refuseErased(ctx, t, id, fields); err != nil {
		return rec, 0, err
	}
	present, err := r.load(ctx, t, id, "FOR NO KEY UPDATE")
	if err != nil {
		return rec, 0, err
	}
	if present != nil {
		return *present, domain.Unchanged, r.confirm(ctx, t, a, *present, fields)
	}
	err = r.create(ctx, t, a, &rec)
	return rec, domain.Created, err
}

// confirm checks that a repeated Put says what the record says or once said.
func (r *records[F, K]) confirm(ctx context.Context, t *tx, a domain.Actor, present domain.Record[F, K], fields F) error {
	if err := r.may(ctx, t, a, domain.Write, present); err != nil {
		return err
	}
	if sameContent(present.Fields, fields) {
		return nil
	}
	earlier, err := contentBefore[F](ctx, t, r.noun, present.ID, fields)
	if err != nil || earlier {
		return err
	}
	return &domain.Error{Code: domain.Conflict, Rev: present.Rev,
		Message: "This id already holds a " + spoken(r.noun) + " with other content. Change it with PATCH."}
}

func (r *records[F, K]) create(ctx context.Context, t *tx, a domain.Actor, rec *domain.Record[F, K]) error {
	if !r.madeBy { // else it is the actor's own
		if err := r.may(ctx, t, a, domain.Write, *rec); err != nil {
			return err
		}
	}
	if err := refuseSpent(ctx, t, r.noun, rec.ID); err != nil {
		return err
	}
	if r.freeze != nil {
		if err := r.freeze(ctx, t, nil, rec); err != nil {
			return err
		}
	}
	return r.bringBack(ctx, t, a, rec)
}

// Patch changes the record.
func (r *records[F, K]) Patch(ctx context.Context, a domain.Actor, id domain.ID, rev domain.Rev, change func(F) (F, error)) (domain.Record[F, K], error) {
	var rec domain.Record[F, K]
	err := r.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		before, err := r.writable(ctx, t, a, id)
		if err != nil {
			return err
		}
		if err := r.refuseErased(ctx, t, id, before.Fields); err != nil {
			return err
		}
		rec = *before
		rec.Fields, err = change(before.Fields)
		if err != nil {
			return err
		}
		if sameContent(before.Fields, rec.Fields) {
			rec = *before // the patch has been applied already, whatever rev was asked for (RFC 9110 section 13.1.1)
			return r.showOne(ctx, t, &rec)
		}
		if !rev.Matches(before.Rev) {
			return stale(before.Rev)
		}
		if err := domain.Refusal(rec.Fields.Check()); err != nil {
			return err
		}
		if err := r.may(ctx, t, a, domain.Write, rec); err != nil {
			return err
		}
		if r.freeze != nil {
			if err := r.freeze(ctx, t, before, &rec); err != nil {
				return err
			}
		}
		if err := r.change(ctx, t, a, before, &rec); err != nil {
			return err
		}
		return r.showOne(ctx, t, &rec)
	})
	return rec, err
}

func (r *records[F, K]) change(ctx context.Context, t *tx, a domain.Actor, before, rec *domain.Record[F, K]) error {
	if err := r.refuseErased(ctx, t, rec.ID, rec.Fields); err != nil {
		return err
	}
	if r.check != nil {
		if err := r.check(ctx, t, a, before, rec); err != nil {
			return err
		}
	}
	if err := r.update(ctx, t, by(a), before, rec); err != nil {
		return err
	}
	if r.after != nil {
		return r.after(ctx, t, a, before, rec)
	}
	return nil
}

// Remove takes the record away. A repeat that names the state that was removed finds it done.
func (r *records[F, K]) Remove(ctx context.Context, a domain.Actor, id domain.ID, rev domain.Rev) error {
	return r.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		before, err := r.writable(ctx, t, a, id)
		if domain.CodeOf(err) == domain.NotFound && !rev.Any {
			return r.confirmGone(ctx, t, a, id, rev)
		}
		if err != nil {
			return err
		}
		if !rev.Matches(before.Rev) {
			return stale(before.Rev)
		}
		return r.remove(ctx, t, a, *before)
	})
}

func (r *records[F, K]) remove(ctx context.Context, t *tx, a domain.Actor, before domain.Record[F, K]) error {
	if r.removable != nil {
		if err := r.removable(ctx, t, a, before); err != nil {
			return err
		}
	}
	if err := r.delete(ctx, t, by(a), before); err != nil {
		return err
	}
	if r.after != nil {
		return r.after(ctx, t, a, &before, nil)
	}
	return nil
}

// writable locks a record that the actor may write.
func (r *records[F, K]) writable(ctx context.Context, t *tx, a domain.Actor, id domain.ID) (*domain.Record[F, K], error) {
	if err := domain.MayAny(a, domain.Write, r.noun); err != nil {
		return nil, err
	}
	if r.first != nil {
		if err := r.first(ctx, t, id); err != nil {
			return nil, err
		}
	}
	rec, err := r.load(ctx, t, id, "FOR NO KEY UPDATE")
	if err != nil {
		return nil, err
	}
	if rec == nil {
		return nil, notFound(r.noun)
	}
	return rec, r.may(ctx, t, a, domain.Write, *rec)
}

func (r *records[F, K]) may(ctx context.Context, t *tx, a domain.Actor, verb domain.Verb, rec domain.Record[F, K]) error {
	var on domain.Subject
	if r.home != nil && domain.ScopeOf(a.Role, verb, r.noun) == domain.ScopeOwn { // else it does not matter whose
		var err error
		if on, err = r.home(rec).subject(ctx, t); err != nil {
			return err
		}
	}
	return domain.May(a, verb, r.noun, on)
}
