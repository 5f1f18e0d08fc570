package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// home is where a record belongs: to teams that it names, to the team of its game, or to its goalie and with them to the
// teams that have had the goalie. A record of the whole program has none.
type home struct {
	teams  []domain.ID
	game   *domain.ID
	goalie *domain.ID
	shot   *domain.ID // of a reading whose game is not found yet
	member *domain.ID // whose reading it is
}

// teamOfGame gives the team of a game as a list, in SQL.
func teamOfGame(game string) string {
	return "ARRAY(SELECT g.team_id FROM games g WHERE g.program_id = $1 AND g.id = " + game + ")"
}

// madeBy is who made a goalie: whoever makes it now, or, of one that is brought back, whose it was when it was removed.
const madeBy = `(CASE WHEN EXISTS (SELECT 1 FROM changes m WHERE m.program_id = $1 AND m.record_id = $2 AND m.noun = $5)
	THEN (SELECT m.of_member_id FROM changes m WHERE m.program_id = $1 AND m.record_id = $2 AND m.noun = $5
		ORDER BY m.rev DESC LIMIT 1) ELSE $4 END)`

// sql gives the teams and the member as SQL over the program $1; what else it needs is added to the arguments. What a change
// belongs to is found by the statement that writes the change.
func (h home) sql(args *arguments) (teams, member string) {
	teams, member = "NULL::uuid[]", "NULL::uuid"
	switch {
	case h.teams != nil:
		teams = args.add(h.teams) + "::uuid[]"
	case h.game != nil:
		teams = teamOfGame(args.add(*h.game))
	case h.goalie != nil:
		goalie := args.add(*h.goalie)
		teams = teamsOfGoalie(goalie)
		member = "(SELECT o.made_by FROM goalies o WHERE o.program_id = $1 AND o.id = " + goalie + ")"
	}
	if h.member != nil {
		member = args.add(*h.member) + "::uuid"
	}
	return teams, member
}

// subject reads what a record belongs to now.
func (h home) subject(ctx context.Context, t *tx) (domain.Subject, error) {
	on := domain.Subject{TeamIDs: h.teams}
	var err error
	switch {
	case h.game != nil:
		on, err = gameSubject(ctx, t, *h.game)
	case h.goalie != nil:
		on, err = goalieSubject(ctx, t, *h.goalie)
	case h.shot != nil:
		var game domain.ID
		if game, err = gameOfShot(ctx, t, *h.shot); err == nil {
			on, err = gameSubject(ctx, t, game)
		}
	}
	if h.member != nil {
		on.MemberID = h.member
	}
	return on, err
}

// homeOf gives where a record belongs; nowhere for a kind of the whole program.
func (r *records[F, K]) homeOf(rec domain.Record[F, K]) home {
	if r.home == nil {
		return home{}
	}
	return r.home(rec)
}

// teamsOfGoalie gives the teams whose roster holds or held a goalie as a list, in SQL.
func teamsOfGoalie(goalie string) string {
	return `ARRAY(SELECT DISTINCT s.team_id FROM roster_spells s WHERE s.program_id = $1 AND s.goalie_id = ` + goalie +
		" ORDER BY s.team_id)"
}

// goalieSubject gives the teams whose roster holds or held the goalie. A goalie who was on none yet is whose who made them,
// so that a coach can put them on one; a goalie who is on none any more is nobody's but the director's.
func goalieSubject(ctx context.Context, t *tx, id domain.ID) (domain.Subject, error) {
	rows, err := t.Query(ctx, "SELECT "+teamsOfGoalie("$2")+`, (SELECT o.made_by FROM goalies o
		WHERE o.program_id = $1 AND o.id = $2)`, t.program, id)
	if err != nil {
		return domain.Subject{}, err
	}
	return pgx.CollectExactlyOneRow(rows, func(row pgx.CollectableRow) (domain.Subject, error) {
		var on domain.Subject
		return on, row.Scan(&on.TeamIDs, &on.MemberID)
	})
}
