package summary

import (
	"fmt"

	"cagework/domain"
)

// NotCharted is something that is missing from the records: a game without shots, shots of which it is not settled
// whose they are, a goalie of whom nothing was charted or read.
type NotCharted struct {
	GoalieID *domain.ID `json:"goalie_id"` // null: it is about a game
	GameID   *domain.ID `json:"game_id"`   // null: it is about a goalie
	Sentence string     `json:"sentence"`
}

// notCharted gives the games of the last weeks that are not charted or not settled, then the goalies of whom nothing
// was charted although their teams played, and those fewer than half of whose shots were read.
func notCharted(goalies []GroupGoalie, r domain.GroupRecords) []NotCharted {
	out := []NotCharted{}
	for _, g := range r.Games {
		name := gameName(g.Game, r.Teams)
		switch {
		case g.Shots == 0:
			out = append(out, NotCharted{GameID: &g.Game.ID, Sentence: name + ": no shot is charted."})
		case g.Unresolved > 0:
			out = append(out, NotCharted{GameID: &g.Game.ID, Sentence: fmt.Sprintf(
				"%s: of %d of %s it is not settled who faced them, so they count for nobody.", name, g.Unresolved, countOf(g.Shots, "shot"))})
		}
	}
	for _, g := range goalies {
		c := g.Charted
		span := weeks(c.Weeks)
		switch {
		case c.Shots == 0 && c.TeamGames > 0:
			out = append(out, NotCharted{GoalieID: &g.Goalie.ID, Sentence: fmt.Sprintf(
				"%s: no shot charted in %s, in which the team played %s.", g.Goalie.Name, span, countOf(c.TeamGames, "game"))})
		case c.Shots > 0 && 2*c.Read < c.Shots:
			out = append(out, NotCharted{GoalieID: &g.Goalie.ID, Sentence: fmt.Sprintf(
				"%s: %d of %s of the last %s read for habits.", g.Goalie.Name, c.Read, countOf(c.Shots, "shot"), span)})
		}
	}
	return out
}

// gameName says a game: "Fenwick U14 against Elm Park, 12 April 2026".
func gameName(g domain.Game, teams []domain.Team) string {
	name, against := "A team", "an opponent who is not named"
	for _, t := range teams {
		if t.ID == g.Fields.TeamID {
			name = t.Fields.Name
		}
	}
	if g.Fields.Opponent != nil {
		against = *g.Fields.Opponent
	}
	return fmt.Sprintf("%s against %s, %s", name, against, g.Fields.PlayedOn.Time().Format("2 January 2006"))
}
