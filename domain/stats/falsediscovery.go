package stats

import (
	"math"
	"slices"
)

// ExpectedDiscoveries picks, from many claims, the most of which the expected share that is wrong is at most q. wrong
// holds for each the probability that the claim is wrong. The answer is in the order given; claims that are equally
// probable go in or out together. Source: Newton, Noueiry, Sarkar and Ahlquist 2004, Biostatistics 5:155-176.
func ExpectedDiscoveries(wrong []float64, q float64) []bool {
	sorted := slices.Sorted(slices.Values(wrong))
	sum, cut := 0.0, math.Inf(-1)
	for i, w := range sorted {
		sum += w
		last := i+1 == len(sorted) || sorted[i+1] > w
		if last && sum <= q*float64(i+1) {
			cut = w
		}
	}
	return upTo(wrong, cut)
}

// BenjaminiHochberg picks, from many tests, those of which at most a share q is expected to be wrong, whatever is true:
// the p-values up to the largest p₍ₖ₎ with p₍ₖ₎ ≤ kq/m. When no claim is true it picks anything at all with a
// probability of at most q, if the tests are independent or depend positively. The answer is in the order given.
// Source: Benjamini and Hochberg 1995, Journal of the Royal Statistical Society B 57:289-300.
func BenjaminiHochberg(p []float64, q float64) []bool {
	sorted, cut := slices.Sorted(slices.Values(p)), math.Inf(-1)
	for i, v := range sorted {
		if v <= q*float64(i+1)/float64(len(sorted)) {
			cut = v
		}
	}
	return upTo(p, cut)
}

func upTo(values []float64, cut float64) []bool {
	out := make([]bool, len(values))
	for i, v := range values {
		out[i] = v <= cut
	}
	return out
}

// MidP gives how probable so few hits are when each try is a hit with probability rate: P(X < hits) + P(X = hits)/2 of
// the binomial distribution, the mid-P value of the test against a lower rate. Without tries it is ½. Source: Lancaster
// 1961, Journal of the American Statistical Association 56:223-234.
func MidP(hits, tries int, rate float64) float64 {
	below := 0.0
	if hits > 0 {
		below = atMost(hits-1, tries, rate)
	}
	return (below + atMost(hits, tries, rate)) / 2
}

// atMost gives the binomial P(X ≤ k) = I₁₋ₚ(n − k, k + 1), k from 0 to n.
func atMost(k, n int, p float64) float64 {
	if k == n {
		return 1
	}
	return BetaCDF(1-p, float64(n-k), float64(k+1))
}
