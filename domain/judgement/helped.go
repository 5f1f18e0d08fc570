package judgement

import (
	"bytes"
	"math"
	"slices"

	"cagework/domain"
	"cagework/domain/stats"
)

// Helped is what the blocks of one rule or one drill show together, over the whole program.
type Helped struct {
	ID        domain.ID // of the rule or drill
	Blocks    int       // with any verdict
	Told      int       // with enough tries
	Worked    int
	Backwards int
	Tries     int     // since they began, of those told
	Hits      int     // of these tries
	Expected  float64 // hits, if nothing had changed
	Gain      float64 // hits a try above what was to be expected
	GainLow   float64 // holds the gain with a chance of 80 in 100, were the blocks independent
	GainHigh  float64
	Tail      float64 // chance of so many hits or more if nothing had changed, mid-P
	Adjusted  float64 // Tail adjusted for how many rules or drills were looked at
}

// HelpByRule totals blocks by the rule that gave them, HelpByDrill by their drill. Blocks of neither are passed over.
// The order is that of the ids.
func HelpByRule(given []Given) []Helped {
	return totals(given, func(g Given) *domain.ID { return g.Rule })
}

// HelpByDrill totals blocks by their drill; see [HelpByRule].
func HelpByDrill(given []Given) []Helped {
	return totals(given, func(g Given) *domain.ID { return g.Drill })
}

func totals(given []Given, of func(Given) *domain.ID) []Helped {
	by := map[domain.ID][]Given{}
	for _, g := range given {
		if id := of(g); id != nil {
			by[*id] = append(by[*id], g)
		}
	}
	out := make([]Helped, 0, len(by))
	for id, blocks := range by {
		out = append(out, total(id, blocks))
	}
	slices.SortFunc(out, func(a, b Helped) int { return bytes.Compare(a.ID[:], b.ID[:]) })
	tails := make([]float64, len(out))
	for i := range out {
		if tails[i] = out[i].Tail; out[i].Told == 0 {
			tails[i] = math.NaN()
		}
	}
	for i, p := range stats.BenjaminiHochberg(tails) {
		if out[i].Adjusted = p; math.IsNaN(p) {
			out[i].Adjusted = 1
		}
	}
	return out
}

// total adds blocks up. The sum of what each was expected to show has an exact distribution, from which the tail comes.
func total(id domain.ID, blocks []Given) Helped {
	h, sum, variance := Helped{ID: id, Blocks: len(blocks), Tail: 1}, stats.Predictive{1}, 0.0
	for _, g := range blocks {
		expect := g.Baseline.Before().Predict(g.Tries)
		if _, possible := expect.Least(g.Baseline.Level, g.Baseline.Plain); g.Tries < fewestTries || !possible {
			continue
		}
		h.Told++
		switch {
		case g.Baseline.tail(expect, g.Hits) <= g.Baseline.Level:
			h.Worked++
		case g.Baseline.lowTail(expect, g.Hits) <= g.Baseline.Level:
			h.Backwards++
		}
		h.Tries, h.Hits = h.Tries+g.Tries, h.Hits+g.Hits
		h.Expected += expect.Mean()
		variance += expect.Variance()
		sum = sum.Plus(expect)
	}
	if h.Told == 0 {
		return h
	}
	const z80 = 1.2815515655446004 // of an 80 % interval
	n := float64(h.Tries)
	h.Gain = (float64(h.Hits) - h.Expected) / n
	h.GainLow, h.GainHigh = h.Gain-z80*math.Sqrt(variance)/n, h.Gain+z80*math.Sqrt(variance)/n
	h.Tail = sum.MidTail(h.Hits)
	return h
}
