package postgres

import (
	"context"

	"cagework/domain"
)

func newTeams(db *DB) *records[domain.TeamFields, domain.None] {
	r := newRecords[domain.TeamFields, domain.None](db, domain.NounTeam, "teams")
	r.own = "(teams.id = ANY(@own_teams)) IS TRUE"
	r.home = func(rec domain.Team) home { return home{teams: []domain.ID{rec.ID}} }
	r.removable = func(ctx context.Context, t *tx, _ domain.Actor, rec domain.Team) error {
		return refuseMembersOf(ctx, t, "team_ids", "team", rec.ID)
	}
	return r
}

// refuseMembersOf refuses to remove what a member's list still names.
func refuseMembersOf(ctx context.Context, t *tx, column, noun string, id domain.ID) error {
	var named bool
	err := t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM members WHERE program_id = $1 AND $2 = ANY(`+column+`))`,
		t.program, id).Scan(&named)
	if err != nil {
		return err
	}
	if named {
		return domain.Errorf(domain.InUse, "It cannot be removed: a member's %s names this %s.", column, noun)
	}
	return nil
}
