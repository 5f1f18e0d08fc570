package domain

// CageHow says how the service found who was in the cage.
type CageHow string

// How it was found who was in the cage. What is unresolved counts in no line until it is settled.
const (
	CageGiven      CageHow = "given"
	CageOnlyGoalie CageHow = "only_goalie"
	CageByClock    CageHow = "stint_clock"
	CageByFilm     CageHow = "stint_film"
	CageEmpty      CageHow = "empty_cage"
	CageUnresolved CageHow = "unresolved"
)

// CageHows is the list of CageHow.
var CageHows = []CageHow{CageGiven, CageOnlyGoalie, CageByClock, CageByFilm, CageEmpty, CageUnresolved}

// Cage is who was in the cage at a moment of a game, by which stint, and how that was found.
type Cage struct {
	GoalieID *ID
	StintID  *ID
	How      CageHow
}

// FindCage finds who was in the cage. The order is: the goalie given; the game's only goalie; the stint by the
// clock; the stint by film. A moment shared by two stints belongs to the one that ends there: what happened then
// stopped the clock of the change.
func FindCage(given *ID, elapsedS, filmMs *int, stints []Stint) Cage {
	if given != nil {
		return Cage{GoalieID: given, How: CageGiven}
	}
	if goalie, only := onlyGoalie(stints); only {
		return Cage{GoalieID: goalie, How: CageOnlyGoalie}
	}
	if stint := stintAt(stints, elapsedS, clockSpan); stint != nil {
		return inStint(stint, CageByClock)
	}
	if stint := stintAt(stints, filmMs, filmSpan); stint != nil {
		return inStint(stint, CageByFilm)
	}
	return Cage{How: CageUnresolved}
}

func inStint(stint *Stint, how CageHow) Cage {
	if stint.Fields.GoalieID == nil {
		how = CageEmpty
	}
	return Cage{stint.Fields.GoalieID, &stint.ID, how}
}

// onlyGoalie gives the goalie when one alone stood in the cage and it was never empty.
func onlyGoalie(stints []Stint) (*ID, bool) {
	var goalie *ID
	for i := range stints {
		g := stints[i].Fields.GoalieID
		if g == nil || (goalie != nil && *goalie != *g) {
			return nil, false
		}
		goalie = g
	}
	return goalie, goalie != nil
}

func clockSpan(s *Stint) (start, end *int) { return &s.Found.StartElapsedS, &s.Found.EndElapsedS }
func filmSpan(s *Stint) (start, end *int)  { return s.Fields.StartFilmMs, s.Fields.EndFilmMs }

// stintAt gives the stint that holds the moment, by the span that is asked for; nil when none or no moment.
func stintAt(stints []Stint, at *int, span func(*Stint) (start, end *int)) *Stint {
	var best *Stint
	for _, s := range stintsAt(stints, at, span) {
		if _, end := span(s); best == nil || *end == *at {
			best = s
		}
	}
	return best
}

// stintsAt gives every stint that holds the moment, both its ends included.
func stintsAt(stints []Stint, at *int, span func(*Stint) (start, end *int)) []*Stint {
	var out []*Stint
	for i := range stints {
		start, end := span(&stints[i])
		if at != nil && start != nil && end != nil && *start <= *at && *at <= *end {
			out = append(out, &stints[i])
		}
	}
	return out
}

// elapsed turns a clock time into seconds since the game began; nil without one.
func (c *checks) elapsed(comp CompetitionFields, period, clockS *int) *int {
	if period == nil || clockS == nil {
		return nil
	}
	elapsed, ok := comp.Clock().Elapsed(*period, *clockS)
	if !ok {
		c.add("/clock_s", "is more than period %d of this competition has", *period)
		return nil
	}
	return &elapsed
}
