package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// DefaultN0 is the tries at which a rate is as likely to be leant more than half on the peers as less, before anything
// is seen; see [PeerGrid].
const DefaultN0 = 20

// MeanPrior is what is thought of the peers' mean rate before anything is seen: Beta(A, B). A flat one is {1, 1}.
type MeanPrior struct{ A, B float64 }

// NormPrior gives the prior of a norm that is worth so many tries. Without a norm it is flat.
func NormPrior(norm *float64, tries float64) MeanPrior {
	if norm == nil || !(*norm > 0 && *norm < 1) {
		return MeanPrior{1, 1}
	}
	return MeanPrior{tries * *norm, tries * (1 - *norm)}
}

// PeerGrid is the hierarchical beta-binomial model of some counts, averaged over its two unknowns on a grid: the mean μ
// of the true rates, and M, which says how alike they are (each is Beta(μM, (1−μ)M)). The prior of M is uniform in the
// share M/(M + n0) by which a rate of n0 tries leans on the mean. It is proper, so any number of counts will do, none
// included. This is the plain form of the model, against which [Peers] is checked: exact, and slow.
//
// Sources: Christiansen and Morris 1997, Journal of the American Statistical Association 92:618-632; Daniels 1999,
// Canadian Journal of Statistics 27:567-578.
type PeerGrid struct {
	counts        []Count
	mu, m, weight []float64 // of each point
}

// NewPeerGrid averages over k × k midpoints of μ and M/(M + n0).
func NewPeerGrid(counts []Count, mean MeanPrior, n0 float64, k int) *PeerGrid {
	g := &PeerGrid{counts: counts}
	top := math.Inf(-1)
	for i := range k {
		mu := (float64(i) + 0.5) / float64(k)
		for j := range k {
			s := (float64(j) + 0.5) / float64(k)
			m := n0 * s / (1 - s)
			log := (mean.A-1)*math.Log(mu) + (mean.B-1)*math.Log1p(-mu)
			for _, c := range counts {
				log += logMarginal(c, mu*m, (1-mu)*m)
			}
			g.mu, g.m, g.weight = append(g.mu, mu), append(g.m, m), append(g.weight, log)
			top = max(top, log)
		}
	}
	g.normalise(top)
	return g
}

// normalise turns logs of weights into weights.
func (g *PeerGrid) normalise(top float64) {
	sum := 0.0
	for i, log := range g.weight {
		g.weight[i] = math.Exp(log - top)
		sum += g.weight[i]
	}
	for i := range g.weight {
		g.weight[i] /= sum
	}
}

// logMarginal gives the log of the probability of a count, without the binomial coefficient, under Beta(a, b).
func logMarginal(c Count, a, b float64) float64 {
	if c.Tries == 0 {
		return 0
	}
	return mathext.Lbeta(a+float64(c.Hits), b+float64(c.Tries-c.Hits)) - mathext.Lbeta(a, b)
}

// Posterior gives what is thought of the i-th true rate: one component for each point of the grid.
func (g *PeerGrid) Posterior(i int) Mixture {
	x, n := float64(g.counts[i].Hits), float64(g.counts[i].Tries)
	out := make(Mixture, len(g.weight))
	for h, w := range g.weight {
		a := g.mu[h] * g.m[h]
		out[h] = Component{w, a + x, g.m[h] - a + n - x}
	}
	return out
}

// Reliability gives E[n/(n + M)] of the i-th count: how much its own rate counts against the peers', which is also how
// well two such rates of the same players would agree.
func (g *PeerGrid) Reliability(i int) float64 {
	n, sum := float64(g.counts[i].Tries), 0.0
	for h, w := range g.weight {
		sum += w * n / (n + g.m[h])
	}
	return sum
}

// Mean gives the expected mean of the true rates.
func (g *PeerGrid) Mean() float64 {
	sum := 0.0
	for h, w := range g.weight {
		sum += w * g.mu[h]
	}
	return sum
}
