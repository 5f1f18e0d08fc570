package simulation

import "cagework/domain/stats"

// measures are what one method shows over the programs of a setting.
type measures struct {
	overKnowing, overApart, overRaw ratio // regret against that of others
	overOracle, overAlone, overLow  ratio // the same, reported only: who knows mean and spread, Jeffreys, the lowest raw rate
	cover, chosen                   ratio
	width, rmse                     ratio // against Jeffreys'
	board, board08, own, clear      ratio // wrong flags of each list
	announced                       ratio // wrong less announced, of the board's list
	found                           ratio // gaps over .05 on the board's list, against those that who knows M finds
	blocks                          [len(laterTries)]blocks
}

// opinion is what a method thinks of a program.
type opinion struct {
	posterior    [][targets]stats.Mixture
	below, short [][targets]float64
	regret       float64 // of its first work-ons, against knowing everything
	found        float64
}

func (m method) think(g program) opinion {
	o := opinion{posterior: m.of(g)}
	o.below, o.short = make([][targets]float64, len(g.p)), make([][targets]float64, len(g.p))
	for i := range g.p {
		for t := range targets {
			o.below[i][t], o.short[i][t] = o.posterior[i][t].Judge(g.aim[t])
		}
	}
	return o
}

// first gives the target that is expected to cost a goalie the most.
func (o opinion) first(i int) int { return best(o.short[i]) }

func best(short [targets]float64) int {
	first := 0
	for t := range targets {
		if exposures[t]*short[t] > exposures[first]*short[first] {
			first = t
		}
	}
	return first
}

// truth is what is worked out once for a program, whatever the method: for each goalie and target what it costs by the
// reckoning of who knows mean and spread, and the regret of who goes by that.
type truth struct {
	cost   [][targets]float64
	oracle float64
	raw    float64 // regret of raw shortfall times exposure
	low    float64 // regret of the lowest raw rate
}

func (g program) truth() truth {
	t := truth{cost: make([][targets]float64, len(g.p))}
	for i := range g.p {
		var really, raw [targets]float64
		for k := range targets {
			_, t.cost[i][k] = g.knowing(i, k).Judge(g.aim[k])
			really[k] = max(0, g.aim[k]-g.p[i][k])
			if c := g.counts[i][k]; c.Tries > 0 {
				raw[k] = max(0, g.aim[k]-float64(c.Hits)/float64(c.Tries))
			}
		}
		chosen, right := best(t.cost[i]), best(really)
		t.oracle += exposures[right]*really[right] - exposures[chosen]*really[chosen]
		t.raw += t.lost(i, best(raw))
		t.low += t.lost(i, max(0, g.lowest(i))) // one target is as good as another where none has five tries
	}
	t.raw, t.low = t.raw+t.oracle, t.low+t.oracle
	return t
}

// lost gives what choosing a target costs a goalie, in expectation, against the best choice that can be made.
func (t truth) lost(i, chosen int) float64 {
	right := best(t.cost[i])
	return exposures[right]*t.cost[i][right] - exposures[chosen]*t.cost[i][chosen]
}

func (o *opinion) weigh(t truth) {
	o.regret = t.oracle
	for i := range t.cost {
		o.regret += t.lost(i, o.first(i))
	}
}

// add measures a program: o is the method's opinion, the others those it is compared with.
func (m *measures) add(g program, t truth, o, knowing, apart, alone opinion) {
	m.overKnowing.add(o.regret, knowing.regret)
	m.overApart.add(o.regret, apart.regret)
	m.overRaw.add(o.regret, t.raw)
	m.overOracle.add(o.regret, t.oracle)
	m.overAlone.add(o.regret, alone.regret)
	m.overLow.add(o.regret, t.low)
	m.addIntervals(g, o, alone)
	m.addFlags(g, o, knowing)
	m.addBlocks(g, o)
}

func (m *measures) addIntervals(g program, o, alone opinion) {
	var in, chosenIn, width, widthAlone, square, squareAlone, wide float64
	for i := range g.p {
		for t := range targets {
			p := g.p[i][t]
			inside := 0.0
			if u := o.posterior[i][t].Below(p); u > .05 && u < .95 {
				inside = 1
			}
			in += inside
			if t == o.first(i) {
				chosenIn += inside
			}
			d, e := o.posterior[i][t].Mean()-p, alone.posterior[i][t].Mean()-p
			square, squareAlone = square+d*d, squareAlone+e*e
			if (len(m.width.above)+i+t)%targets == 0 { // widths vary little: one target of each goalie is enough
				low, high := o.posterior[i][t].Interval(.9)
				lowAlone, highAlone := alone.posterior[i][t].Interval(.9)
				width, widthAlone, wide = width+high-low, widthAlone+highAlone-lowAlone, wide+1
			}
		}
	}
	n := float64(len(g.p))
	m.cover.add(in, n*targets)
	m.chosen.add(chosenIn, n)
	m.width.add(width, widthAlone)
	m.rmse.add(square, squareAlone)
}

// addFlags counts wrong flags on a board over the program, and on each goalie's own list.
func (m *measures) addFlags(g program, o opinion, knowing opinion) {
	flags, wrong, announced := flagged(g, o, .10)
	flags08, wrong08, _ := flagged(g, o, .08)
	m.board.add(wrong, flags)
	m.board08.add(wrong08, flags08)
	m.announced.add(wrong-announced, flags)
	m.found.add(o.found, knowing.found)
	var own, ownWrong, clear, clearWrong float64
	for i := range g.p {
		for t, is := range stats.Discover(nothing(o.below[i]), .10) {
			if !is {
				continue
			}
			bad := 0.0
			if g.p[i][t] >= g.aim[t] {
				bad = 1
			}
			own, ownWrong = own+1, ownWrong+bad
			if o.below[i][t] >= .90 {
				clear, clearWrong = clear+1, clearWrong+bad
			}
		}
	}
	m.own.add(ownWrong, own)
	m.clear.add(clearWrong, clear)
}

func nothing(below [targets]float64) []float64 {
	out := make([]float64, targets)
	for t, b := range below {
		out[t] = 1 - b
	}
	return out
}

// flagged gives how many flags a board has, how many are wrong, and how many it says are.
func flagged(g program, o opinion, q float64) (flags, wrong, announced float64) {
	for k, is := range stats.Discover(o.all(), q) {
		if i, t := k/targets, k%targets; is {
			flags++
			announced += 1 - o.below[i][t]
			if g.p[i][t] >= g.aim[t] {
				wrong++
			}
		}
	}
	return flags, wrong, announced
}

func (o opinion) all() []float64 {
	var out []float64
	for i := range o.below {
		out = append(out, nothing(o.below[i])...)
	}
	return out
}

// find counts the gaps over .05 that a board lists.
func (o *opinion) find(g program) {
	for k, is := range stats.Discover(o.all(), .10) {
		if i, t := k/targets, k%targets; is && g.aim[t]-g.p[i][t] > .05 {
			o.found++
		}
	}
}
