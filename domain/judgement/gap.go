package judgement

import (
	"bytes"
	"cmp"
	"slices"

	"cagework/domain"
	"cagework/domain/stats"
)

// Gap is what closing the distance of a rate to its target is worth. Goals are a game of the rate's code of play and
// level.
type Gap struct {
	Rate  Rate
	Tries float64 // a game; shots whose habit was not seen are among them, since the habit is at work there too
	Known bool    // whether its hits have a worth in goals
	Value PerTry  // of a hit
	Goals float64 // a game, from closing this gap alone
	Adds  float64 // a game, beside those that come before it
	Share float64 // of what closing all of them is worth: what it adds on the average over all orders
	First float64 // chance that this gap, of all of them, costs the most
	Kept  bool    // it stands because its block runs
	Over  *Gap    // the one worth more than it that it goes before, being the earlier cause; nil without
	Why   string  // it stands where it stands, in a sentence
}

// Choice is what is chosen from: rates that may be worked on, and those whose blocks run. Plays hold the shots.
type Choice struct {
	Kept   []Rate // in the order in which they were begun
	Rates  []Rate // as a rule those that are [Rate.Listed]
	Plays  []Play
	Week   domain.Week
	Value  ValueOf
	Most   int // how many at most
	Bounds Thresholds
}

// mostGaps is how many gaps can be weighed against each other.
const mostGaps = 64

// Order gives the gaps that together promise most, the first first, at most [Choice.Most]: those whose block runs,
// unless another is clearly worth more; then always the one that adds most to those before it, a shot in several
// targets being saved once; one that would add nothing is left out. Of gaps worth about the same the earlier cause goes first. What is still level is settled by
// worth, the target's code and the play, so that the same shots always give the same answer in whatever order they come.
func (c Choice) Order() []Gap {
	gaps := c.gaps()
	cover := c.coverage(gaps)
	first := stats.ChanceFirst(lawsOf(gaps))
	shares := cover.Shares()
	for i := range gaps {
		gaps[i].Goals, gaps[i].Share, gaps[i].First = cover.Adds(i, 0), shares[i], first[i]
	}
	o := ordering{Choice: c, gaps: gaps, cover: cover}
	for range c.Most {
		if !o.next() {
			break
		}
	}
	return o.out
}

// gaps gives the candidates in an order of their own: kept ones first as given, the others by code and play.
func (c Choice) gaps() []Gap {
	var kept, rest []Gap
	add := func(to *[]Gap, r Rate, keep bool) {
		has := func(g Gap) bool { return g.Rate.sameAs(r) }
		if !slices.ContainsFunc(kept, has) && !slices.ContainsFunc(rest, has) {
			*to = append(*to, Gap{Rate: r, Kept: keep})
		}
	}
	for _, r := range c.Kept {
		add(&kept, r, true)
	}
	for _, r := range c.Rates {
		add(&rest, r, false)
	}
	slices.SortFunc(rest, func(a, b Gap) int { return compareNames(a.Rate, b.Rate) })
	gaps := append(kept, rest...)
	return gaps[:min(len(gaps), mostGaps)]
}

func (r Rate) sameAs(o Rate) bool {
	return r.Target.ID == o.Target.ID && r.CodeOfPlay == o.CodeOfPlay && r.Level == o.Level
}

// ComparePlays orders rates by their code of play and level, as the lists of codes do.
func ComparePlays(a, b Rate) int {
	return cmp.Or(
		cmp.Compare(slices.Index(domain.CodesOfPlay, a.CodeOfPlay), slices.Index(domain.CodesOfPlay, b.CodeOfPlay)),
		cmp.Compare(slices.Index(domain.Levels, a.Level), slices.Index(domain.Levels, b.Level)),
	)
}

func compareNames(a, b Rate) int {
	return cmp.Or(
		cmp.Compare(a.Target.Fields.Code, b.Target.Fields.Code),
		ComparePlays(a, b),
		bytes.Compare(a.Target.ID[:], b.Target.ID[:]),
	)
}

