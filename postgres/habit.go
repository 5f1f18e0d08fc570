package postgres

import (
	"context"

	"cagework/domain"
)

func newHabits(db *DB, s *Stores) *records[domain.HabitFields, domain.None] {
	r := newRecords[domain.HabitFields, domain.None](db, domain.NounHabit, "habits")
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.Habit) error {
		if before == nil || before.Fields.Code == after.Fields.Code {
			return nil
		}
		return s.refuseUsedHabit(ctx, t, before.Fields.Code)
	}
	r.removable = func(ctx context.Context, t *tx, _ domain.Actor, rec domain.Habit) error {
		return s.refuseUsedHabit(ctx, t, rec.Fields.Code)
	}
	return r
}

// refuseUsedHabit keeps a habit's code while a reading answers it or a target asks for it. Their lists have no
// foreign key; whoever writes one holds the habits' rows, so that neither passes the other.
func (s *Stores) refuseUsedHabit(ctx context.Context, t *tx, code string) error {
	var read bool
	err := t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM readings WHERE program_id = $1 AND habits ? $2)`,
		t.program, code).Scan(&read)
	if err != nil {
		return err
	}
	if read {
		return domain.Errorf(domain.InUse, "Readings answer this habit. Switch it off instead: active false.")
	}
	targets, err := s.Targets.where(ctx, t, "true ORDER BY code")
	if err != nil {
		return err
	}
	for _, target := range targets {
		for _, c := range append(target.Fields.Of, target.Fields.Hit...) {
			if c.Field == code {
				return domain.Errorf(domain.InUse, "The target %q asks for this habit.", target.Fields.Code)
			}
		}
	}
	return nil
}

// habitsShared reads the program's habits and keeps their codes until the commit.
func (s *Stores) habitsShared(ctx context.Context, t *tx) ([]domain.Habit, error) {
	return s.Habits.where(ctx, t, "true ORDER BY cause, code FOR SHARE")
}
