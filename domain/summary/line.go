package summary

import (
	"cmp"
	"slices"

	"cagework/domain"
)

// Line is a goalie's official line in one code of play and level: counts first, then what follows from them.
// Shots on goal are goals and saves, nothing else; counts are pooled over the games before anything is divided.
type Line struct {
	CodeOfPlay     domain.CodeOfPlay `json:"code_of_play"`
	Level          domain.Level      `json:"level"`
	AverageMinutes int               `json:"average_minutes"` // minutes behind the goals-against average
	Games          int               `json:"games"`           // with time in the cage or a shot
	Shots          int               `json:"shots"`
	ShotsOnGoal    int               `json:"shots_on_goal"`
	Saves          int               `json:"saves"`
	GoalsAgainst   int               `json:"goals_against"`
	Seconds        int               `json:"seconds"` // in the cage
	Short          bool              `json:"short"`   // under ShortSeconds: carry the number, compare nothing with it

	SavePercentage          *Thousandths `json:"save_percentage"`      // null without a shot on goal
	SavePercentageText      *string      `json:"save_percentage_text"` // as the trade prints it: .627
	GoalsAgainstAverage     *Thousandths `json:"goals_against_average"`
	GoalsAgainstAverageText *string      `json:"goals_against_average_text"`

	ClearsTried          int          `json:"clears_tried"` // after a save, a ground ball, a turnover or a restart
	ClearsMade           int          `json:"clears_made"`
	ClearPercentage      *Thousandths `json:"clear_percentage"` // null without a clear tried
	ClearPercentageText  *string      `json:"clear_percentage_text"`
	ClearsAfterSaveTried int          `json:"clears_after_save_tried"` // those that name a saved shot
	ClearsAfterSaveMade  int          `json:"clears_after_save_made"`

	Expected *Expected `json:"expected"` // null without a fit for this code of play and level
}

// ShortSeconds is the time in the cage under which a line is called short (ten minutes; our choice, no source): the
// trade's own pages print averages of 200 goals a game for stints of seconds.
const ShortSeconds = 600

// SavePercentage gives saves over shots on goal in thousandths; nil when there was no shot on goal.
func SavePercentage(saves, goals int) *Thousandths {
	if saves+goals == 0 {
		return nil
	}
	t := Ratio(saves, saves+goals)
	return &t
}

// GoalsAgainstAverage gives goals per the competition's minutes, in thousandths, from seconds in the cage with
// overtime; nil without any.
func GoalsAgainstAverage(goals, averageMinutes, seconds int) *Thousandths {
	if seconds <= 0 {
		return nil
	}
	t := Ratio(goals*averageMinutes*60, seconds)
	return &t
}

// Lines gives the official lines of what a goalie faced, one for each code of play and level (and, should two
// competitions there average over different minutes, for each of these), in the order of the lists of codes. Only
// games count, not scrimmages or practice.
func Lines(faced domain.FacedRecords, fits Fits) []Line {
	return linesOf(faced, fits, func(goalie *domain.ID) bool { return goalie != nil })
}

// linesOf counts what was faced by those in the cage whom charged picks: a goalie, or nil for an empty cage.
func linesOf(faced domain.FacedRecords, fits Fits, charged func(goalie *domain.ID) bool) []Line {
	counts := map[lineKey]*count{}
	for _, s := range faced.Shots {
		if inLine(s) && charged(s.Shot.Found.FacedGoalieID) {
			countFor(counts, s.Competition).addShot(s)
		}
	}
	for _, s := range faced.Stints {
		if s.Game.Fields.Kind == domain.KindGame && charged(s.Stint.Fields.GoalieID) {
			countFor(counts, s.Competition).addStint(s)
		}
	}
	for _, c := range faced.Clears {
		if c.Game.Fields.Kind == domain.KindGame && c.Clear.Found.CageHow != domain.CageUnresolved &&
			charged(c.Clear.Found.CageGoalieID) {
			countFor(counts, c.Competition).addClear(c)
		}
	}
	lines := make([]Line, 0, len(counts))
	for _, c := range counts {
		lines = append(lines, c.line(fits))
	}
	slices.SortFunc(lines, inOrder)
	return lines
}

// inLine tells whether a shot belongs in a line at all. A goal that was waved off is in no line; an own goal is no
// shot and stands beside the team's line; a shot that is not yet settled waits.
func inLine(s *domain.CountedShot) bool {
	f := s.Shot.Fields
	return s.Game.Fields.Kind == domain.KindGame && !f.WavedOff && f.Outcome != domain.OwnGoal &&
		s.Shot.Found.FacedHow != domain.CageUnresolved
}

func inOrder(a, b Line) int {
	return cmp.Or(
		cmp.Compare(slices.Index(domain.CodesOfPlay, a.CodeOfPlay), slices.Index(domain.CodesOfPlay, b.CodeOfPlay)),
		cmp.Compare(slices.Index(domain.Levels, a.Level), slices.Index(domain.Levels, b.Level)),
		cmp.Compare(a.AverageMinutes, b.AverageMinutes),
	)
}
