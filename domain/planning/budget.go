package planning

import (
	"fmt"
	"strings"

	"cagework/domain"
)

// Budget is how many live shots a goalie takes at most, all of them counted: drills, team play and games. It caps; it
// is never a goal to reach.
type Budget struct {
	domain.Budget
	Used   int    // in the week
	Source string // where the caps come from
}

// Left gives what is left of the week's budget; a week that was overdrawn has none left.
func (b Budget) Left() int { return max(0, b.Week-b.Used) }

// LevelOf gives the level that a goalie's budget goes by: the age band, else the youngest level faced; "" when neither
// is known.
func LevelOf(g domain.GoalieFields, faced []domain.Level) domain.Level {
	if g.AgeBand != nil {
		return *g.AgeBand
	}
	var out domain.Level
	for i, level := range faced {
		if i == 0 {
			out = level
		}
		out = younger(out, level)
	}
	return out
}

// BudgetOf gives a goalie's live-shot budget with what the week used of it: shots on goal faced in its games (one
// waved off was faced too), and the live shots of its practice logs. Those of charted practices are in the logs. nil
// when the level is not known and no team sets the caps.
func BudgetOf(
	teams []domain.Team, level domain.Level, faced domain.FacedRecords, logs []domain.PracticeLog, week domain.Week,
) *Budget {
	b := budgetOf(teams, level)
	if b == nil {
		return nil
	}
	for _, s := range faced.Shots {
		if s.Game.Fields.Kind != domain.KindPractice && s.Shot.Fields.Outcome.OnGoal() &&
			within(s.Game.Fields.PlayedOn, week.Monday(), week.Sunday()) {
			b.Used++
		}
	}
	for _, log := range logs {
		if !within(log.Fields.PractisedOn, week.Monday(), week.Sunday()) {
			continue
		}
		b.Used += log.Fields.TeamShots
		for _, done := range log.Fields.Done {
			b.Used += done.LiveShots
		}
	}
	return b
}

// budgetOf gives the caps: a team's where it sets them, else the level's starting values; of several teams the least.
func budgetOf(teams []domain.Team, level domain.Level) *Budget {
	if len(teams) == 0 {
		teams = make([]domain.Team, 1) // without a team the starting values hold
	}
	_, known := domain.StarterBudgets[level]
	var out Budget
	for i, t := range teams {
		f, caps := t.Fields, t.Fields.BudgetAt(level)
		if !known && (f.LiveShotsSession == nil || f.LiveShotsWeek == nil) {
			return nil
		}
		if f.LiveShotsSession != nil || f.LiveShotsWeek != nil {
			out.Source = "set by the team"
		}
		if i == 0 {
			out.Session, out.Week = caps.Session, caps.Week
		}
		out.Session, out.Week = min(out.Session, caps.Session), min(out.Week, caps.Week)
	}
	if out.Source == "" {
		out.Source = fmt.Sprintf("starting value, from memory, of %s", strings.ReplaceAll(string(level), "_", " "))
	}
	out.Session = min(out.Session, out.Week)
	return &out
}
