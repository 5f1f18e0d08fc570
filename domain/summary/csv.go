package summary

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"
)

var csvHeader = []string{
	"code", "name", "code_of_play", "level", "from", "to", "hits", "tries", "unseen", "rate", "low", "high",
	"target_rate", "chance_below", "state", "listed", "by_count", "on_board", "likely_rate", "likely_low", "likely_high",
	"shortfall", "peers", "peers_rate", "own_weight", "more_tries", "signal", "signal_tries", "raised_on", "change_chance", "change_after",
}

// GoalieWeekCSV writes the rates of a goalie's week as a flat table, a row a target and play. What is null in JSON is an
// empty cell. A cell that a spreadsheet would take for a formula begins with an apostrophe.
func GoalieWeekCSV(w io.Writer, v GoalieWeek) error {
	out := csv.NewWriter(w)
	_ = out.Write(csvHeader) // an error of the writer stays, and Error gives it
	for _, p := range v.Plays {
		for _, r := range p.Rates {
			_ = out.Write(csvRow(r))
		}
	}
	out.Flush()
	return out.Error()
}

// GroupWeekCSV writes the rates of a team's or program's week as a flat table, a row a goalie, target and play, in the
// form of [GoalieWeekCSV] behind the goalie and the goalie's teams.
func GroupWeekCSV(w io.Writer, v GroupWeek) error {
	out := csv.NewWriter(w)
	_ = out.Write(append([]string{"goalie_id", "goalie", "teams", "availability"}, csvHeader...))
	for _, g := range v.Goalies {
		teams := make([]string, len(g.Teams))
		for i, t := range g.Teams {
			teams[i] = t.Name
		}
		who := []string{
			g.Goalie.ID.String(), plainCell(g.Goalie.Name), plainCell(strings.Join(teams, "; ")), string(g.Goalie.Availability),
		}
		for _, p := range g.Plays {
			for _, r := range p.Rates {
				_ = out.Write(append(who[:len(who):len(who)], csvRow(r)...))
			}
		}
	}
	out.Flush()
	return out.Error()
}

func csvRow(r Rate) []string {
	state := ""
	if r.State != nil {
		state = string(*r.State)
	}
	row := []string{
		r.Code, r.Name, string(r.CodeOfPlay), string(r.Level), r.From.String(), r.To.String(),
		strconv.Itoa(r.Hits), strconv.Itoa(r.Tries), strconv.Itoa(r.Unseen),
		csvNumber(r.Rate), csvNumber(r.Low), csvNumber(r.High), csvNumber(r.TargetRate), csvNumber(r.ChanceBelow), state,
		strconv.FormatBool(r.Listed), strconv.FormatBool(r.ByCount), strconv.FormatBool(r.OnBoard),
	}
	row = append(append(row, csvLikely(r.Likely)...), csvSignal(r.Signal)...)
	for i := range row {
		row[i] = plainCell(row[i])
	}
	return row
}

func csvLikely(l *Likely) []string {
	if l == nil {
		return make([]string, 8)
	}
	more := ""
	if l.MoreTries != nil {
		more = strconv.Itoa(*l.MoreTries)
	}
	return []string{
		csvNumber(&l.Rate), csvNumber(&l.Low), csvNumber(&l.High), csvNumber(&l.Shortfall), strconv.Itoa(l.Peers),
		csvNumber(&l.PeersRate), csvNumber(&l.OwnWeight), more,
	}
}

func csvSignal(s *Signal) []string {
	if s == nil {
		return make([]string, 5)
	}
	raised, after := "", ""
	if s.RaisedOn != nil {
		raised = s.RaisedOn.String()
	}
	if s.ChangeAfter != nil {
		after = s.ChangeAfter.String()
	}
	return []string{string(s.State), strconv.Itoa(s.Tries), raised, csvNumber(s.ChangeChance), after}
}

func csvNumber(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', 4, 64)
}

// formulaStarts are the characters at which a spreadsheet may begin to read a cell as a formula, or which it skips on the way
// to one: also the full-width forms, which some take for the plain ones.
const formulaStarts = "=+-@\t\r\n\uff1d\uff0b\uff0d\uff20"

// plainCell keeps a spreadsheet from running a cell as a formula.
func plainCell(s string) string {
	first, _ := utf8.DecodeRuneInString(s)
	if s != "" && strings.ContainsRune(formulaStarts, first) {
		return "'" + s
	}
	return s
}
