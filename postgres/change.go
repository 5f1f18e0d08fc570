package postgres

import (
	"context"
	"encoding/json"

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
	// belongs gives what the record belongs to, or did when it was removed. last is its last change.
	belongs(ctx context.Context, t *tx, last domain.Change) (domain.Subject, error)
	// undone gives what an undo of a change has left, when the record is already as it was before the change; else nil.
	undone(ctx context.Context, t *tx, change, last domain.Change) (*domain.Undone, error)
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

// Of gives the changes of one record that the actor may read, oldest first.
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
		h := c.historyOf(t, a, record)
		items, err := h.readable(ctx, after, limit+1)
		if err == nil && len(items) == 0 {
			err = h.refuseUnread(ctx, after)
		}
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
		if rev == 0 && last.Any { // sent again, it would take itself back
			return domain.InvalidField("/rev", "must name the change when If-Match is *")
		}
		change, present, err := c.historyOf(t, a, record).toUndo(ctx, last, rev)
		if err != nil {
			return err
		}
		if change.Op == domain.OpErase {
			return domain.Errorf(domain.Erased, "An erasure is not undone.")
		}
		kind := c.kinds[present.Noun]
		done, err := kind.undone(ctx, t, change, present)
		if err != nil {
			return err
		}
		if done != nil { // by this undo, when it is sent again; so it is whatever last says (RFC 9110 section 13.1.1)
			out = *done
			return nil
		}
		if !last.Matches(present.Rev) {
			return stale(present.Rev)
		}
		out, err = kind.undo(ctx, t, a, change, present)
		return err
	})
	return out, err
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

// belongs gives what a record belongs to, or did when it was removed. Of one that was removed before that was kept nothing is
// known: it is nobody's.
func (r *records[F, K]) belongs(ctx context.Context, t *tx, last domain.Change) (domain.Subject, error) {
	rec, err := r.load(ctx, t, last.RecordID, "")
	switch {
	case err != nil:
		return domain.Subject{}, err
	case rec != nil:
		return r.homeOf(*rec).subject(ctx, t)
	case last.On != nil:
		return *last.On, nil
	}
	return domain.Subject{}, nil
}

func (r *records[F, K]) undone(ctx context.Context, t *tx, change, last domain.Change) (*domain.Undone, error) {
	present, err := r.load(ctx, t, change.RecordID, "")
	if err != nil {
		return nil, err
	}
	if change.Op == domain.OpCreate {
		if present != nil {
			return nil, nil
		}
		return &domain.Undone{Noun: r.noun, Rev: last.Rev}, nil
	}
	was, err := r.was(change)
	if err != nil || present == nil || !sameContent(present.Fields, was.Fields) {
		return nil, err
	}
	if err := r.showOne(ctx, t, present); err != nil {
		return nil, err
	}
	return &domain.Undone{Noun: r.noun, Rev: present.Rev, Record: *present}, nil
}

// confirmGone tells whether a record was removed from the state that a repeated removal names. Who had no right to remove it
// learns no more than that it is not there.
func (r *records[F, K]) confirmGone(ctx context.Context, t *tx, a domain.Actor, id domain.ID, rev domain.Rev) error {
	gone, err := changesWhere(ctx, t, "record_id = $2 AND noun = $3 AND op = 'remove' ORDER BY rev DESC LIMIT 1", id, r.noun)
	if err != nil {
		return err
	}
	if len(gone) == 0 {
		return notFound(r.noun)
	}
	state, err := changesWhere(ctx, t, "record_id = $2 AND noun = $3 AND rev < $4 ORDER BY rev DESC LIMIT 1", id, r.noun, gone[0].Rev)
	if err != nil {
		return err
	}
	if len(state) == 0 || !rev.Matches(state[0].Rev) {
		return notFound(r.noun)
	}
	on, err := r.belongs(ctx, t, gone[0])
	if err != nil {
		return err
	}
	if domain.May(a, domain.Write, r.noun, on) != nil {
		return notFound(r.noun)
	}
	return nil
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
	if present != nil || !r.madeBy { // else it is whose it was when it was removed, and that was asked
		if err := r.may(ctx, t, a, domain.Write, *rec); err != nil {
			return err
		}
	}
	if present == nil {
		err = r.bringBack(ctx, t, a, rec)
	} else {
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

// undone is never said of a token, for there is no undo of one.
func (s *tokens) undone(context.Context, *tx, domain.Change, domain.Change) (*domain.Undone, error) {
	return nil, nil
}

// undo of a token is refused: what was revoked stays revoked, and a secret is given once.
func (s *tokens) undo(context.Context, *tx, domain.Actor, domain.Change, domain.Change) (domain.Undone, error) {
	return domain.Undone{}, domain.Errorf(domain.Conflict, "A token is not brought back or changed. Make a new one.")
}

func (p *programs) hold(ctx context.Context, t *tx, _ domain.ID) error {
	_, err := p.load(ctx, t, "FOR NO KEY UPDATE")
	return err
}

func (*programs) belongs(context.Context, *tx, domain.Change) (domain.Subject, error) {
	return domain.Subject{}, nil
}

func (p *programs) undone(ctx context.Context, t *tx, change, _ domain.Change) (*domain.Undone, error) {
	if change.Op == domain.OpCreate {
		return nil, nil
	}
	present, err := p.present(ctx, t, "")
	if err != nil {
		return nil, err
	}
	var was domain.ProgramFields
	if err := json.Unmarshal(change.Before, &was); err != nil {
		return nil, err
	}
	if !sameContent(present.Fields, was) {
		return nil, nil
	}
	return &domain.Undone{Noun: domain.NounProgram, Rev: present.Rev, Record: present}, nil
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
	if err := p.update(ctx, t, a.MemberID, before, &after); err != nil {
		return domain.Undone{}, err
	}
	return domain.Undone{Noun: domain.NounProgram, Rev: after.Rev, Record: after}, nil
}
