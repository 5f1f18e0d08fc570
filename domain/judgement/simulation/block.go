package simulation

import (
	"math"

	"cagework/domain/stats"
)

// laterTries are how many tries there are since a block began.
var laterTries = [...]int{24, 60}

// blockLevel is the chance at most to be taken for help when nothing changed.
const blockLevel = .10

// blocks are what a method shows on blocks of one length. Each is of the target with the lowest raw rate.
type blocks struct {
	helped, plain ratio // of those that changed nothing, by mid-P and by the plain tail
	power, less   ratio // of a rise by .20 and by .10, against the predictive that knows mean and spread
	found, fewer  ratio // the same, of all
}

// addBlocks gives each goalie a block on the target with the lowest raw rate on five tries or more. The chances are
// worked out from the true rate, not drawn.
func (m *measures) addBlocks(g program, o opinion) {
	for k, tries := range laterTries {
		var n, same, plain, rise, riseKnowing, less, lessKnowing float64
		for i := range g.p {
			t := g.lowest(i)
			if t < 0 {
				continue
			}
			p := g.p[i][t]
			expect := o.posterior[i][t].Predict(tries)
			need, _ := expect.Least(blockLevel, false)
			needPlain, _ := expect.Least(blockLevel, true)
			needKnowing, _ := g.knowing(i, t).Predict(tries).Least(blockLevel, false)
			n++
			same += atLeast(need, tries, p)
			plain += atLeast(needPlain, tries, p)
			rise += atLeast(need, tries, p+.20)
			riseKnowing += atLeast(needKnowing, tries, p+.20)
			less += atLeast(need, tries, p+.10)
			lessKnowing += atLeast(needKnowing, tries, p+.10)
		}
		b := &m.blocks[k]
		b.helped.add(same, n)
		b.plain.add(plain, n)
		b.power.add(rise, riseKnowing)
		b.less.add(less, lessKnowing)
		b.found.add(rise, n)
		b.fewer.add(less, n)
	}
}

// plainBlocks are what one says of the same blocks who looks at the raw rate before and after, and what could be found
// if the rate before were known.
type plainBlocks struct {
	higher, tested ratio // of those that changed nothing: a higher raw rate, and the two-proportion test
	found, fewer   ratio // of a rise by .20 and by .10, by who knows the rate
}

func (b *plainBlocks) add(g program, tries int) {
	var n, higher, tested, found, fewer float64
	for i := range g.p {
		t := g.lowest(i)
		if t < 0 {
			continue
		}
		p, before := g.p[i][t], g.counts[i][t]
		n++
		higher += atLeast(tries*before.Hits/before.Tries+1, tries, p)
		tested += atLeast(testNeeds(before, tries), tries, p)
		found += knownPower(p, p+.20, tries)
		fewer += knownPower(p, p+.10, tries)
	}
	b.higher.add(higher, n)
	b.tested.add(tested, n)
	b.found.add(found, n)
	b.fewer.add(fewer, n)
}

// testNeeds gives the least hits of so many later tries that the two-proportion test with a pooled rate takes for a rise
// at a level of .10, one-sided; one more than the tries when none will do.
func testNeeds(before stats.Count, tries int) int {
	const z90 = 1.2815515655446004
	x, n, m := float64(before.Hits), float64(before.Tries), float64(tries)
	for y := range tries + 1 {
		pooled := (x + float64(y)) / (n + m)
		se := math.Sqrt(pooled * (1 - pooled) * (1/n + 1/m))
		if rise := float64(y)/m - x/n; rise > 0 && rise >= z90*se {
			return y
		}
	}
	return tries + 1
}

// knownPower gives how often a rise from one rate to another is found by who knows the first, at a level of exactly .10:
// with as many hits as would just be too likely a coin is thrown.
func knownPower(from, to float64, tries int) float64 {
	need := 0
	for atLeast(need, tries, from) > blockLevel {
		need++
	}
	short := atLeast(need-1, tries, from) - atLeast(need, tries, from) // need is above 0: no hits or more are certain
	coin := (blockLevel - atLeast(need, tries, from)) / short
	return atLeast(need, tries, to) + coin*(atLeast(need-1, tries, to)-atLeast(need, tries, to))
}

// lowest gives the target with the lowest raw rate; -1 when none has five tries.
func (g program) lowest(i int) int {
	lowest, rate := -1, math.Inf(1)
	for t, c := range g.counts[i] {
		if r := float64(c.Hits) / float64(c.Tries); c.Tries >= 5 && r < rate {
			lowest, rate = t, r
		}
	}
	return lowest
}

// atLeast gives the chance of so many hits or more in some tries at a true rate.
func atLeast(hits, tries int, p float64) float64 {
	switch {
	case hits <= 0:
		return 1
	case hits > tries:
		return 0
	}
	return stats.BetaCDF(min(p, .999), float64(hits), float64(tries-hits+1))
}