// coverage weighs each gap on the shots where it tells. All of a play's gaps are weighed over one span, the longest of
// their look-backs, so that what shots share is seen; each play's shots are reckoned a game of that play.
func (c Choice) coverage(gaps []Gap) stats.Coverage {
	cover := stats.Coverage{Gain: make([]float64, len(gaps))}
	for i := range gaps {
		value, known := c.Value(gaps[i].Rate)
		gaps[i].Known = known
		if known {
			cover.Gain[i] = min(1, gaps[i].Rate.Shortfall*max(0, value.Goals))
		}
		gaps[i].Value = value
	}
	for _, play := range c.Plays {
		cover.Patterns = append(cover.Patterns, c.patterns(play, gaps)...)
	}
	return cover
}

// patterns counts a play's shots by the gaps that tell on them, a game, and sets the gaps' tries.
func (c Choice) patterns(play Play, gaps []Gap) []stats.Pattern {
	var kinds []domain.GameKind
	weeks := 0
	here := func(r Rate) bool { return r.CodeOfPlay == play.CodeOfPlay && r.Level == play.Level }
	questions := make([]domain.Question, len(gaps))
	for i, g := range gaps {
		if here(g.Rate) {
			questions[i] = g.Rate.Target.Fields.Question()
			weeks = max(weeks, g.Rate.Target.Fields.Weeks)
			kinds = append(kinds, g.Rate.Target.Fields.Kinds...)
		}
	}
	to := c.Week.Sunday()
	faced := Between(play.Faced, to.AddDays(1-7*weeks), to)
	played := games(faced, kinds)
	if weeks == 0 || played == 0 {
		return nil
	}
	counts := map[uint64]int{}
	for _, s := range faced.Shots {
		set := uint64(0)
		for i := range gaps {
			if _, is := questions[i].Ask(s); is { // a target of another play has no kinds, so asks of none
				set |= 1 << i
			}
		}
		counts[set]++
	}
	var out []stats.Pattern
	for set, n := range counts {
		out = append(out, stats.Pattern{Remedies: set, Times: float64(n) / float64(played)})
	}
	slices.SortFunc(out, func(a, b stats.Pattern) int { return cmp.Compare(a.Remedies, b.Remedies) })
	for _, p := range out {
		for i := range gaps {
			if p.Remedies&(1<<i) != 0 {
				gaps[i].Tries += p.Times
			}
		}
	}
	return out
}

// cells is into how many parts the rates below a target are cut to compare what gaps may cost.
const cells = 120

// lawsOf gives for each gap how likely it costs how much: the posterior of the rate below its target, cut into cells,
// and where a hit's worth is uncertain five equally likely values of it.
func lawsOf(gaps []Gap) [][]stats.Atom {
	laws := make([][]stats.Atom, len(gaps))
	for i, g := range gaps {
		if !g.Known || g.Rate.TargetRate == nil || g.Rate.posterior == nil || g.Rate.ChanceBelow == nil {
			laws[i] = []stats.Atom{{Value: 0, Chance: 1}}
			continue
		}
		laws[i] = lawOf(g)
	}
	return laws
}

// fifths are the middles of the fifths of a standard normal distribution.
var fifths = []float64{-1.2815515655, -0.5244005127, 0, 0.5244005127, 1.2815515655}

func lawOf(g Gap) []stats.Atom {
	at, below := *g.Rate.TargetRate, *g.Rate.ChanceBelow
	worths := []float64{g.Value.Goals}
	if sd := g.Value.SD; sd > 0 {
		worths = make([]float64, len(fifths))
		for j, z := range fifths {
			worths[j] = max(0, g.Value.Goals+z*sd)
		}
	}
	law := []stats.Atom{{Value: 0, Chance: 1 - below}}
	for k, chance := range g.Rate.posterior.Cells(at, cells) {
		short := at - at*(float64(k)+0.5)/cells
		for _, w := range worths {
			law = append(law, stats.Atom{
				Value: g.Tries * short * w, Chance: below * chance / float64(len(worths)),
			})
		}
	}
	return law
}
