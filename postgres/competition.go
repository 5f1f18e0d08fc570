package postgres

import (
	"context"

	"cagework/domain"
)

func newCompetitions(db *DB) *records[domain.CompetitionFields, domain.None] {
	r := newRecords[domain.CompetitionFields, domain.None](db, domain.NounCompetition, "competitions")
	// Charted games stand on a competition's sizes and times; writes of games lock its row FOR SHARE, this one
	// FOR NO KEY UPDATE, so that neither passes the other.
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.Competition) error {
		if before == nil || before.Fields.SameMeasures(after.Fields) {
			return nil
		}
		var used bool
		err := t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM games WHERE program_id = $1 AND competition_id = $2)`,
			t.program, after.ID).Scan(&used)
		if err != nil {
			return err
		}
		if used {
			return domain.Errorf(domain.InUse,
				"A game has used this competition: only its name, rule_book, unconfirmed and arc can change. Make a new competition.")
		}
		return nil
	}
	return r
}
