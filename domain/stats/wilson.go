package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Wilson gives the score interval of a proportion, without continuity correction, as proportions from 0 to 1.
// With no tries nothing is known, so it is 0 to 1; at no hits the low end, and at all hits the high end, is exact.
// Counts that cannot be (negative, more hits than tries) and a confidence outside 0 to 1 give NaN.
//
// Source: Wilson 1927; method 3 of Newcombe 1998, Statistics in Medicine 17:857-872.
func Wilson(hits, tries int, confidence float64) (low, high float64) {
	if hits < 0 || hits > tries || !(confidence > 0 && confidence < 1) {
		return math.NaN(), math.NaN()
	}
	if tries == 0 {
		return 0, 1
	}
	return WilsonOf(float64(hits)/float64(tries), float64(tries), confidence)
}

// WilsonOf is [Wilson] of a proportion that is worth n independent tries, which need not be whole; see [Clustering].
func WilsonOf(p, n, confidence float64) (low, high float64) {
	z := mathext.NormalQuantile(1 - (1-confidence)/2)
	centre := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z * math.Sqrt(p*(1-p)/n+z*z/(4*n*n)) / (1 + z*z/n)
	low, high = max(0, centre-half), min(1, centre+half)
	if p == 0 {
		low = 0 // rounding leaves about 1e-17
	}
	if p == 1 {
		high = 1
	}
	return low, high
}
