package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

func newGoalies(db *DB) *records[domain.GoalieFields, domain.None] {
	r := newRecords[domain.GoalieFields, domain.None](db, domain.NounGoalie, "goalies")
	const inTeams = `EXISTS (SELECT 1 FROM roster_spells s WHERE s.program_id = goalies.program_id
		AND s.goalie_id = goalies.id AND s.team_id = `
	r.own = `(` + inTeams + `ANY(@own_teams)) OR NOT EXISTS (SELECT 1 FROM roster_spells s
		WHERE s.program_id = goalies.program_id AND s.goalie_id = goalies.id))`
	r.filters = map[string]string{"team": "(" + inTeams + "@team)) IS TRUE"}
	r.subject = func(ctx context.Context, t *tx, rec domain.Goalie) (domain.Subject, error) {
		return goalieSubject(ctx, t, rec.ID)
	}
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, _, after *domain.Goalie) error {
		return refuseUnknown(ctx, t, "drills", item("/allowed_drill_ids"), "drill", after.Fields.AllowedDrillIDs)
	}
	r.isPerson()
	r.removable = func(ctx context.Context, t *tx, _ domain.Actor, rec domain.Goalie) error {
		return refuseMembersOf(ctx, t, "goalie_ids", "goalie", rec.ID)
	}
	return r
}

// goalieSubject gives the teams whose roster holds or held the goalie. A goalie of no team yet is open to every
// coach, who can then put them on a roster.
func goalieSubject(ctx context.Context, t *tx, id domain.ID) (domain.Subject, error) {
	rows, err := t.Query(ctx, `SELECT DISTINCT team_id FROM roster_spells WHERE program_id = $1 AND goalie_id = $2`,
		t.program, id)
	if err != nil {
		return domain.Subject{}, err
	}
	teams, err := pgx.CollectRows(rows, pgx.RowTo[domain.ID])
	return domain.Subject{TeamIDs: teams}, err
}
