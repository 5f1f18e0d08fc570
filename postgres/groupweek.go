package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// Team gives the records of the week of a team.
func (w *weeks) Team(ctx context.Context, a domain.Actor, team domain.ID, week domain.Week) (domain.GroupRecords, error) {
	var out domain.GroupRecords
	err := w.db.inSnapshot(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		found, err := w.stores.teamFor(ctx, t, a, domain.NounWeek, team)
		if err != nil {
			return err
		}
		common, err := w.library(ctx, t, week)
		if err != nil {
			return err
		}
		if out, err = w.group(ctx, t, common, []domain.Team{found}, false); err != nil {
			return err
		}
		out.Cage.Seasons, out.Cage.Fits = common.Seasons, common.Fits
		out.Cage.Faced, err = w.stores.faced(ctx, t, ofTeam(team), domain.Span{From: earliest(common), To: week.Sunday()})
		if err != nil {
			return err
		}
		out.Cage.Goalies, err = w.stores.goaliesIn(ctx, t, out.Cage.Faced)
		return err
	})
	return out, err
}

// Program gives the records of the week of every goalie whom the actor may read about: of a coach's teams, or all.
func (w *weeks) Program(ctx context.Context, a domain.Actor, week domain.Week) (domain.GroupRecords, error) {
	var out domain.GroupRecords
	err := w.db.inSnapshot(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Read, domain.NounWeek); err != nil {
			return err
		}
		everywhere := domain.ScopeOf(a.Role, domain.Read, domain.NounWeek) == domain.ScopeProgram
		teams, err := w.stores.Teams.where(ctx, t, "($2 OR id = ANY($3)) ORDER BY name, teams.id", everywhere, a.TeamIDs)
		if err != nil {
			return err
		}
		common, err := w.library(ctx, t, week)
		if err != nil {
			return err
		}
		out, err = w.group(ctx, t, common, teams, everywhere)
		return err
	})
	return out, err
}

// group reads the weeks of the goalies on the rosters of teams in the week; with strays also of those who are on no
// roster in the week but faced a shot in the look-back.
func (w *weeks) group(ctx context.Context, t *tx, common domain.WeekRecords, teams []domain.Team, strays bool) (domain.GroupRecords, error) {
	out := domain.GroupRecords{Program: common.Program, Week: common.Week, Teams: teams}
	ids := make([]domain.ID, len(teams))
	for i, team := range teams {
		ids[i] = team.ID
	}
	monday, sunday := common.Week.Monday(), common.Week.Sunday()
	goalies, err := w.stores.Goalies.where(ctx, t, `(id IN (SELECT s.goalie_id FROM roster_spells s
			WHERE s.program_id = $1 AND s.team_id = ANY($2) AND s.from_on <= $4 AND (s.to_on IS NULL OR s.to_on >= $3))
		OR $5 AND id IN (SELECT shots.faced_goalie_id FROM shots JOIN games
			ON games.program_id = shots.program_id AND games.id = shots.game_id
			WHERE shots.program_id = $1 AND games.played_on BETWEEN $6 AND $4)) ORDER BY name, goalies.id`,
		ids, monday, sunday, strays, earliest(common))
	if err != nil {
		return out, err
	}
	if out.Weeks, err = w.weeksOf(ctx, t, common, goalies, strays); err != nil {
		return out, err
	}
	out.Games, err = w.chartedGames(ctx, t, ids, domain.Span{From: sunday.AddDays(1 - 7*domain.ChartWeeks), To: sunday})
	return out, err
}

// chartedGames gives the games and scrimmages of teams with how far each is charted.
func (w *weeks) chartedGames(ctx context.Context, t *tx, teams []domain.ID, span domain.Span) ([]domain.ChartedGame, error) {
	games, err := w.stores.Games.where(ctx, t, `team_id = ANY($2) AND kind <> 'practice' AND played_on BETWEEN $3 AND $4
		ORDER BY played_on, games.id`, teams, span.From, span.To)
	if err != nil {
		return nil, err
	}
	out := make([]domain.ChartedGame, len(games))
	ids := make([]domain.ID, len(games))
	at := map[domain.ID]*domain.ChartedGame{}
	for i, g := range games {
		out[i].Game, ids[i] = g, g.ID
		at[g.ID] = &out[i]
	}
	rows, err := t.Query(ctx, `SELECT game_id, count(*), count(*) FILTER (WHERE faced_how = 'unresolved')
		FROM shots WHERE program_id = $1 AND game_id = ANY($2) GROUP BY game_id`, t.program, ids)
	if err != nil {
		return nil, err
	}
	var game domain.ID
	var shots, unresolved int
	_, err = pgx.ForEachRow(rows, []any{&game, &shots, &unresolved}, func() error {
		at[game].Shots, at[game].Unresolved = shots, unresolved
		return nil
	})
	return out, err
}
