package postgres

import (
	"context"

	"cagework/domain"
)

func newDrills(db *DB) *records[domain.DrillFields, domain.None] {
	r := newRecords[domain.DrillFields, domain.None](db, domain.NounDrill, "drills")
	r.removable = func(ctx context.Context, t *tx, _ domain.Actor, rec domain.Drill) error {
		err := refuseNamed(ctx, t, domain.NounRule, `SELECT name FROM rules
			WHERE program_id = $1 AND $2 = ANY(after_drill_ids) ORDER BY priority, name LIMIT 1`, rec.ID)
		if err != nil {
			return err
		}
		return refuseNamed(ctx, t, domain.NounGoalie, `SELECT name FROM goalies
			WHERE program_id = $1 AND $2 = ANY(allowed_drill_ids) ORDER BY name LIMIT 1`, rec.ID)
	}
	return r
}
