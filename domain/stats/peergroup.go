package stats

import "math"

// peerGroup is the part of the model of [Peers] that rests on one group alone: for each M the evidence for it and the
// first two moments of the mean μ.
type peerGroup struct {
	counts   []Count
	kinds    []Count // the different counts: what equal ones make of a point is worked out once
	times    []float64
	place    map[Count]int // of a count in kinds
	version  int           // how often a count changed
	prior    MeanPrior
	columns  []*peerColumn // one for each M
	evidence []float64     // ln P(counts | M), up to a constant
	mean     []float64     // E[μ | counts, M]
	square   []float64     // E[μ² | counts, M]
}

// peerColumn integrates over logit μ at one M, by the trapezoid rule at the multiples of a step. The rule is exact to
// about 1e-8 when the step is at most a standard deviation and both ends lie where nothing is left: Trefethen and
// Weideman 2014, SIAM Review 56:385-458. What each kind of count makes of each point is kept, so that one member's change
// costs little; which points are taken follows from the counts alone, so that it gives what a new start would.
type peerColumn struct {
	m      float64
	step   float64
	anchor int         // the multiple at which up begins; down goes on below it
	up     []peerPoint // of the multiples anchor, anchor + 1, …
	down   []peerPoint // of anchor − 1, anchor − 2, …
}

// peerPoint is a value of μ with the log of what each kind of count makes of it.
type peerPoint struct {
	mu    float64
	prior float64 // log density of logit μ
	start marginal
	said  []float64
}

// dropped is how far below its peak the log of a density has fallen where it is cut off; steepest bounds |logit μ|.
const (
	dropped  = 18
	steepest = 36
)

func newPeerGroup(ms []float64, g Group) *peerGroup {
	p := &peerGroup{
		counts: append([]Count{}, g.Counts...), place: map[Count]int{}, prior: g.Mean, columns: make([]*peerColumn, len(ms)),
		evidence: make([]float64, len(ms)), mean: make([]float64, len(ms)), square: make([]float64, len(ms)),
	}
	for _, count := range p.counts {
		p.times[p.kindOf(count)]++
	}
	for c, m := range ms {
		p.columns[c] = &peerColumn{m: m}
		p.integrate(c)
	}
	return p
}

// kindOf gives the place of a count among the kinds, where it is added when it is new.
func (p *peerGroup) kindOf(count Count) int {
	k, known := p.place[count]
	if !known {
		k = len(p.kinds)
		p.place[count] = k
		p.kinds, p.times = append(p.kinds, count), append(p.times, 0)
	}
	return k
}

// set changes one member's count.
func (p *peerGroup) set(member int, count Count) {
	p.times[p.place[p.counts[member]]]--
	p.counts[member] = count
	kinds := len(p.kinds)
	p.times[p.kindOf(count)]++
	p.version++
	for c, column := range p.columns {
		whole := gammaOf(column.m)
		for _, points := range [][]peerPoint{column.up, column.down} {
			for i := range points {
				for _, more := range p.kinds[kinds:] {
					points[i].said = append(points[i].said, points[i].start.log(more, whole))
				}
			}
		}
		p.integrate(c)
	}
}

// centre gives about where μ lies for an M, as a logit, and its standard deviation on that scale: each member counts
// as n·(M+1)/(M+n) independent tries.
func (p *peerGroup) centre(m float64) (logit, sd float64) {
	hits, tries := p.prior.A, p.prior.A+p.prior.B
	for _, c := range p.counts {
		if c.Tries > 0 {
			worth := (m + 1) / (m + float64(c.Tries))
			hits += worth * float64(c.Hits)
			tries += worth * float64(c.Tries)
		}
	}
	mu := hits / tries
	return math.Log(mu / (1 - mu)), 1 / math.Sqrt(mu*(1-mu)*tries)
}

// integrate works out a column's evidence and moments.
func (p *peerGroup) integrate(c int) {
	column := p.columns[c]
	logit, sd := p.centre(column.m)
	step := math.Exp2(math.Floor(math.Log2(sd)))
	start := int(math.Round(logit / step))
	if step != column.step {
		*column = peerColumn{m: column.m, step: step, anchor: start}
	}
	var sum meanSums
	sum.top = math.Inf(-1)
	whole := gammaOf(column.m)
	for _, way := range []int{1, -1} {
		k := start
		if way < 0 {
			k--
		}
		for ; math.Abs(float64(k)*step) <= steepest; k += way {
			point := column.at(k, p, whole)
			log := point.prior
			for kind, said := range point.said {
				log += p.times[kind] * said
			}
			if log < sum.top-dropped {
				break
			}
			sum.add(log, point.mu)
		}
	}
	p.evidence[c] = sum.top + math.Log(sum.weight*step)
	p.mean[c], p.square[c] = sum.first/sum.weight, sum.second/sum.weight
}

// meanSums are sums of weights that are given as logs.
type meanSums struct{ top, weight, first, second float64 }

func (s *meanSums) add(log, mu float64) {
	if log > s.top {
		scale := math.Exp(s.top - log)
		s.weight, s.first, s.second, s.top = s.weight*scale, s.first*scale, s.second*scale, log
	}
	w := math.Exp(log - s.top)
	s.weight += w
	s.first += w * mu
	s.second += w * mu * mu
}

// at gives the point at a multiple of the step, and works out those on the way to it that are not there yet.
func (column *peerColumn) at(k int, p *peerGroup, whole float64) *peerPoint {
	for column.anchor+len(column.up) <= k {
		column.up = append(column.up, p.point(column, column.anchor+len(column.up), whole))
	}
	if k >= column.anchor {
		return &column.up[k-column.anchor]
	}
	for column.anchor-1-len(column.down) >= k {
		column.down = append(column.down, p.point(column, column.anchor-1-len(column.down), whole))
	}
	return &column.down[column.anchor-1-k]
}

func (p *peerGroup) point(column *peerColumn, k int, whole float64) peerPoint {
	logit := float64(k) * column.step
	mu, rest := 1/(1+math.Exp(-logit)), 1/(1+math.Exp(logit))
	point := peerPoint{
		mu: mu, start: marginalOf(mu*column.m, rest*column.m), said: make([]float64, len(p.kinds), len(p.kinds)+8),
		prior: p.prior.A*math.Log(mu) + p.prior.B*math.Log(rest),
	}
	for i, c := range p.kinds {
		point.said[i] = point.start.log(c, whole)
	}
	return point
}

// marginal gives probabilities of counts under one beta distribution.
type marginal struct{ a, b, start float64 } // start: lnΓ(a) + lnΓ(b)

func marginalOf(a, b float64) marginal { return marginal{a, b, gammaOf(a) + gammaOf(b)} }

// log gives the log of a count's probability without the binomial coefficient; whole is lnΓ(a + b).
func (m marginal) log(c Count, whole float64) float64 {
	if c.Tries == 0 {
		return 0
	}
	a, b := m.a+float64(c.Hits), m.b+float64(c.Tries-c.Hits)
	return gammaOf(a) + gammaOf(b) - gammaOf(a+b) + whole - m.start
}

// gammaOf gives lnΓ of a number above 0: Stirling's series where it is exact to rounding, else the library's.
func gammaOf(x float64) float64 {
	if x < 16 {
		v, _ := math.Lgamma(x)
		return v
	}
	const halfLog2Pi = 0.918938533204672741780329736406
	y := 1 / (x * x)
	return (x-0.5)*math.Log(x) - x + halfLog2Pi +
		(1.0/12-y*(1.0/360-y*(1.0/1260-y*(1.0/1680-y/1188))))/x
}
