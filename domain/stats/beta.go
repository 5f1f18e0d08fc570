package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Beta is a beta distribution of a proportion. Both shapes are above 0.
type Beta struct{ A, B float64 }

// Jeffreys gives what hits of tries say about a proportion when nothing else is known: Beta(hits + ½, misses + ½).
// Source: Brown, Cai and DasGupta 2001, Statistical Science 16:101-133.
func Jeffreys(hits, tries int) Beta { return Beta{float64(hits) + 0.5, float64(tries-hits) + 0.5} }

// BetaCDF gives the probability that a proportion with a Beta(a, b) distribution lies below t: the regularised
// incomplete beta function. A t outside 0 to 1 gives 0 or 1; shapes that are not above 0 give NaN.
func BetaCDF(t, a, b float64) float64 {
	switch {
	case !(a > 0) || !(b > 0) || math.IsNaN(t):
		return math.NaN()
	case t <= 0:
		return 0
	case t >= 1:
		return 1
	}
	return mathext.RegIncBeta(a, b, t)
}

// Mean gives the expected proportion.
func (d Beta) Mean() float64 { return d.A / (d.A + d.B) }

// Below gives the probability that the proportion lies below t.
func (d Beta) Below(t float64) float64 { return BetaCDF(t, d.A, d.B) }

// Shortfall gives by how much the proportion is expected to fall short of t, E[(t − p)⁺], in the closed form
// t·I_t(a, b) − a/(a+b)·I_t(a+1, b), which follows from p·Beta(a, b) ∝ Beta(a+1, b).
func (d Beta) Shortfall(t float64) float64 {
	return max(0, t*BetaCDF(t, d.A, d.B)-d.Mean()*BetaCDF(t, d.A+1, d.B))
}
