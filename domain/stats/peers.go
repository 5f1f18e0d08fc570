package stats

import "math"

// SpreadModel says which spreads of true rates are thought possible, and how closely those of several groups resemble
// each other. M is on a rising scale, see [PeerGrid]; LogPrior has the log of each one's prior probability. Width is
// the standard deviation of a group's ln M about what the groups have in common: 0 is one spread for all, and a
// negative one shares nothing.
type SpreadModel struct {
	M, LogPrior []float64
	Width       float64
}

// The scale of M of the default model, and how closely spreads resemble each other. A width of .5 to 1.2 orders
// work-ons about as well; one spread for all does badly where spreads differ much.
const (
	spreadPoints = 40
	leastM       = 1.5
	mostM        = 2000
	spreadWidth  = 0.8
)

// DefaultSpread is 40 values of M evenly spaced in ln M from 1.5 to 2000, each with the prior mass of M/(M + n0) in its
// cell (the outer cells reach to 0 and to no difference at all).
func DefaultSpread() SpreadModel {
	model := SpreadModel{Width: spreadWidth}
	step := math.Log(mostM/leastM) / (spreadPoints - 1)
	share := func(c float64) float64 {
		m := leastM * math.Exp(step*c)
		return m / (m + DefaultN0)
	}
	for c := range spreadPoints {
		low, high := share(float64(c)-0.5), share(float64(c)+0.5)
		if c == 0 {
			low = 0
		}
		if c == spreadPoints-1 {
			high = 1
		}
		model.M = append(model.M, leastM*math.Exp(step*float64(c)))
		model.LogPrior = append(model.LogPrior, math.Log(high-low))
	}
	return model
}

// KnownSpread is the model of somebody who knows M.
func KnownSpread(m float64) SpreadModel { return SpreadModel{[]float64{m}, []float64{0}, -1} }

// Group is the counts of one target over its members, and what is thought of their mean beforehand.
type Group struct {
	Counts []Count
	Mean   MeanPrior
}

// Peers is the hierarchical beta-binomial model of [PeerGrid] for several groups whose spreads resemble each other:
// ln M of a group is normal about a common value, with the model's width, and the common value has the prior of the
// spread. What the other groups say about the common value becomes part of each group's own prior.
//
// The mean of a group is averaged over at points that follow the data, so that fifty peers are no harder than two; the
// rate of a member, given M, is then replaced by the beta distribution of the same mean and standard deviation. Reading
// is safe from several goroutines at once; [Peers.Set] is not.
type Peers struct {
	model  SpreadModel
	groups []*peerGroup
	spread [][]float64 // P(M) of each group, given everything
	kernel [][]float64 // P(ln M of a group | common value), a row for each common value
}

// NewPeers works the model out. The result does not depend on the order of groups or members, but for rounding.
func NewPeers(model SpreadModel, groups []Group) *Peers {
	p := &Peers{model: model, kernel: kernelOf(model)}
	for _, g := range groups {
		p.groups = append(p.groups, newPeerGroup(model.M, g))
	}
	p.settle()
	return p
}

// Change is a new count of one member of one group.
type Change struct {
	Group, Member int
	Count         Count
}

// Set changes counts, and gives the same as making the model anew: what other members make likely is kept, and only
// what the change touches is worked out.
func (p *Peers) Set(changes ...Change) {
	for _, c := range changes {
		p.groups[c.Group].set(c.Member, c.Count)
	}
	p.settle()
}

// Count gives the count of a member of a group.
func (p *Peers) Count(group, member int) Count { return p.groups[group].counts[member] }

// kernelOf gives the kernel by which spreads resemble each other; nil when nothing is shared.
func kernelOf(model SpreadModel) [][]float64 {
	if model.Width < 0 {
		return nil
	}
	kernel := make([][]float64, len(model.M))
	for c, common := range model.M {
		row, sum := make([]float64, len(model.M)), 0.0
		for s, own := range model.M {
			if d := math.Log(own / common); model.Width > 0 {
				row[s] = math.Exp(-d * d / (2 * model.Width * model.Width))
			} else if s == c {
				row[s] = 1
			}
			sum += row[s]
		}
		for s := range row {
			row[s] /= sum
		}
		kernel[c] = row
	}
	return kernel
}

