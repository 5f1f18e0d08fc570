package postgres

import (
	"context"

	"cagework/domain"
)

func newAssignments(db *DB) *records[domain.AssignmentFields, domain.None] {
	r := newRecords[domain.AssignmentFields, domain.None](db, domain.NounAssignment, "assignments")
	r.own = ofOwnGoalies("assignments")
	r.filters = map[string]string{
		"goalie": "assignments.goalie_id = @goalie",
		"team":   "(" + goalieInTeam("assignments.goalie_id", "= @team") + ") IS TRUE",
	}
	r.subject = func(ctx context.Context, t *tx, rec domain.Assignment) (domain.Subject, error) {
		return goalieSubject(ctx, t, rec.Fields.GoalieID)
	}
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, _, after *domain.Assignment) error {
		return refuseMissingGoalie(ctx, t, after.Fields.GoalieID)
	}
	return r
}

// goalieInTeam is the condition that a goalie is or was on the roster of a team.
func goalieInTeam(goalie, team string) string {
	return `EXISTS (SELECT 1 FROM roster_spells s WHERE s.program_id = @program AND s.goalie_id = ` + goalie +
		` AND s.team_id ` + team + `)`
}

// ofOwnGoalies confines to goalies of own teams, and to those of no team yet.
func ofOwnGoalies(table string) string {
	goalie := table + ".goalie_id"
	return "((" + goalieInTeam(goalie, "= ANY(@own_teams)") + ") OR NOT EXISTS (SELECT 1 FROM roster_spells s " +
		"WHERE s.program_id = @program AND s.goalie_id = " + goalie + "))"
}

// refuseMissingGoalie says so before the database does: of a goalie that is not there nobody owns anything.
func refuseMissingGoalie(ctx context.Context, t *tx, id domain.ID) error {
	var there domain.ID
	err := t.QueryRow(ctx, `SELECT id FROM goalies WHERE program_id = $1 AND id = $2`, t.program, id).Scan(&there)
	return missingIfNone(err, "/goalie_id", "goalie")
}
