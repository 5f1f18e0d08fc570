package postgres

import (
	"context"

	"cagework/domain"
)

func newTargets(db *DB, s *Stores) *records[domain.TargetFields, domain.None] {
	r := newRecords[domain.TargetFields, domain.None](db, domain.NounTarget, "targets")
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, _, after *domain.Target) error {
		habits, err := s.habitsShared(ctx, t)
		if err != nil {
			return err
		}
		faults := domain.UnknownHabits("/of", after.Fields.Of, habits)
		return domain.Refusal(append(faults, domain.UnknownHabits("/hit", after.Fields.Hit, habits)...))
	}
	r.removable = func(ctx context.Context, t *tx, _ domain.Actor, rec domain.Target) error {
		return refuseNamed(ctx, t, domain.NounRule, `SELECT name FROM rules
			WHERE program_id = $1 AND $2 = ANY(also_short_ids || not_short_ids) ORDER BY priority, name LIMIT 1`, rec.ID)
	}
	return r
}