// settle works out each group's spread from all groups.
func (p *Peers) settle() {
	j := len(p.model.M)
	common := append([]float64{}, p.model.LogPrior...) // log P(common value | all groups)
	said := make([][]float64, len(p.groups))           // by each group of the common value
	for g, group := range p.groups {
		if said[g] = make([]float64, j); p.kernel == nil {
			continue
		}
		evidence := relative(group.evidence)
		for c, row := range p.kernel {
			sum := 0.0
			for s, k := range row {
				sum += k * evidence[s]
			}
			said[g][c] = math.Log(sum) // a sum of 0 is log 0: this common value cannot be
			common[c] += said[g][c]
		}
	}
	p.spread = make([][]float64, len(p.groups))
	for g, group := range p.groups {
		p.spread[g] = p.spreadOf(group, p.others(g, said, common))
	}
}

// others gives the log weight of each common value by the prior and the groups but one.
func (p *Peers) others(g int, said [][]float64, common []float64) []float64 {
	out := make([]float64, len(common))
	for c := range out {
		if out[c] = common[c] - said[g][c]; !math.IsInf(said[g][c], -1) {
			continue
		}
		out[c] = p.model.LogPrior[c] // infinite less infinite: add the others up
		for u := range said {
			if u != g {
				out[c] += said[u][c]
			}
		}
	}
	return out
}

// spreadOf gives P(M) of a group from its own evidence and what the others say.
func (p *Peers) spreadOf(group *peerGroup, others []float64) []float64 {
	out := make([]float64, len(p.model.M))
	if p.kernel == nil {
		copy(out, p.model.LogPrior)
	} else {
		for c, w := range relative(others) {
			for s, k := range p.kernel[c] {
				out[s] += w * k
			}
		}
		for s := range out {
			out[s] = math.Log(out[s])
		}
	}
	for s := range out {
		out[s] += group.evidence[s]
	}
	return normalised(out)
}

// relative turns logs into weights of which the highest is 1.
func relative(logs []float64) []float64 {
	top, out := highest(logs), make([]float64, len(logs))
	for i, log := range logs {
		out[i] = math.Exp(log - top)
	}
	return out
}

// normalised turns logs into probabilities, in place.
func normalised(logs []float64) []float64 {
	top, sum := highest(logs), 0.0
	for i, log := range logs {
		logs[i] = math.Exp(log - top)
		sum += logs[i]
	}
	for i := range logs {
		logs[i] /= sum
	}
	return logs
}

func highest(values []float64) float64 {
	top := math.Inf(-1)
	for _, v := range values {
		top = max(top, v)
	}
	return top
}

// negligible is the weight of a component that is left out.
const negligible = 1e-7

// Posterior gives what is thought of the true rate of a member of a group: a component for each spread that counts.
func (p *Peers) Posterior(group, member int) Mixture {
	out, sum := make(Mixture, 0, len(p.model.M)), 0.0
	for c, w := range p.spread[group] {
		if w < negligible {
			continue
		}
		component := p.component(group, member, c)
		component.Weight = w
		out = append(out, component)
		sum += w
	}
	for i := range out {
		out[i].Weight /= sum
	}
	return out
}

// component gives what is thought of a member's true rate at the c-th spread, with a weight of 1.
func (p *Peers) component(group, member, c int) Component {
	g := p.groups[group]
	x, n := float64(g.counts[member].Hits), float64(g.counts[member].Tries)
	m, mean, square := p.model.M[c], g.mean[c], g.square[c]
	first := (m*mean + x) / (m + n)
	second := (m*m*square + m*mean*(2*x+1) + x*(x+1)) / ((m + n) * (m + n + 1))
	d := matched(first, math.Sqrt(max(second-first*first, 1e-12)))
	return Component{1, d.A, d.B}
}

// Reliability gives E[n/(n + M)]: how much n tries of a member count against the peers.
func (p *Peers) Reliability(group, tries int) float64 {
	n, sum := float64(tries), 0.0
	for c, w := range p.spread[group] {
		sum += w * n / (n + p.model.M[c])
	}
	return sum
}

// Mean gives the expected mean of the true rates of a group.
func (p *Peers) Mean(group int) float64 {
	sum := 0.0
	for c, w := range p.spread[group] {
		sum += w * p.groups[group].mean[c]
	}
	return sum
}

// Spread gives P(M) of a group over the model's values of M.
func (p *Peers) Spread(group int) []float64 { return p.spread[group] }
