package pages

import (
	"fmt"
	"html/template"
	"slices"
	"strings"

	"cagework/domain"
	"cagework/domain/summary"
)

// words are what the templates say things with.
var words = template.FuncMap{
	"css":      func() template.CSS { return css },
	"day":      day,
	"shortDay": func(d domain.Date) string { return d.Time().Format("2 Jan") }, // of the weeks that the page speaks of
	"film":     film,
	"clock":    clock,
	"state":    state,
	"ball":     func(b domain.Ball) string { return balls[b] },
	"play":     summary.PlayName,
	"three":    func(v *float64) string { return summary.Nearest(*v).String() },
	"likely":   likely,
	"aim":      func(v *float64) string { return summary.Nearest(*v).Short() },
	"ratio":    func(hits, tries int) string { return summary.Ratio(hits, tries).String() },
	"spoken":   func(code any) string { return strings.ReplaceAll(fmt.Sprint(code), "_", " ") },
	"time":     minutesSeconds,
	"weeks":    func(n int) string { return plural(n, "week") },
	"times":    func(n int) string { return plural(n, "time") },
	"minutes":  func(n int) string { return plural(n, "minute") },
	"games":    func(n int) string { return plural(n, "game") },
	"headings": headings,
	"own":      own,
	"some":     some,
	"count":    count,
	"clips":    clips,
	"shots":    func(n int) string { return plural(n, "shot") },
	"plural":   plural,
	"grids":    grids,
	"kept":     kept,

	"moreRules": moreRules,

	"teamNames": teamNames,

	"repetitions": func(n int) string { return plural(n, "repetition") },
	"clears":      clears,
	"tried":       func(rates []summary.Rate) []summary.Rate { return withTries(rates, true) },
	"untried":     func(rates []summary.Rate) []summary.Rate { return withTries(rates, false) },
	"hundred":     summary.Hundred,
	"table":       func(p summary.WeekPlay, m summary.Method) ratesTable { return ratesTable{p, m.Fixed.Interval} },
	"note":        func(note string) string { return notes[note] },
}

// ratesTable is the table of a play's rates, with the confidence of their intervals.
type ratesTable struct {
	summary.WeekPlay
	Interval float64
}

// withTries gives the rates that somebody had a try at, or those that nobody had: these fill a line, not a table.
func withTries(rates []summary.Rate, had bool) []summary.Rate {
	return slices.DeleteFunc(slices.Clone(rates), func(r summary.Rate) bool { return (r.Tries > 0) != had })
}

func day(d domain.Date) string { return d.Time().Format("2 January 2006") }

// film says a time on the film in minutes and seconds, cut off to the second before, so that it is not missed.
func film(ms *int) string { return minutesSeconds(*ms / 1000) }

func clock(period, clockS *int) string {
	return fmt.Sprintf("period %d, %s left", *period, minutesSeconds(*clockS))
}

// minutesSeconds writes m:ss; minutes may pass 60, as they do in the trade's lines.
func minutesSeconds(s int) string { return fmt.Sprintf("%d:%02d", s/60, s%60) }

func plural(n int, word string) string {
	switch {
	case n == 1:
		return "1 " + word
	case strings.HasSuffix(word, "try"):
		return fmt.Sprintf("%d %sies", n, strings.TrimSuffix(word, "y"))
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// likely writes what a rate likely is with two decimals: a third would pretend to be known.
func likely(v float64) string { return strings.TrimPrefix(fmt.Sprintf("%.2f", v), "0") }

// moreRules gives the totals by rule that say more than those by drill: a rule whose blocks are all those of one drill
// would only say it twice.
func moreRules(h summary.Helps) []summary.HelpTotal {
	return slices.DeleteFunc(slices.Clone(h.Rules), func(r summary.HelpTotal) bool {
		return slices.ContainsFunc(h.Drills, func(d summary.HelpTotal) bool {
			return d.Blocks == r.Blocks && d.Told == r.Told && d.Hits == r.Hits && d.Tries == r.Tries
		})
	})
}

// own gives the cautions of a drill that are not said once for several.
func own(cautions, shared []string) []string {
	return slices.DeleteFunc(slices.Clone(cautions), func(c string) bool { return slices.Contains(shared, c) })
}

// some names the first few of the targets of an advice.
func some(names []string) string {
	const most = 3
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:most], ", "), len(names)-most)
}

// count says a count of a block's target; without tries there is no rate and no 0 of 0.
func count(c summary.SpanCount) string {
	if c.Tries == 0 {
		return "no shots"
	}
	return fmt.Sprintf("%d of %d", c.Hits, c.Tries)
}

// clips tells whether any work-on has shots to watch.
func clips(workOns []summary.WorkOn) bool {
	return slices.ContainsFunc(workOns, func(w summary.WorkOn) bool { return len(w.Watch) > 0 })
}

var states = map[domain.State]string{
	domain.NoData:       "no shots",
	domain.TooFew:       "too few shots",
	domain.ClearGap:     "clear gap",
	domain.LeaningBelow: "leaning below",
	domain.CantTell:     "can’t tell",
	domain.LeaningMet:   "leaning met",
	domain.Met:          "met",
}

var balls = map[domain.Ball]string{
	domain.BallNone: "No ball at the goalie",
	domain.BallOwn:  "Own throws",
	domain.BallSoft: "Soft balls",
	domain.BallLive: "Lacrosse balls",
}

func state(s *domain.State) string {
	if s == nil {
		return "not judged here"
	}
	return states[*s]
}

// notes say what a shot to watch shows.
var notes = map[string]string{summary.Made: "a good one", summary.Missed: "one to fix"}

// heading is a column of an official line's table.
type heading struct {
	Name string
	Line summary.Line
}

// headings gives the columns of a play's table: the week, then each season.
func headings(p summary.WeekPlay) []heading {
	out := []heading{{"This week", p.LineWeek}}
	for _, s := range p.LinesSeason {
		out = append(out, heading{s.Name, s.Line})
	}
	return out
}

// clearRow is a row of clears in an official line's table: a cell for each column.
type clearRow struct {
	Name  string
	Cells []clearCell
}

type clearCell struct{ Made, Tried int }

// clears gives the rows of clears: of each sort, one where any column has a clear that was tried.
func clears(columns []heading) []clearRow {
	all := clearRow{Name: "Clears"}
	after := clearRow{Name: "Clears after a save"}
	for _, c := range columns {
		all.Cells = append(all.Cells, clearCell{c.Line.ClearsMade, c.Line.ClearsTried})
		after.Cells = append(after.Cells, clearCell{c.Line.ClearsAfterSaveMade, c.Line.ClearsAfterSaveTried})
	}
	tried := func(c clearCell) bool { return c.Tried > 0 }
	return slices.DeleteFunc([]clearRow{all, after}, func(r clearRow) bool { return !slices.ContainsFunc(r.Cells, tried) })
}
