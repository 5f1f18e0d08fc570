package postgres

import (
	"context"

	"cagework/domain"
)

func newRosterSpells(db *DB) *records[domain.RosterSpellFields, domain.None] {
	r := newRecords[domain.RosterSpellFields, domain.None](db, domain.NounRosterSpell, "roster_spells")
	r.own = "(roster_spells.team_id = ANY(@own_teams)) IS TRUE"
	r.filters = map[string]string{
		"team":   "(roster_spells.team_id = @team) IS TRUE",
		"goalie": "(roster_spells.goalie_id = @goalie) IS TRUE",
	}
	r.subject = func(_ context.Context, _ *tx, rec domain.RosterSpell) (domain.Subject, error) {
		return domain.Subject{TeamIDs: []domain.ID{rec.Fields.TeamID}}, nil
	}
	r.check = checkRosterSpell
	return r
}

// checkRosterSpell keeps somebody who is confined to own teams from reaching another team's goalie by putting
// them on a roster of theirs; and a goalie from being twice in one team at a time.
func checkRosterSpell(ctx context.Context, t *tx, a domain.Actor, before, after *domain.RosterSpell) error {
	if before == nil || before.Fields.GoalieID != after.Fields.GoalieID {
		on, err := goalieSubject(ctx, t, after.Fields.GoalieID)
		if err != nil {
			return err
		}
		if err := domain.May(a, domain.Write, domain.NounRosterSpell, on); err != nil {
			return err
		}
	}
	// Whoever writes spells of a goalie holds the goalie's row, so that two of them cannot overlap unseen.
	var goalie domain.ID
	err := t.QueryRow(ctx, `SELECT id FROM goalies WHERE program_id = $1 AND id = $2 FOR NO KEY UPDATE`,
		t.program, after.Fields.GoalieID).Scan(&goalie)
	if err != nil {
		return missingIfNone(err, "/goalie_id", "goalie")
	}
	var overlaps bool
	err = t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM roster_spells
		WHERE program_id = $1 AND goalie_id = $2 AND team_id = $3 AND id <> $4
		AND daterange(from_on, to_on, '[]') && daterange($5::date, $6::date, '[]'))`,
		t.program, after.Fields.GoalieID, after.Fields.TeamID, after.ID, after.Fields.FromOn, after.Fields.ToOn).
		Scan(&overlaps)
	if err != nil {
		return err
	}
	if overlaps {
		return domain.InTheWayField("/from_on", "the goalie is in this team already in that time")
	}
	return nil
}
