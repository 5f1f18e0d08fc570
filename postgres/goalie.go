package postgres

import (
	"context"

	"cagework/domain"
)

func newGoalies(db *DB) *records[domain.GoalieFields, domain.None] {
	r := newRecords[domain.GoalieFields, domain.None](db, domain.NounGoalie, "goalies")
	const inTeams = `EXISTS (SELECT 1 FROM roster_spells s WHERE s.program_id = goalies.program_id
		AND s.goalie_id = goalies.id AND s.team_id = `
	r.own = `(` + inTeams + `ANY(@own_teams)) OR goalies.made_by = @own_member)`
	r.filters = map[string]string{"team": "(" + inTeams + "@team)) IS TRUE"}
	r.home = func(rec domain.Goalie) home { return home{goalie: &rec.ID} }
	r.madeBy = true
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, _, after *domain.Goalie) error {
		return refuseUnknown(ctx, t, "drills", item("/allowed_drill_ids"), "drill", after.Fields.AllowedDrillIDs)
	}
	r.isPerson()
	r.removable = func(ctx context.Context, t *tx, _ domain.Actor, rec domain.Goalie) error {
		return refuseMembersOf(ctx, t, "goalie_ids", "goalie", rec.ID)
	}
	return r
}
