package judgement

import (
	"cagework/domain"
	"cagework/domain/stats"
)

// below is what is thought of the true rate against its target.
type below struct {
	chance    float64 // that it is below by more than the bounds' margin
	short     float64 // that it is below at all
	shortfall float64 // by how much it is expected to fall short, of the target itself
	posterior stats.Mixture
}

// belowTarget judges a rate alone, with Jeffreys' prior. [Peers.Judge] puts in its place what the goalie's peers let
// think of it.
func belowTarget(t domain.Tally, target float64, bounds Thresholds) below {
	d := stats.Jeffreys(t.Hits, t.Tries)
	posterior := stats.Mixture{{Weight: 1, A: d.A, B: d.B}}
	return below{d.Below(bounds.line(target)), d.Below(target), d.Shortfall(target), posterior}
}
