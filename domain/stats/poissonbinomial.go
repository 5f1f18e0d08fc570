package stats

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// oddsOf gives the odds of a chance, kept off 0 and 1 so that no evidence is infinite.
func oddsOf(chance float64) float64 {
	p := min(max(chance, leastChance), 1-leastChance)
	return p / (1 - p)
}

// PoissonBinomial gives the distribution of the number of hits among independent tries of different chances: element k
// is the chance of k hits. It adds one try after the other, in time of the square of their number.
// Source: Hong 2013, Computational Statistics and Data Analysis 59:41-51 (direct convolution).
func PoissonBinomial(chances []float64) []float64 {
	pmf := make([]float64, len(chances)+1)
	poissonBinomial(chances, pmf)
	return pmf
}

func poissonBinomial(chances, pmf []float64) {
	clear(pmf)
	pmf[0] = 1
	for i, p := range chances {
		for k := i + 1; k > 0; k-- {
			pmf[k] = pmf[k]*(1-p) + pmf[k-1]*p
		}
		pmf[0] *= 1 - p
	}
}

// MixedPoissonBinomial is [PoissonBinomial] when all tries share an unknown shift of their log-odds that is normal with
// a mean and a standard deviation, by a 20-point Gauss-Hermite rule.
func MixedPoissonBinomial(chances []float64, mean, sd float64) []float64 {
	const points = 20
	at, weight := make([]float64, points), make([]float64, points)
	quad.Hermite{}.FixedLocations(at, weight, math.Inf(-1), math.Inf(1))
	odds, shifted := make([]float64, len(chances)), make([]float64, len(chances))
	for i, p := range chances {
		odds[i] = oddsOf(p)
	}
	pmf, one := make([]float64, len(chances)+1), make([]float64, len(chances)+1)
	for k, x := range at {
		// the rule is for the weight exp(-x²); a normal with this mean and deviation is at mean + √2·sd·x
		times := math.Exp(mean + math.Sqrt2*sd*x)
		for i, o := range odds {
			shifted[i] = o * times / (1 + o*times)
		}
		poissonBinomial(shifted, one)
		w := weight[k] / math.SqrtPi
		for h, p := range one {
			pmf[h] += w * p
		}
	}
	return pmf
}

// Tail gives the chance of more than k by a distribution over 0, 1, 2 ..., counting half the chance of k itself.
func Tail(pmf []float64, k int) float64 {
	sum := pmf[k] / 2
	for _, p := range pmf[k+1:] {
		sum += p
	}
	return min(1, sum)
}

// CountRange gives the equal-tailed range of a distribution over 0, 1, 2 ...: from the least count up to which at least
// half of 1 − confidence lies, to the least above which at most that much lies.
func CountRange(pmf []float64, confidence float64) (low, high int) {
	tail, sum := (1-confidence)/2, 0.0
	low = -1
	for k, p := range pmf {
		sum += p
		if low < 0 && sum >= tail {
			low = k
		}
		if high = k; sum >= 1-tail {
			break
		}
	}
	return max(low, 0), high
}

// Effect gives the shift of the log-odds that best explains the hits against their expected chances, drawn toward 0 by
// a normal prior with the spread, and its standard error by Laplace's method: the root of Σ(hit − σ(η+δ)) = δ/spread².
func Effect(chances []float64, hit []bool, spread float64) (shift, se float64) {
	odds := make([]float64, len(chances))
	for i, p := range chances {
		odds[i] = oddsOf(p)
	}
	precision := 1 / (spread * spread)
	for range maxSteps {
		slope, information := -shift*precision, precision
		times := math.Exp(shift)
		for i, o := range odds {
			p := o * times / (1 + o*times)
			slope += number(hit[i]) - p
			information += p * (1 - p)
		}
		se = 1 / math.Sqrt(information)
		step := slope / information
		shift += min(max(step, -1), 1) // a full step from far off may overshoot
		if math.Abs(step) < 1e-13 {
			break
		}
	}
	return shift, se
}
