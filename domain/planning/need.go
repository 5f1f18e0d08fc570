package planning

import (
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// Need is what a week's work is planned from. The work is for the days after the week's Sunday.
type Need struct {
	Goalie          domain.GoalieFields
	Week            domain.Week
	PracticeMinutes int     // a week; see [PracticeMinutes]
	Budget          *Budget // of live shots; nil when no level is known: then nothing live is recommended
	InSeason        bool    // see [InSeason]
	Rates           []judgement.Rate
	Order           Ordering
	Habits          []domain.Habit
	Drills          []domain.Drill
	Rules           []domain.Rule
	Assignments     []domain.Assignment
	Logs            []domain.PracticeLog
	NextGames       []domain.Game
	Faced           domain.FacedRecords // for the reading list
}

// MaxWorkOns is how many things a goalie works on in a week at most.
const MaxWorkOns = 3

// recentWeeks is how far back a practice still counts as tried.
const recentWeeks = 4

// PracticeMinutes gives a goalie's practice minutes of a week: the goalie's own where set, else the most that a
// team of the goalie's has; without a team none. Minutes of two teams are not added: they serve other goalies too.
func PracticeMinutes(g domain.GoalieFields, teams []domain.Team) int {
	if g.PracticeMinutes != nil {
		return *g.PracticeMinutes
	}
	most := 0
	for _, t := range teams {
		most = max(most, t.Fields.PracticeMinutes)
	}
	return most
}

// InSeason tells whether the season has begun for the goalie: a game was faced since a season that holds the week's
// end began or, where no season is entered, in the weeks that are recalled.
func InSeason(faced domain.FacedRecords, seasons []domain.Season, week domain.Week) bool {
	since := week.Sunday().AddDays(1 - 7*domain.RecallWeeks)
	for i, s := range seasons {
		if i == 0 || s.Fields.StartsOn.Before(since) {
			since = s.Fields.StartsOn
		}
	}
	counts := func(g domain.Game) bool {
		return g.Fields.Kind == domain.KindGame && within(g.Fields.PlayedOn, since, week.Sunday())
	}
	return slices.ContainsFunc(faced.Shots, func(s *domain.CountedShot) bool { return counts(s.Game) }) ||
		slices.ContainsFunc(faced.Stints, func(s domain.CountedStint) bool { return counts(s.Game) })
}

func within(d, from, to domain.Date) bool { return !d.Before(from) && !to.Before(d) }

// sessions gives the practices from a day to a day in which one of the drills was logged.
func sessions(logs []domain.PracticeLog, from, to domain.Date, drills ...domain.ID) int {
	n := 0
	for _, log := range logs {
		if within(log.Fields.PractisedOn, from, to) &&
			slices.ContainsFunc(log.Fields.Done, func(d domain.PracticeDone) bool { return slices.Contains(drills, d.DrillID) }) {
			n++
		}
	}
	return n
}

// recently gives the practices of the last four weeks in which one of the drills was logged.
func (n Need) recently(drills ...domain.ID) int {
	to := n.Week.Sunday()
	return sessions(n.Logs, to.AddDays(1-7*recentWeeks), to, drills...)
}

// ever gives the practices, as far back as they are recalled, in which the drill was logged.
func (n Need) ever(drill domain.ID) int {
	to := n.Week.Sunday()
	return sessions(n.Logs, to.AddDays(1-7*domain.RecallWeeks), to, drill)
}

func (n Need) drill(id domain.ID) (domain.Drill, bool) {
	i := slices.IndexFunc(n.Drills, func(d domain.Drill) bool { return d.ID == id })
	if i < 0 {
		return domain.Drill{}, false
	}
	return n.Drills[i], true
}

// levelFor gives the level by which drills are chosen for a rate: the play's, or the goalie's age band where that is
// younger. Who plays up is not trained up.
func (n Need) levelFor(r judgement.Rate) domain.Level {
	if n.Goalie.AgeBand == nil {
		return r.Level
	}
	return younger(*n.Goalie.AgeBand, r.Level)
}

func younger(a, b domain.Level) domain.Level {
	if slices.Index(domain.Levels, a) < slices.Index(domain.Levels, b) {
		return a
	}
	return b
}

// youth tells whether a level is one of those of children.
func youth(level domain.Level) bool {
	return slices.Contains([]domain.Level{"10u", "12u", "14u"}, level)
}
