package postgres

import (
	"context"

	"cagework/domain"
)

type weeks struct {
	db     *DB
	stores *Stores
	counts peerCounts
}

// Goalie gives the records of a goalie's week.
func (w *weeks) Goalie(ctx context.Context, a domain.Actor, goalie domain.ID, week domain.Week) (domain.WeekRecords, error) {
	var out domain.WeekRecords
	err := w.db.inSnapshot(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		g, err := w.stores.goalieFor(ctx, t, a, domain.NounWeek, goalie)
		if err != nil {
			return err
		}
		library, err := w.library(ctx, t, week)
		if err != nil {
			return err
		}
		all, err := w.weeksOf(ctx, t, library, []domain.Goalie{g}, false)
		if err != nil {
			return err
		}
		out = all[0]
		return nil
	})
	return out, err
}

// library reads what the weeks of all goalies have in common.
func (w *weeks) library(ctx context.Context, t *tx, week domain.Week) (domain.WeekRecords, error) {
	out := domain.WeekRecords{Week: week}
	program, err := w.stores.Programs.present(ctx, t, "")
	if err != nil {
		return out, err
	}
	out.Program = program
	if out.Seasons, err = w.stores.Seasons.where(ctx, t,
		"starts_on <= $3 AND ends_on >= $2 ORDER BY starts_on, seasons.id", week.Monday(), week.Sunday()); err != nil {
		return out, err
	}
	if out.Habits, err = w.stores.Habits.where(ctx, t, "true ORDER BY cause, code"); err != nil {
		return out, err
	}
	if out.Targets, err = w.stores.Targets.where(ctx, t, "active ORDER BY cause, code"); err != nil {
		return out, err
	}
	if out.Drills, err = w.stores.Drills.where(ctx, t, "true ORDER BY code"); err != nil {
		return out, err
	}
	if out.Rules, err = w.stores.Rules.where(ctx, t, "active ORDER BY priority, name, rules.id"); err != nil {
		return out, err
	}
	out.Fits, err = w.stores.Fits.newest(ctx, t)
	return out, err
}

// weeksOf gives the week of each of some goalies, whose common part is given. Each question is asked once for all.
// everybody tells that they are all who faced a shot of the program in the look-backs.
func (w *weeks) weeksOf(ctx context.Context, t *tx, common domain.WeekRecords, goalies []domain.Goalie, everybody bool) ([]domain.WeekRecords, error) {
	ids := make([]domain.ID, len(goalies))
	for i, g := range goalies {
		ids[i] = g.ID
	}
	monday, sunday := common.Week.Monday(), common.Week.Sunday()
	since := sunday.AddDays(1 - 7*domain.RecallWeeks)
	for _, season := range common.Seasons { // whether the drills of a season helped is said of all its blocks
		if season.Fields.StartsOn.Before(since) {
			since = season.Fields.StartsOn
		}
	}
	spells, err := w.stores.RosterSpells.where(ctx, t, `goalie_id = ANY($2) AND from_on <= $4
		AND (to_on IS NULL OR to_on >= $3) ORDER BY team_id`, ids, monday, sunday)
	if err != nil {
		return nil, err
	}
	teams, err := w.stores.Teams.where(ctx, t, "id = ANY($2) ORDER BY teams.id", teamsOf(spells))
	if err != nil {
		return nil, err
	}
	assignments, err := w.stores.Assignments.where(ctx, t, `goalie_id = ANY($2) AND starts_on <= $4
		AND starts_on + 7 * weeks > $3 ORDER BY starts_on, assignments.id`, ids, since, sunday.AddDays(7))
	if err != nil {
		return nil, err
	}
	for _, a := range assignments { // all practices of each block
		if a.Fields.StartsOn.Before(since) {
			since = a.Fields.StartsOn
		}
	}
	logs, err := w.stores.PracticeLogs.where(ctx, t, `goalie_id = ANY($2) AND practised_on BETWEEN $3 AND $4
		ORDER BY practised_on, practice_logs.id`, ids, since, sunday)
	if err != nil {
		return nil, err
	}
	next, err := w.stores.Games.where(ctx, t, `team_id = ANY($2) AND kind <> 'practice' AND played_on BETWEEN $3 AND $4
		ORDER BY played_on, games.id`, teamsOf(spells), sunday.AddDays(1), sunday.AddDays(7))
	if err != nil {
		return nil, err
	}
	faced, err := w.stores.faced(ctx, t, ofGoalies(ids...), domain.Span{From: earliestOf(common, assignments), To: sunday})
	if err != nil {
		return nil, err
	}
	out := make([]domain.WeekRecords, len(goalies))
	shares := shareOut(faced)
	for i, g := range goalies {
		r := common
		r.Goalie = g
		r.Teams = only(teams, func(team domain.Team) bool { return holds(spells, team.ID, g.ID) })
		r.Assignments = only(assignments, func(x domain.Assignment) bool { return x.Fields.GoalieID == g.ID })
		r.Logs = only(logs, func(x domain.PracticeLog) bool { return x.Fields.GoalieID == g.ID })
		r.NextGames = only(next, func(x domain.Game) bool { return holds(spells, x.Fields.TeamID, g.ID) })
		r.Faced = shares.of(g.ID)
		out[i] = r
	}
	return out, w.addPeers(ctx, t, common, shotsInHand{out, everybody})
}

