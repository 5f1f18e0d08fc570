package simulation

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
)

// row is what the lines of one measure and aim come to.
type row struct {
	measure, aim string
	settings     int
	worst        Line // of the method itself
	missed       map[string]int
	tried        map[string]int
	small        int
}

// WriteTable prints one row for each measure and aim: the method's worst setting, in how many settings it misses, and in
// how many of how many each rule of thumb does. It gives how many aims the method itself misses, and at a full size how
// many could not be told.
func WriteTable(w io.Writer, lines []Line, full bool) (missed, small int) {
	rows, rules := rowsOf(lines)
	fmt.Fprintln(w, "| measure | aim | settings | worst (se) | where | missed | missed by rules of thumb |")
	fmt.Fprintln(w, "| --- | --- | --- | --- | --- | --- | --- |")
	for _, r := range rows {
		own := r.missed[r.worst.Method]
		missed += own
		worst := "– | –" // a rule of thumb alone is measured so
		if r.settings > 0 {
			worst = fmt.Sprintf("%.3f (%.3f) | %s", r.worst.Value, r.worst.SE, r.worst.Setting)
		}
		var others []string
		for _, rule := range rules {
			if r.tried[rule] > 0 {
				others = append(others, fmt.Sprintf("%s %d/%d", rule, r.missed[rule], r.tried[rule]))
			}
		}
		fmt.Fprintf(w, "| %s | %s | %d | %s | %d | %s |\n", r.measure, r.aim, r.settings, worst, own, strings.Join(others, ", "))
		if full {
			small += r.small
		}
	}
	return missed, small
}

// WriteReported prints what has no aim: for each measure and method the least and the greatest value over the settings.
func WriteReported(w io.Writer, lines []Line) {
	type span struct {
		measure, method string
		settings        int
		least, greatest Line
	}
	var spans []*span
	for _, l := range lines {
		if l.Aim != nil {
			continue
		}
		i := slices.IndexFunc(spans, func(s *span) bool { return s.measure == l.Measure && s.method == l.Method })
		if i < 0 {
			i = len(spans)
			spans = append(spans, &span{measure: l.Measure, method: l.Method, least: l, greatest: l})
		}
		s := spans[i]
		s.settings++
		if l.Value < s.least.Value {
			s.least = l
		}
		if l.Value > s.greatest.Value {
			s.greatest = l
		}
	}
	slices.SortStableFunc(spans, func(a, b *span) int { return cmp.Compare(a.measure, b.measure) })
	fmt.Fprintln(w, "| reported without an aim | method | settings | least | where | greatest | where |")
	fmt.Fprintln(w, "| --- | --- | --- | --- | --- | --- | --- |")
	for _, s := range spans {
		fmt.Fprintf(w, "| %s | %s | %d | %.3f | %s | %.3f | %s |\n",
			s.measure, s.method, s.settings, s.least.Value, s.least.Setting, s.greatest.Value, s.greatest.Setting)
	}
}

// rowsOf groups lines by measure and aim, in the order in which they first come.
func rowsOf(lines []Line) (rows []*row, rules []string) {
	by := map[string]*row{}
	for _, l := range lines {
		if l.Aim == nil {
			continue
		}
		aim := l.Aim.String()
		if strings.HasPrefix(l.Measure, "regret ÷ raw") {
			aim = "by setting"
		}
		r := by[l.Measure+aim]
		if r == nil {
			r = &row{measure: l.Measure, aim: aim, missed: map[string]int{}, tried: map[string]int{}}
			by[l.Measure+aim] = r
			rows = append(rows, r)
		}
		r.add(l)
		if l.Rule && !slices.Contains(rules, l.Method) {
			rules = append(rules, l.Method)
		}
	}
	return rows, rules
}

func (r *row) add(l Line) {
	r.tried[l.Method]++
	if l.Missed() {
		r.missed[l.Method]++
	}
	if l.Rule {
		return
	}
	if l.TooSmall() {
		r.small++
	}
	if r.settings == 0 || cmp.Compare(l.Beyond(), r.worst.Beyond()) > 0 {
		r.worst = l
	}
	r.settings++
}

// WriteLines prints every line, those beyond their aim marked.
func WriteLines(w io.Writer, lines []Line) {
	for _, l := range lines {
		aim, mark := "", ""
		if l.Aim != nil {
			aim = l.Aim.String()
			switch {
			case l.Missed():
				mark = "MISSED"
			case l.Beyond() > 0:
				mark = "beyond, within 3 se"
			}
		}
		fmt.Fprintf(w, "%-55s %-18s %-26s %8.4f %8.4f  %-14s %s\n", l.Measure, l.Setting, l.Method, l.Value, l.SE, aim, mark)
	}
}
