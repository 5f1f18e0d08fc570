package stats

import (
	"cmp"
	"math"
	"slices"
)

// Discover flags the largest set of findings of which a share of at most q is expected to be wrong: wrong holds for
// each finding the probability that there is nothing to it. Findings that are equally likely to be wrong are flagged
// together or not at all; a NaN is never flagged and does not count. The result is in the order given.
//
// Source: the direct posterior approach of Newton et al. 2004, Biostatistics 5:155-176.
func Discover(wrong []float64, q float64) []bool {
	order := ascending(wrong)
	flagged := 0
	for i, sum := 0, 0.0; i < len(order); {
		tied := i
		for ; tied < len(order) && wrong[order[tied]] == wrong[order[i]]; tied++ {
			sum += wrong[order[tied]]
		}
		if i = tied; sum <= q*float64(i)+1e-12 {
			flagged = i
		}
	}
	out := make([]bool, len(wrong))
	for _, i := range order[:flagged] {
		out[i] = true
	}
	return out
}

// BenjaminiHochberg gives adjusted p-values: flagging those of at most q holds the expected share of wrong flags to q
// where tests are independent or depend positively. A NaN stays NaN and does not count.
//
// Source: Benjamini and Hochberg 1995, Journal of the Royal Statistical Society B 57:289-300.
func BenjaminiHochberg(p []float64) []float64 { return adjusted(p, func(int) float64 { return 1 }) }

// BenjaminiYekutieli is [BenjaminiHochberg] for any dependence: blunter by 1 + 1/2 + … + 1/m.
//
// Source: Benjamini and Yekutieli 2001, Annals of Statistics 29:1165-1188.
func BenjaminiYekutieli(p []float64) []float64 {
	return adjusted(p, func(m int) float64 {
		sum := 0.0
		for i := range m {
			sum += 1 / float64(i+1)
		}
		return sum
	})
}

func adjusted(p []float64, factor func(m int) float64) []float64 {
	out := make([]float64, len(p))
	for i := range out {
		out[i] = math.NaN()
	}
	order := ascending(p)
	least, scale := 1.0, factor(len(order))*float64(len(order))
	for rank := len(order); rank > 0; rank-- {
		i := order[rank-1]
		least = min(least, p[i]*(scale/float64(rank)))
		out[i] = least
	}
	return out
}

// ascending gives the indices of values in rising order, equal ones as given, without NaN.
func ascending(values []float64) []int {
	var order []int
	for i, v := range values {
		if !math.IsNaN(v) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(values[a], values[b]) })
	return order
}
