package postgres

import (
	"context"
	"encoding/json"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// changes is the history of every record, and how to take a change back.
type changes struct {
	db    *DB
	kinds map[domain.Noun]historian
}

// historian is what a store must do for the history of its records.
type historian interface {
	// hold locks the record, if it is there, so that its history stays as it is until the commit.
	hold(ctx context.Context, t *tx, id domain.ID) error
	// mayReadHistory asks whether the actor may read the record, or what it was before it was removed.
	mayReadHistory(ctx context.Context, t *tx, a domain.Actor, last domain.Change) error
	// undo takes one change of a record back. last is the record's last change.
	undo(ctx context.Context, t *tx, a domain.Actor, change, last domain.Change) (domain.Undone, error)
}

func newChanges(db *DB, s *Stores) *changes {
	return &changes{db, map[domain.Noun]historian{
		domain.NounProgram: s.Programs, domain.NounMember: s.Members, domain.NounToken: s.Tokens,
		domain.NounSeason: s.Seasons, domain.NounCompetition: s.Competitions, domain.NounTeam: s.Teams,
		domain.NounGoalie: s.Goalies, domain.NounRosterSpell: s.RosterSpells, domain.NounGame: s.Games,
		domain.NounStint: s.Stints, domain.NounShot: s.Shots, domain.NounReading: s.Readings,
		domain.NounClear: s.Clears, domain.NounHabit: s.Habits, domain.NounTarget: s.Targets,
		domain.NounDrill: s.Drills, domain.NounRule: s.Rules, domain.NounAssignment: s.Assignments,
		domain.NounPracticeLog: s.PracticeLogs, domain.NounView: s.Views,
		domain.NounFit: s.Fits.history(),
	}}
}

// Of gives the changes of one record, oldest first.
func (c *changes) Of(ctx context.Context, a domain.Actor, record domain.ID, limit int, after int64) (domain.ChangePage, error) {
	if limit == 0 {
		limit = domain.DefaultLimit
	}
	limit = min(limit, domain.MaxLimit)
	var page domain.ChangePage
	err := c.db.inList(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Read, domain.NounChange); err != nil {
			return err
		}
		last, err := c.last(ctx, t, record)
		if err != nil {
			return err
		}
		if err := c.kinds[last.Noun].mayReadHistory(ctx, t, a, last); err != nil {
			return err
		}
		items, err := changesWhere(ctx, t, "record_id = $2 AND rev > $3 ORDER BY rev LIMIT $4", record, after, limit+1)
		page = domain.ChangePage{Items: items}
		if len(items) > limit {
			page.Items, page.Next = items[:limit], &items[limit-1].Rev
		}
		return err
	})
	return page, err
}

// Undo takes a change of a record back by another change.
func (c *changes) Undo(ctx context.Context, a domain.Actor, record domain.ID, last domain.Rev, rev int64) (domain.Undone, error) {
	var out domain.Undone
	err := c.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Write, domain.NounChange); err != nil {
			return err
		}
		present, err := c.last(ctx, t, record)
		if err != nil {
			return err
		}
		kind := c.kinds[present.Noun]
		if err := kind.mayReadHistory(ctx, t, a, present); err != nil {
			return err
		}
		if err := kind.hold(ctx, t, record); err != nil {
			return err
		}
		if present, err = c.last(ctx, t, record); err != nil { // again: it may have changed before it was held
			return err
		}
		if !last.Matches(present.Rev) {
			return stale(present.Rev)
		}
		change := present
		if rev != 0 {
			found, err := changesWhere(ctx, t, "record_id = $2 AND rev = $3", record, rev)
			if err != nil {
				return err
			}
			if len(found) == 0 {
				return domain.Errorf(domain.NotFound, "The record has no change %d.", rev)
			}
			change = found[0]
		}
		if change.Op == domain.OpErase {
			return domain.Errorf(domain.Erased, "An erasure is not undone.")
		}
		out, err = kind.undo(ctx, t, a, change, present)
		return err
	})
	return out, err
}

// last gives a record's last change. A record that never was is not found.
func (c *changes) last(ctx context.Context, t *tx, record domain.ID) (domain.Change, error) {
	found, err := changesWhere(ctx, t, "record_id = $2 ORDER BY rev DESC LIMIT 1", record)
	if err != nil {
		return domain.Change{}, err
	}
	if len(found) == 0 {
		return domain.Change{}, domain.Errorf(domain.NotFound, "There is no such record.")
	}
	return found[0], nil
}

func changesWhere(ctx context.Context, t *tx, condition string, args ...any) ([]domain.Change, error) {
	rows, err := t.Query(ctx, `SELECT rev, at, member_id, noun, record_id, op, before, before_found FROM changes
		WHERE program_id = $1 AND `+condition, append([]any{t.program}, args...)...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (domain.Change, error) {
		var c domain.Change
		err := row.Scan(&c.Rev, &c.At, &c.MemberID, &c.Noun, &c.RecordID, &c.Op, &c.Before, &c.BeforeFound)
		c.At = c.At.UTC()
		return c, err
	})
}

// was gives the record as it was before a change.
func (r *records[F, K]) was(c domain.Change) (domain.Record[F, K], error) {
	rec := domain.Record[F, K]{ID: c.RecordID}
	if c.Before == nil { // it never was here: what is known of it is its erasure alone
		return rec, nil
	}
	if err := json.Unmarshal(c.Before, &rec.Fields); err != nil {
		return rec, err
	}
	return rec, json.Unmarshal(c.BeforeFound, &rec.Found)
}

