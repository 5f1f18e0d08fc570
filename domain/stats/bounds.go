package stats

import "math"

// Bounds judges every member of [Peers] against one bound a group, for boards that are worked out again after each new
// count: what a spread's component says of the bound is kept until its group changes, so that elsewhere only the weights
// are summed again. It gives what [Mixture.Judge] gives, and is not safe for several goroutines at once.
type Bounds struct {
	peers *Peers
	at    []float64
	kept  []keptGroup
}

type keptGroup struct {
	version int
	parts   []keptPart // of each member and spread
}

type keptPart struct {
	below, shortfall float64
	known            bool
}

// Against takes the bound of each group.
func (p *Peers) Against(bounds []float64) *Bounds {
	return &Bounds{p, bounds, make([]keptGroup, len(bounds))}
}

// Judge gives the probability that a member's true rate lies below its group's bound, and by how much it is expected to
// fall short of it.
func (b *Bounds) Judge(group, member int) (below, shortfall float64) {
	g, kept := b.peers.groups[group], &b.kept[group]
	if kept.parts == nil || kept.version != g.version {
		*kept = keptGroup{g.version, make([]keptPart, len(g.counts)*len(g.columns))}
	}
	parts, sum := kept.parts[member*len(g.columns):], 0.0
	for c, w := range b.peers.spread[group] {
		if w < negligible {
			continue
		}
		if !parts[c].known {
			below, shortfall := Mixture{b.peers.component(group, member, c)}.Judge(b.at[group])
			parts[c] = keptPart{below, shortfall, true}
		}
		below += w * parts[c].below
		shortfall += w * parts[c].shortfall
		sum += w
	}
	return math.Min(1, below/sum), shortfall / sum
}
