package summary

import (
	"slices"

	"cagework/domain"
)

// TeamLine is a team's official line in one code of play and level: the lines of its goalies, the team's own line
// (an empty cage), and their sum. Own goals are goals of the other side without a shot, so they stand beside.
type TeamLine struct {
	SpanLine
	OwnGoals     int          `json:"own_goals"`
	GoalsAllowed int          `json:"goals_allowed"` // goals_against and own goals: what the scoreboard shows
	Goalies      []TeamGoalie `json:"goalies"`
	Own          TeamOwn      `json:"own"`
	Unresolved   int          `json:"unresolved"` // shots in no line until it is settled whose they were
	key          lineKey      // what may share a line
}

// TeamGoalie is a goalie's part of a team's line.
type TeamGoalie struct {
	GoalieID domain.ID `json:"goalie_id"`
	Name     string    `json:"name"`
	Line     Line      `json:"line"`
}

// TeamOwn is what fell while nobody was in the cage.
type TeamOwn struct {
	Line Line `json:"line"`
}

// TeamLines gives a team's official lines, cut as asked: for each span one for each code of play and level.
func TeamLines(r domain.LineRecords, by LinesBy) []TeamLine {
	out, fits := []TeamLine{}, fitsOf(r.Fits)
	for _, s := range spans(r, by) {
		for _, total := range totals(s.faced, fits) {
			out = append(out, teamLine(s, total, r.Goalies, fits))
		}
	}
	return out
}

// totals gives the sums over whoever stood in the cage. Where all that there is stands beside the lines, as in a
// game whose stints nobody has charted yet, the sum is empty, but it is there to carry them.
func totals(faced domain.FacedRecords, fits Fits) []Line {
	lines := linesOf(faced, fits, func(*domain.ID) bool { return true })
	for _, s := range faced.Shots {
		own, waits := beside(s)
		key := keyOf(s.Competition)
		if (own || waits) && !slices.ContainsFunc(lines, func(l Line) bool { return l.key() == key }) {
			lines = append(lines, newCount(key).line(fits))
		}
	}
	slices.SortFunc(lines, inOrder)
	return lines
}

// beside tells whether a shot stands beside a team's line: an own goal, or a shot that waits to be settled.
func beside(s *domain.CountedShot) (own, waits bool) {
	f := s.Shot.Fields
	if s.Game.Fields.Kind != domain.KindGame || f.WavedOff {
		return false, false
	}
	own = f.Outcome == domain.OwnGoal
	return own, !own && s.Shot.Found.FacedHow == domain.CageUnresolved
}

func teamLine(s span, total Line, goalies []domain.Goalie, fits Fits) TeamLine {
	t := TeamLine{SpanLine: s.of(total), Goalies: []TeamGoalie{}, key: total.key()}
	for _, g := range goalies {
		if line, there := lineIn(s.faced, fits, t.key, func(id *domain.ID) bool { return id != nil && *id == g.ID }); there {
			t.Goalies = append(t.Goalies, TeamGoalie{g.ID, g.Fields.Name, line})
		}
	}
	own, there := lineIn(s.faced, fits, t.key, func(id *domain.ID) bool { return id == nil })
	if !there {
		own = newCount(t.key).line(fits)
	}
	t.Own.Line = own
	for _, shot := range s.faced.Shots {
		own, waits := beside(shot)
		switch {
		case keyOf(shot.Competition) != t.key:
		case own:
			t.OwnGoals++
		case waits:
			t.Unresolved++
		}
	}
	t.GoalsAllowed = t.GoalsAgainst + t.OwnGoals
	return t
}

func lineIn(f domain.FacedRecords, fits Fits, key lineKey, charged func(*domain.ID) bool) (Line, bool) {
	lines := linesOf(f, fits, charged)
	i := slices.IndexFunc(lines, func(l Line) bool { return l.key() == key })
	if i < 0 {
		return Line{}, false
	}
	return lines[i], true
}
