package postgres

import (
	"context"
	"maps"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// A list is in the order of ids and goes on after the last id of the page before, so that no record is seen twice
// or missed while others write. Each page walks an index that is in that order: conditions that could tempt the
// planner away from it, into collecting all rows and sorting them, are written (...) IS TRUE, which no index
// answers.

func (r *records[F, K]) page(ctx context.Context, t *tx, a domain.Actor, q domain.Query) (domain.Page[domain.Record[F, K]], error) {
	limit := q.Limit
	if limit == 0 {
		limit = domain.DefaultLimit
	}
	limit = min(limit, domain.MaxLimit)
	where, args, err := r.conditions(ctx, t, a, q)
	if err != nil {
		return domain.Page[domain.Record[F, K]]{}, err
	}
	args["program"], args["limit"] = t.program, limit+1
	rows, err := t.Query(ctx, r.listSQL(where), args)
	if err != nil {
		return domain.Page[domain.Record[F, K]]{}, err
	}
	items, err := pgx.CollectRows(rows, r.scan)
	if err != nil {
		return domain.Page[domain.Record[F, K]]{}, err
	}
	page := domain.Page[domain.Record[F, K]]{Items: items}
	if len(items) == 0 {
		return page, refuseUnknownFilters(ctx, t, q.Filter)
	}
	if len(items) > limit {
		page.Items = items[:limit]
		page.Next = &items[limit-1].ID
	}
	return page, r.show(ctx, t, page.Items)
}

func (r *records[F, K]) listSQL(where []string) string {
	return "SELECT " + r.selectList() + " FROM " + r.table + " WHERE " + strings.Join(where, " AND ") +
		" ORDER BY " + r.table + ".id LIMIT @limit"
}

// conditions gives what a list asks for, and its arguments. Filters by team, season and week are answered by the
// games they mean where the kind belongs to a game; so is the confinement to own teams.
func (r *records[F, K]) conditions(ctx context.Context, t *tx, a domain.Actor, q domain.Query) ([]string, pgx.StrictNamedArgs, error) {
	where := []string{r.table + ".program_id = @program"}
	args := pgx.StrictNamedArgs{}
	if q.After != nil {
		where = append(where, r.table+".id > @after")
		args["after"] = *q.After
	}
	asked, err := filterArgs(ctx, t, q.Filter)
	if err != nil {
		return nil, nil, err
	}
	own := domain.ScopeOf(a.Role, domain.Read, r.noun) == domain.ScopeOwn
	if r.game != "" && (own || asked["team"] != nil || asked["from"] != nil) {
		games, err := gamesFor(ctx, t, a, own, asked)
		if err != nil {
			return nil, nil, err
		}
		where = append(where, "("+r.game+" = ANY(@games)) IS TRUE")
		args["games"] = games
	}
	for _, name := range slices.Sorted(maps.Keys(r.filters)) {
		if asked[name] != nil {
			where = append(where, r.filters[name])
			use(args, r.filters[name], asked)
		}
	}
	if own && r.own != "" {
		where = append(where, r.own)
		use(args, r.own, map[string]any{
			"own_teams": append([]domain.ID{}, a.TeamIDs...), "own_member": a.MemberID, "recorder": a.Role == domain.Recorder,
		})
	}
	return where, args, nil
}

// refuseUnknownFilters refuses a list that was narrowed to what the program does not have. It is asked of empty lists only:
// whatever is in a list tells that what it was narrowed to is there.
func refuseUnknownFilters(ctx context.Context, t *tx, f domain.Filter) error {
	for _, by := range []struct {
		id              *domain.ID
		parameter, noun string
		table           string
	}{
		{f.TeamID, "team_id", "team", "teams"}, {f.GoalieID, "goalie_id", "goalie", "goalies"}, {f.GameID, "game_id", "game", "games"},
		{f.MemberID, "member_id", "member", "members"}, {f.ShotID, "shot_id", "shot", "shots"},
	} {
		if by.id == nil {
			continue
		}
		var id domain.ID
		err := t.QueryRow(ctx, `SELECT id FROM `+by.table+` WHERE program_id = $1 AND id = $2`, t.program, *by.id).Scan(&id)
		if err != nil {
			return missingIfNone(err, by.parameter, by.noun)
		}
	}
	return nil
}

// use adds the arguments that a condition names.
func use(args pgx.StrictNamedArgs, condition string, values map[string]any) {
	for name, value := range values {
		if strings.Contains(condition, "@"+name) {
			args[name] = value
		}
	}
}

// filterArgs gives the arguments of the filters that are set, by name; a season and a week become days.
func filterArgs(ctx context.Context, t *tx, f domain.Filter) (map[string]any, error) {
	asked := map[string]any{}
	for name, id := range map[string]*domain.ID{
		"team": f.TeamID, "goalie": f.GoalieID, "game": f.GameID, "member": f.MemberID, "shot": f.ShotID,
	} {
		if id != nil {
			asked[name] = *id
		}
	}
	if f.Unresolved != nil {
		asked["resolved"] = *f.Unresolved
		if *f.Unresolved {
			delete(asked, "resolved")
			asked["unresolved"] = true
		}
	}
	if f.CodeOfPlay != nil {
		asked["code_of_play"] = *f.CodeOfPlay
	}
	if f.Level != nil {
		asked["level"] = *f.Level
	}
	var span domain.Span
	if f.Week != nil {
		span = domain.Span{From: f.Week.Monday(), To: f.Week.Sunday()}
	}
	if f.SeasonID != nil {
		var s domain.SeasonFields
		err := t.QueryRow(ctx, `SELECT starts_on, ends_on FROM seasons WHERE program_id = $1 AND id = $2`,
			t.program, *f.SeasonID).Scan(&s.StartsOn, &s.EndsOn)
		if err != nil {
			return nil, missingIfNone(err, "season_id", "season")
		}
		span = narrowed(span, s)
	}
	if !span.From.IsZero() {
		asked["from"], asked["to"] = span.From, span.To
	}
	return asked, nil
}

// gamesFor gives the games that a list is narrowed to: of a team, of days, of the actor's own teams.
func gamesFor(ctx context.Context, t *tx, a domain.Actor, own bool, asked map[string]any) ([]domain.ID, error) {
	var teams []domain.ID // nil does not narrow, an empty list leaves nothing
	if own {
		teams = append([]domain.ID{}, a.TeamIDs...)
	}
	rows, err := t.Query(ctx, `SELECT id FROM games WHERE program_id = $1
		AND ($2::uuid[] IS NULL OR team_id = ANY($2)) AND ($3::uuid IS NULL OR team_id = $3)
		AND ($4::date IS NULL OR played_on >= $4) AND ($5::date IS NULL OR played_on <= $5)`,
		t.program, teams, asked["team"], asked["from"], asked["to"])
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[domain.ID])
}
