package postgres

import (
	"context"
	"encoding/json"

	"cagework/domain"
)

func newRosterSpells(db *DB) *records[domain.RosterSpellFields, domain.None] {
	r := newRecords[domain.RosterSpellFields, domain.None](db, domain.NounRosterSpell, "roster_spells")
	r.own = "(roster_spells.team_id = ANY(@own_teams)) IS TRUE"
	r.filters = map[string]string{
		"team":   "(roster_spells.team_id = @team) IS TRUE",
		"goalie": "(roster_spells.goalie_id = @goalie) IS TRUE",
	}
	r.home = func(rec domain.RosterSpell) home { return home{teams: []domain.ID{rec.Fields.TeamID}} }
	r.check = checkRosterSpell
	r.after = func(ctx context.Context, t *tx, _ domain.Actor, _, after *domain.RosterSpell) error {
		if after == nil {
			return nil
		}
		return placeGoalie(ctx, t, after.Fields.GoalieID)
	}
	return r
}

// placeGoalie keeps in mind that a goalie was on a roster: from now on they are their teams', and without any nobody's.
func placeGoalie(ctx context.Context, t *tx, id domain.ID) error {
	_, err := t.Exec(ctx, `UPDATE goalies SET made_by = NULL WHERE program_id = $1 AND id = $2 AND made_by IS NOT NULL`,
		t.program, id)
	return err
}

// checkRosterSpell keeps somebody who is confined to own teams from reaching another team's goalie by putting
// them on a roster of theirs; and a goalie from being twice in one team at a time.
func checkRosterSpell(ctx context.Context, t *tx, a domain.Actor, before, after *domain.RosterSpell) error {
	// Whoever writes spells of a goalie holds the goalie's row, so that two of them cannot overlap unseen.
	var goalie domain.ID
	err := t.QueryRow(ctx, `SELECT id FROM goalies WHERE program_id = $1 AND id = $2 FOR NO KEY UPDATE`,
		t.program, after.Fields.GoalieID).Scan(&goalie)
	if err != nil {
		return missingIfNone(err, "/goalie_id", "goalie")
	}
	if before == nil || before.Fields.GoalieID != after.Fields.GoalieID {
		if err := mayPlace(ctx, t, a, after); err != nil {
			return err
		}
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

// mayPlace asks whether the actor may put the goalie of a new spell on a roster. Whoever removed a goalie's only spell by
// mistake may bring it back, although the goalie is nobody's now: the spell is its team's still.
func mayPlace(ctx context.Context, t *tx, a domain.Actor, spell *domain.RosterSpell) error {
	on, err := goalieSubject(ctx, t, spell.Fields.GoalieID)
	if err != nil {
		return err
	}
	refused := domain.May(a, domain.Write, domain.NounRosterSpell, on)
	if refused == nil || len(on.TeamIDs) > 0 || on.MemberID != nil {
		return refused
	}
	last, err := changesWhere(ctx, t, `record_id = $2 AND noun = 'roster_spell' ORDER BY rev DESC LIMIT 1`, spell.ID)
	if err != nil {
		return err
	}
	if len(last) == 0 || last[0].Op != domain.OpRemove {
		return refused
	}
	var was domain.RosterSpellFields
	if err := json.Unmarshal(last[0].Before, &was); err != nil {
		return err
	}
	if was.GoalieID != spell.Fields.GoalieID {
		return refused
	}
	return nil
}
