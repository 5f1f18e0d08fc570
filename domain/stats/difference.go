package stats

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mathext"
)

// NewcombeDifference gives the interval of the first proportion less the second: the square-and-add of Wilson's
// limits. NaN when either has no tries, or counts that cannot be.
//
// Source: method 10 of Newcombe 1998, Statistics in Medicine 17:873-890.
func NewcombeDifference(hits1, tries1, hits2, tries2 int, confidence float64) (low, high float64) {
	if tries1 <= 0 || tries2 <= 0 {
		return math.NaN(), math.NaN()
	}
	p1, p2 := float64(hits1)/float64(tries1), float64(hits2)/float64(tries2)
	low1, high1 := Wilson(hits1, tries1, confidence)
	low2, high2 := Wilson(hits2, tries2, confidence)
	low = p1 - p2 - math.Hypot(p1-low1, high2-p2)
	high = p1 - p2 + math.Hypot(high1-p1, p2-low2)
	return max(-1, low), min(1, high)
}

// Exceeds gives the probability that a proportion with this distribution is above another one plus a margin, the two
// being independent. NaN when a shape is not above 0.
//
// P = ∫ f₁(p)·F₂(p − margin) dp, after p = sin²t, which takes away the pole of f₁ at an end where a shape is ½, and over
// the part of t that holds all but e⁻⁴⁵ of f₁'s peak. Sources: Thompson 1933, Biometrika 25:285-294; Altham 1969,
// Journal of the Royal Statistical Society B 31:261-269.
func (d Beta) Exceeds(other Beta, margin float64) float64 {
	return Mixture{{1, d.A, d.B}}.Exceeds(Mixture{{1, other.A, other.B}}, margin)
}

// Exceeds gives the probability that a proportion with this distribution is above another one plus a margin; see
// [Beta.Exceeds].
func (m Mixture) Exceeds(other Mixture, margin float64) float64 {
	sum := 0.0
	for _, c := range m {
		sum += c.Weight * c.against(other, margin)
	}
	return min(1, max(0, sum))
}

// against gives P(p > q + margin) for p of the component and q of the mixture.
func (c Component) against(other Mixture, margin float64) float64 {
	switch {
	case !(c.A > 0 && c.B > 0):
		return math.NaN()
	case c.A < 0.5 || c.B < 0.5:
		// The pole is too steep to integrate through, so the quantiles are gone through instead.
		return gauss(0, 1, func(u float64) float64 { return other.Below(mathext.InvRegIncBeta(c.A, c.B, u) - margin) })
	}
	norm := mathext.Lbeta(c.A, c.B)
	log := func(t float64) float64 {
		return (2*c.A-1)*math.Log(math.Sin(t)) + (2*c.B-1)*math.Log(math.Cos(t)) - norm
	}
	low, high := support(log, math.Atan2(math.Sqrt(max(2*c.A-1, 0)), math.Sqrt(max(2*c.B-1, 0))))
	return gauss(low, high, func(t float64) float64 {
		s := math.Sin(t)
		return 2 * math.Exp(log(t)) * other.Below(s*s-margin)
	})
}

// support gives the part of 0 to π/2 in which a log density with one peak is within 45 of it.
func support(log func(float64) float64, peak float64) (low, high float64) {
	peak = min(max(peak, 1e-12), math.Pi/2-1e-12)
	floor := log(peak) - 45
	edge := func(out, in float64) float64 {
		if log(out) >= floor {
			return out
		}
		for range 50 {
			if mid := (out + in) / 2; log(mid) < floor {
				out = mid
			} else {
				in = mid
			}
		}
		return out
	}
	return edge(0, peak), edge(math.Pi/2, peak)
}

// gaussNodes is enough for twelve digits of the integrals of this file.
const gaussNodes = 160

var legendre = sync.OnceValue(func() (rule struct{ at, weight [gaussNodes]float64 }) {
	quad.Legendre{}.FixedLocations(rule.at[:], rule.weight[:], 0, 1)
	return rule
})

// gauss integrates f from low to high by the Gauss-Legendre rule.
func gauss(low, high float64, f func(float64) float64) float64 {
	rule, sum := legendre(), 0.0
	for i, at := range rule.at {
		sum += rule.weight[i] * f(low+(high-low)*at)
	}
	return sum * (high - low)
}