func teamsOf(spells []domain.RosterSpell) []domain.ID {
	ids := make([]domain.ID, len(spells))
	for i, s := range spells {
		ids[i] = s.Fields.TeamID
	}
	return ids
}

// holds tells whether one of the spells puts the goalie on the team's roster.
func holds(spells []domain.RosterSpell, team, goalie domain.ID) bool {
	for _, s := range spells {
		if s.Fields.TeamID == team && s.Fields.GoalieID == goalie {
			return true
		}
	}
	return false
}

func only[T any](all []T, wanted func(T) bool) []T {
	out := []T{}
	for _, x := range all {
		if wanted(x) {
			out = append(out, x)
		}
	}
	return out
}

// facedShares is what several goalies faced, by goalie.
type facedShares struct {
	from, to domain.Date
	byGoalie map[domain.ID]*domain.FacedRecords
}

func shareOut(all domain.FacedRecords) facedShares {
	s := facedShares{all.From, all.To, map[domain.ID]*domain.FacedRecords{}}
	for _, shot := range all.Shots {
		f := s.at(shot.Shot.Found.FacedGoalieID)
		f.Shots = append(f.Shots, shot)
	}
	for _, stint := range all.Stints {
		f := s.at(stint.Stint.Fields.GoalieID)
		f.Stints = append(f.Stints, stint)
	}
	for _, c := range all.Clears {
		f := s.at(c.Clear.Found.CageGoalieID)
		f.Clears = append(f.Clears, c)
	}
	return s
}

// at gives the share of a goalie; what is nobody's goes to the zero id, for which nobody asks.
func (s facedShares) at(goalie *domain.ID) *domain.FacedRecords {
	var id domain.ID
	if goalie != nil {
		id = *goalie
	}
	if s.byGoalie[id] == nil {
		s.byGoalie[id] = &domain.FacedRecords{From: s.from, To: s.to, Stints: []domain.CountedStint{}}
	}
	return s.byGoalie[id]
}

func (s facedShares) of(goalie domain.ID) domain.FacedRecords { return *s.at(&goalie) }

// earliest gives the first day of which a week's summary speaks: of its longest look-back or its seasons.
func earliest(r domain.WeekRecords) domain.Date {
	first := domain.LookBack(r.Targets, r.Week)
	for _, s := range r.Seasons {
		if s.Fields.StartsOn.Before(first) {
			first = s.Fields.StartsOn
		}
	}
	return first
}

// earliestOf gives the first day of which the weeks of goalies speak: as [earliest], and what their targets counted before
// each block. Where no season is entered, whether one has begun is seen in the weeks that are recalled.
func earliestOf(r domain.WeekRecords, blocks []domain.Assignment) domain.Date {
	first := earliest(r)
	if recalled := r.Week.Sunday().AddDays(1 - 7*domain.RecallWeeks); len(r.Seasons) == 0 && recalled.Before(first) {
		first = recalled
	}
	for _, a := range blocks {
		for _, target := range r.Targets {
			from := a.Fields.StartsOn.AddDays(-7 * target.Fields.Weeks)
			if target.ID == a.Fields.TargetID && a.Fields.Status != domain.Dropped && from.Before(first) {
				first = from
			}
		}
	}
	return first
}
