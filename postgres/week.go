package postgres

import (
	"context"

	"cagework/domain"
)

type weeks struct {
	db     *DB
	stores *Stores
}

// Goalie gives the records of a goalie's week.
func (w *weeks) Goalie(ctx context.Context, a domain.Actor, goalie domain.ID, week domain.Week) (domain.WeekRecords, error) {
	out := domain.WeekRecords{Week: week}
	err := w.db.inList(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		var err error
		if out.Goalie, err = w.stores.goalieFor(ctx, t, a, domain.NounWeek, goalie); err != nil {
			return err
		}
		if err = w.plan(ctx, t, &out); err != nil {
			return err
		}
		out.Faced, err = w.stores.faced(ctx, t, ofGoalie(goalie), domain.Span{From: earliest(out), To: week.Sunday()})
		return err
	})
	return out, err
}

// plan reads all of a week but what the goalie faced.
func (w *weeks) plan(ctx context.Context, t *tx, out *domain.WeekRecords) error {
	program, err := w.stores.Programs.present(ctx, t, "")
	if err != nil {
		return err
	}
	out.Program = program
	monday, sunday := out.Week.Monday(), out.Week.Sunday()
	if out.Teams, err = w.stores.Teams.where(ctx, t, `id IN (SELECT s.team_id FROM roster_spells s
		WHERE s.program_id = teams.program_id AND s.goalie_id = $2 AND s.from_on <= $4
		AND (s.to_on IS NULL OR s.to_on >= $3)) ORDER BY teams.id`, out.Goalie.ID, monday, sunday); err != nil {
		return err
	}
	if out.Seasons, err = w.stores.Seasons.where(ctx, t,
		"starts_on <= $3 AND ends_on >= $2 ORDER BY starts_on, seasons.id", monday, sunday); err != nil {
		return err
	}
	if out.Habits, err = w.stores.Habits.where(ctx, t, "true ORDER BY cause, code"); err != nil {
		return err
	}
	if out.Targets, err = w.stores.Targets.where(ctx, t, "active ORDER BY cause, code"); err != nil {
		return err
	}
	since := sunday.AddDays(1 - 7*domain.RecallWeeks)
	if out.Assignments, err = w.stores.Assignments.where(ctx, t, `goalie_id = $2 AND starts_on <= $4
		AND starts_on + 7 * weeks > $3 ORDER BY starts_on, assignments.id`, out.Goalie.ID, since, sunday); err != nil {
		return err
	}
	if out.Logs, err = w.stores.PracticeLogs.where(ctx, t, `goalie_id = $2 AND practised_on BETWEEN $3 AND $4
		ORDER BY practised_on, practice_logs.id`, out.Goalie.ID, since, sunday); err != nil {
		return err
	}
	if out.NextGames, err = w.nextGames(ctx, t, out); err != nil {
		return err
	}
	if out.Drills, err = w.stores.Drills.where(ctx, t, "true ORDER BY code"); err != nil {
		return err
	}
	out.Rules, err = w.stores.Rules.where(ctx, t, "active ORDER BY priority, name, rules.id")
	return err
}

// nextGames gives the games of the goalie's teams in the week after, as far as they are entered.
func (w *weeks) nextGames(ctx context.Context, t *tx, out *domain.WeekRecords) ([]domain.Game, error) {
	teams := make([]domain.ID, len(out.Teams))
	for i, team := range out.Teams {
		teams[i] = team.ID
	}
	monday := out.Week.Sunday().AddDays(1)
	return w.stores.Games.where(ctx, t, `team_id = ANY($2) AND kind <> 'practice' AND played_on BETWEEN $3 AND $4
		ORDER BY played_on, games.id`, teams, monday, monday.AddDays(6))
}

// earliest gives the first day of which a week's summary speaks: of its longest look-back or its seasons.
func earliest(r domain.WeekRecords) domain.Date {
	first := r.Week.Monday()
	for _, target := range r.Targets {
		if from := r.Week.Monday().AddDays(-7 * (target.Fields.Weeks - 1)); from.Before(first) {
			first = from
		}
	}
	for _, s := range r.Seasons {
		if s.Fields.StartsOn.Before(first) {
			first = s.Fields.StartsOn
		}
	}
	return first
}
