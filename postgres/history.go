package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// history is one record's changes as one actor may see them. Each change is judged by its own noun, and by what the record
// belonged to then: whoever has the record now has not its past in another team.
type history struct {
	*changes
	t      *tx
	a      domain.Actor
	record domain.ID
	now    map[domain.Noun]domain.Subject // what it belongs to now, or did when it was removed
}

func (c *changes) historyOf(t *tx, a domain.Actor, record domain.ID) *history {
	return &history{c, t, a, record, map[domain.Noun]domain.Subject{}}
}

// readable gives the first n changes after one that the actor may read.
func (h *history) readable(ctx context.Context, after int64, n int) ([]domain.Change, error) {
	items := []domain.Change{}
	for {
		found, err := changesWhere(ctx, h.t, "record_id = $2 AND rev > $3 ORDER BY rev LIMIT $4", h.record, after, n)
		if err != nil {
			return nil, err
		}
		for _, c := range found {
			may, err := h.may(ctx, domain.Read, c)
			if err != nil {
				return nil, err
			}
			if may {
				items = append(items, c)
			}
			if len(items) == n {
				return items, nil
			}
			after = c.Rev
		}
		if len(found) < n {
			return items, nil
		}
	}
}

// refuseUnread refuses a history of which the actor may read nothing. One that merely ends before a page is not refused.
func (h *history) refuseUnread(ctx context.Context, after int64) error {
	if _, err := h.last(ctx, "true"); err != nil {
		return err
	}
	if after > 0 {
		if before, err := h.readable(ctx, 0, 1); err != nil || len(before) > 0 {
			return err
		}
	}
	return notYours()
}

// toUndo holds the record and gives the change that is to be taken back, and the record's last one. rev 0 means the change
// that match names.
func (h *history) toUndo(ctx context.Context, match domain.Rev, rev int64) (change, last domain.Change, err error) {
	if last, err = h.last(ctx, "true"); err != nil {
		return change, last, err
	}
	wanted := rev
	if rev == 0 {
		wanted = last.Rev
		if len(match.Of) == 1 {
			wanted = match.Of[0]
		}
	}
	found, err := changesWhere(ctx, h.t, "record_id = $2 AND rev = $3", h.record, wanted)
	if err != nil {
		return change, last, err
	}
	change = last
	if len(found) > 0 {
		change = found[0]
	}
	if err := h.changes.kinds[change.Noun].hold(ctx, h.t, h.record); err != nil {
		return change, last, err
	}
	if last, err = h.last(ctx, "noun = $3", change.Noun); err != nil { // again: it may have changed before it was held
		return change, last, err
	}
	if err := h.mayUndo(ctx, change, last); err != nil {
		return change, last, err
	}
	switch {
	case len(found) == 0 && rev != 0:
		err = domain.Errorf(domain.NotFound, "The record has no change %d.", rev)
	case len(found) == 0:
		err = stale(last.Rev)
	}
	return change, last, err
}

// mayUndo asks for the right to write the record as it is, and as it was at the change.
func (h *history) mayUndo(ctx context.Context, change, last domain.Change) error {
	for _, c := range []domain.Change{{Noun: last.Noun}, change} {
		may, err := h.may(ctx, domain.Write, c)
		if err != nil {
			return err
		}
		if !may {
			return notYours()
		}
	}
	return nil
}

// may asks whether the actor may do the verb to the record as it was at a change. A change from before it was kept what the
// record belonged to, or from before it belonged to a team, goes with the record.
func (h *history) may(ctx context.Context, verb domain.Verb, c domain.Change) (bool, error) {
	var on domain.Subject
	if domain.ScopeOf(h.a.Role, verb, c.Noun) == domain.ScopeOwn { // else it does not matter whose
		if on = subjectOf(c); c.On == nil || on.Unplaced() {
			var err error
			if on, err = h.present(ctx, c.Noun); err != nil {
				return false, err
			}
		}
	}
	return domain.May(h.a, verb, c.Noun, on) == nil, nil
}

func subjectOf(c domain.Change) domain.Subject {
	if c.On == nil {
		return domain.Subject{}
	}
	return *c.On
}

// present gives what the record belongs to as a record of the noun, or did when it was removed.
func (h *history) present(ctx context.Context, noun domain.Noun) (domain.Subject, error) {
	if on, known := h.now[noun]; known {
		return on, nil
	}
	last, err := h.last(ctx, "noun = $3", noun)
	if err != nil {
		return domain.Subject{}, err
	}
	on, err := h.changes.kinds[noun].belongs(ctx, h.t, last)
	if err == nil {
		h.now[noun] = on
	}
	return on, err
}

// last gives the record's last change under a condition. A record that never was is not found.
func (h *history) last(ctx context.Context, condition string, args ...any) (domain.Change, error) {
	found, err := changesWhere(ctx, h.t, "record_id = $2 AND "+condition+" ORDER BY rev DESC LIMIT 1",
		append([]any{h.record}, args...)...)
	if err != nil {
		return domain.Change{}, err
	}
	if len(found) == 0 {
		return domain.Change{}, domain.Errorf(domain.NotFound, "There is no such record.")
	}
	return found[0], nil
}

// notYours says neither what the record is nor whose.
func notYours() error {
	return domain.Errorf(domain.Forbidden, "Nothing of this record's history is yours.")
}

func changesWhere(ctx context.Context, t *tx, condition string, args ...any) ([]domain.Change, error) {
	rows, err := t.Query(ctx, `SELECT rev, at, member_id, noun, record_id, op, before, before_found, of_team_ids, of_member_id
		FROM changes WHERE program_id = $1 AND `+condition, append([]any{t.program}, args...)...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (domain.Change, error) {
		var c domain.Change
		var on domain.Subject
		err := row.Scan(&c.Rev, &c.At, &c.MemberID, &c.Noun, &c.RecordID, &c.Op, &c.Before, &c.BeforeFound, &on.TeamIDs, &on.MemberID)
		c.At = c.At.UTC()
		if on.TeamIDs != nil {
			c.On = &on
		}
		return c, err
	})
}
