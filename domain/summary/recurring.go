package summary

import (
	"cmp"
	"fmt"
	"slices"

	"cagework/domain"
)

// Recurring is a target of which more than one goalie is short: a subject for the next clinic, nobody's failing.
type Recurring struct {
	TargetID domain.ID `json:"target_id"`
	Code     string    `json:"code"`
	Name     string    `json:"name"`
	Goalies  []ShortOf `json:"goalies"` // in the order of names
	Teams    int       `json:"teams"`   // how many teams they play for
	Told     int       `json:"told"`    // goalies of whom there were enough shots to tell
	Sentence string    `json:"sentence"`
	cause    int
}

// ShortOf is a goalie who is short of a target, and not by chance alone, with the count behind it.
type ShortOf struct {
	GoalieID   domain.ID         `json:"goalie_id"`
	Name       string            `json:"name"`
	CodeOfPlay domain.CodeOfPlay `json:"code_of_play"`
	Level      domain.Level      `json:"level"`
	Hits       int               `json:"hits"`
	Tries      int               `json:"tries"`
}

// recurring gives the targets of which at least two goalies are short, the most widespread first.
func recurring(goalies []GroupGoalie) []Recurring {
	found := map[domain.ID]*Recurring{}
	teams := map[domain.ID]map[domain.ID]bool{}
	for _, g := range goalies {
		told := map[domain.ID]bool{}
		for _, p := range g.Plays {
			for _, r := range p.Rates {
				if !r.told {
					continue
				}
				n := found[r.TargetID]
				if n == nil {
					n = &Recurring{TargetID: r.TargetID, Code: r.Code, Name: r.Name, cause: r.cause}
					found[r.TargetID], teams[r.TargetID] = n, map[domain.ID]bool{}
				}
				if !told[r.TargetID] {
					n.Told++
				}
				told[r.TargetID] = true
				if r.OnBoard && r.gap {
					n.Goalies = append(n.Goalies, ShortOf{g.Goalie.ID, g.Goalie.Name, r.CodeOfPlay, r.Level, r.Hits, r.Tries})
					for _, t := range g.Teams {
						teams[r.TargetID][t.ID] = true
					}
				}
			}
		}
	}
	out := []Recurring{}
	for id, n := range found {
		n.Teams = len(teams[id])
		if people := n.people(); people > 1 {
			n.Sentence = fmt.Sprintf("%s: short for %d of %d goalies of whom there is enough to tell, on %s.",
				n.Name, people, n.Told, countOf(n.Teams, "team"))
			out = append(out, *n)
		}
	}
	slices.SortFunc(out, func(a, b Recurring) int {
		return cmp.Or(cmp.Compare(b.people(), a.people()), cmp.Compare(b.Teams, a.Teams), cmp.Compare(a.cause, b.cause),
			cmp.Compare(a.Code, b.Code))
	})
	return out
}

// people gives how many goalies are short; one who is short in two codes of play is one.
func (n Recurring) people() int {
	seen := map[domain.ID]bool{}
	for _, g := range n.Goalies {
		seen[g.GoalieID] = true
	}
	return len(seen)
}
