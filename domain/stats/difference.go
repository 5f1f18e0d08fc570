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
// [Beta.Exceeds]. It integrates over all components at once, whose widths are much alike when they rest on one count.
func (m Mixture) Exceeds(other Mixture, margin float64) float64 {
	low, high, sum := math.Pi/2, 0.0, 0.0
	var smooth []angular
	for _, c := range m {
		switch {
		case !(c.A > 0 && c.B > 0):
			return math.NaN()
		case c.A < 0.5 || c.B < 0.5:
			// The pole is too steep to integrate through, so the quantiles are gone through instead.
			sum += c.Weight * gauss(0, 1, func(u float64) float64 {
				return other.Below(mathext.InvRegIncBeta(c.A, c.B, u) - margin)
			})
		default:
			d := angular{2*c.A - 1, 2*c.B - 1, math.Log(2*c.Weight) - mathext.Lbeta(c.A, c.B)}
			from, to := support(d.log, d.peak())
			low, high, smooth = min(low, from), max(high, to), append(smooth, d)
		}
	}
	if len(smooth) > 0 {
		sum += gauss(low, high, func(t float64) float64 {
			density, s := 0.0, math.Sin(t)
			for _, d := range smooth {
				density += math.Exp(d.log(t))
			}
			return density * other.Below(s*s-margin)
		})
	}
	return min(1, max(0, sum))
}

// angular is the density of t where sin²t has a beta distribution: sinᵃt·cosᵇt up to a factor.
type angular struct{ a, b, norm float64 }

func (d angular) log(t float64) float64 {
	log := d.norm
	if d.a > 0 {
		log += d.a * math.Log(math.Sin(t))
	}
	if d.b > 0 {
		log += d.b * math.Log(math.Cos(t))
	}
	return log
}

func (d angular) peak() float64 { return math.Atan2(math.Sqrt(d.a), math.Sqrt(d.b)) }

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
