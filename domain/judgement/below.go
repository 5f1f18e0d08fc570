package judgement

import (
	"cagework/domain"
	"cagework/domain/stats"
)

// below is what is thought of the true rate against its target.
type below struct {
	chance    float64 // that it is below
	shortfall float64 // by how much it is expected to fall short
}

// belowTarget is the one place where counts become an opinion of the true rate. It now takes each rate alone, with
// Jeffreys' prior; a model that leans on the goalie's peers replaces the body and nothing else.
func belowTarget(t domain.Tally, target float64) below {
	posterior := stats.Jeffreys(t.Hits, t.Tries)
	return below{chance: posterior.Below(target), shortfall: posterior.Shortfall(target)}
}