func (r *records[F, K]) hold(ctx context.Context, t *tx, id domain.ID) error {
	if r.first != nil {
		if err := r.first(ctx, t, id); err != nil {
			return err
		}
	}
	_, err := r.load(ctx, t, id, "FOR NO KEY UPDATE")
	return err
}

func (r *records[F, K]) mayReadHistory(ctx context.Context, t *tx, a domain.Actor, last domain.Change) error {
	if err := domain.MayAny(a, domain.Read, r.noun); err != nil {
		return err
	}
	rec, err := r.load(ctx, t, last.RecordID, "")
	if err != nil {
		return err
	}
	if rec == nil {
		gone, err := r.was(last)
		if err != nil {
			return err
		}
		rec = &gone
	}
	err = r.may(ctx, t, a, domain.Read, *rec)
	if domain.CodeOf(err) == domain.Invalid { // what it belonged to is gone too
		return domain.May(a, domain.Read, r.noun, domain.Subject{TeamIDs: []domain.ID{{}}})
	}
	return err
}

// undo puts a record back as it was before a change, brings it back, or removes it when its creation is undone.
func (r *records[F, K]) undo(ctx context.Context, t *tx, a domain.Actor, change, last domain.Change) (domain.Undone, error) {
	out := domain.Undone{Noun: r.noun, Rev: last.Rev}
	if change.Op == domain.OpCreate {
		before, err := r.writable(ctx, t, a, change.RecordID)
		if err != nil {
			return out, err
		}
		if err := r.remove(ctx, t, a, *before); err != nil {
			return out, err
		}
		return out, t.QueryRow(ctx, `SELECT last_rev FROM programs WHERE id = $1`, t.program).Scan(&out.Rev)
	}
	rec, err := r.was(change)
	if err != nil {
		return out, err
	}
	if err := r.restore(ctx, t, a, &rec); err != nil {
		return out, err
	}
	out.Rev, out.Record = rec.Rev, rec
	return out, nil
}

// restore writes a record as it once was, whether it is there now or not. It is checked like a new one: what it
// stood on may be gone.
func (r *records[F, K]) restore(ctx context.Context, t *tx, a domain.Actor, rec *domain.Record[F, K]) error {
	if err := domain.MayAny(a, domain.Write, r.noun); err != nil {
		return err
	}
	if r.first != nil {
		if err := r.first(ctx, t, rec.ID); err != nil {
			return err
		}
	}
	if err := r.refuseErased(ctx, t, rec.ID, rec.Fields); err != nil {
		return err
	}
	present, err := r.load(ctx, t, rec.ID, "FOR NO KEY UPDATE")
	if err != nil {
		return err
	}
	if err := domain.Refusal(rec.Fields.Check()); err != nil {
		return err
	}
	if err := r.may(ctx, t, a, domain.Write, *rec); err != nil {
		return err
	}
	switch {
	case present == nil:
		err = r.bringBack(ctx, t, a, rec)
	case sameContent(present.Fields, rec.Fields):
		*rec = *present // there is nothing to put back
	default:
		if err := r.may(ctx, t, a, domain.Write, *present); err != nil {
			return err
		}
		if r.freeze == nil {
			rec.Found = present.Found
		}
		err = r.change(ctx, t, a, present, rec)
	}
	if err != nil {
		return err
	}
	return r.showOne(ctx, t, rec)
}

// bringBack inserts a removed record under its old id.
func (r *records[F, K]) bringBack(ctx context.Context, t *tx, a domain.Actor, rec *domain.Record[F, K]) error {
	if r.check != nil {
		if err := r.check(ctx, t, a, nil, rec); err != nil {
			return err
		}
	}
	if err := r.insert(ctx, t, by(a), rec); err != nil {
		return err
	}
	if r.after != nil {
		return r.after(ctx, t, a, nil, rec)
	}
	return nil
}

// undo of a token is refused: what was revoked stays revoked, and a secret is given once.
func (s *tokens) undo(context.Context, *tx, domain.Actor, domain.Change, domain.Change) (domain.Undone, error) {
	return domain.Undone{}, domain.Errorf(domain.Conflict, "A token is not brought back or changed. Make a new one.")
}

func (p *programs) hold(ctx context.Context, t *tx, _ domain.ID) error {
	_, err := p.load(ctx, t, "FOR NO KEY UPDATE")
	return err
}

func (p *programs) mayReadHistory(_ context.Context, _ *tx, a domain.Actor, _ domain.Change) error {
	return domain.MayAny(a, domain.Read, domain.NounProgram)
}

func (p *programs) undo(ctx context.Context, t *tx, a domain.Actor, change, _ domain.Change) (domain.Undone, error) {
	if err := domain.MayAny(a, domain.Write, domain.NounProgram); err != nil {
		return domain.Undone{}, err
	}
	if change.Op == domain.OpCreate {
		return domain.Undone{}, domain.Errorf(domain.Conflict, "A program's creation is not undone.")
	}
	before, err := p.present(ctx, t, "FOR NO KEY UPDATE")
	if err != nil {
		return domain.Undone{}, err
	}
	after := domain.Program{ID: before.ID, Rev: before.Rev}
	if err := json.Unmarshal(change.Before, &after.Fields); err != nil {
		return domain.Undone{}, err
	}
	if err := domain.Refusal(after.Fields.Check()); err != nil {
		return domain.Undone{}, err
	}
	if !sameContent(before.Fields, after.Fields) {
		if err := p.update(ctx, t, a.MemberID, before, &after); err != nil {
			return domain.Undone{}, err
		}
	}
	return domain.Undone{Noun: domain.NounProgram, Rev: after.Rev, Record: after}, nil
}
