package pages

import (
	"io"
	"slices"

	"cagework/domain"
	"cagework/domain/summary"
)

// TeamWeek writes a team's week as a page: what its goalies work on and the drills of a practice.
func TeamWeek(w io.Writer, v summary.TeamWeek, program domain.ProgramFields) error {
	return draw(w, "teamweek.html", struct {
		summary.TeamWeek
		Program domain.ProgramFields
	}{v, program})
}

// ProgramWeek writes the board as a page.
func ProgramWeek(w io.Writer, v summary.ProgramWeek, program domain.ProgramFields) error {
	return draw(w, "programweek.html", struct {
		summary.ProgramWeek
		Program domain.ProgramFields
	}{v, program})
}

// gridColumns is how many goalies stand side by side: as many as a phone shows without a sideways scroll.
const gridColumns = 3

// grid is a table of states: of some goalies in one code of play and level, a row a target.
type grid struct {
	CodeOfPlay domain.CodeOfPlay
	Level      domain.Level
	Goalies    []summary.GroupGoalie
	Rows       []gridRow
	Untried    []string // the names of targets at which none of them had a try
}

type gridRow struct {
	Name  string
	Cells []*summary.Rate // one a goalie; nil: the target does not stand for that goalie
}

// grids arranges the goalies' rates in tables, at most gridColumns goalies side by side.
func grids(goalies []summary.GroupGoalie) []grid {
	var out []grid
	for _, code := range domain.CodesOfPlay {
		for _, level := range domain.Levels {
			var here []summary.GroupGoalie
			for _, g := range goalies {
				if ratesIn(g, code, level) != nil {
					here = append(here, g)
				}
			}
			for some := range slices.Chunk(here, gridColumns) {
				out = append(out, gridOf(code, level, some))
			}
		}
	}
	return out
}

func ratesIn(g summary.GroupGoalie, code domain.CodeOfPlay, level domain.Level) []summary.Rate {
	for _, p := range g.Plays {
		if p.CodeOfPlay == code && p.Level == level {
			return p.Rates
		}
	}
	return nil
}

func gridOf(code domain.CodeOfPlay, level domain.Level, goalies []summary.GroupGoalie) grid {
	t := grid{CodeOfPlay: code, Level: level, Goalies: goalies}
	// Every goalie's rates are of the same targets in the same order: those of the program.
	for i, first := range ratesIn(goalies[0], code, level) {
		row, tried := gridRow{Name: first.Name}, false
		for _, g := range goalies {
			rate := &ratesIn(g, code, level)[i]
			tried = tried || rate.Tries > 0
			row.Cells = append(row.Cells, rate)
		}
		if tried {
			t.Rows = append(t.Rows, row)
		} else {
			t.Untried = append(t.Untried, first.Name)
		}
	}
	return t
}

// kept gives the goalies who are limited or held.
func kept(goalies []summary.GroupGoalie) []summary.GroupGoalie {
	return slices.DeleteFunc(slices.Clone(goalies), func(g summary.GroupGoalie) bool {
		return g.Goalie.Availability == domain.Full
	})
}

// teamNames says the teams of a goalie.
func teamNames(teams []summary.NamedTeam) string {
	names := make([]string, len(teams))
	for i, t := range teams {
		names[i] = t.Name
	}
	return some(names)
}
