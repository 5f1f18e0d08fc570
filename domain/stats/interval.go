package stats

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// JeffreysInterval gives the equal-tailed interval of Jeffreys' posterior Beta(hits + ½, misses + ½), with the end set
// to 0 at no hits and to 1 at all hits. With no tries it is 0 to 1; counts that cannot be and a confidence outside 0
// to 1 give NaN.
//
// Source: Brown, Cai and DasGupta 2001, Statistical Science 16:101-133.
func JeffreysInterval(hits, tries int, confidence float64) (low, high float64) {
	return tails(hits, tries, confidence, func(tail float64) (float64, float64) {
		d := Jeffreys(hits, tries)
		return mathext.InvRegIncBeta(d.A, d.B, tail), mathext.InvRegIncBeta(d.A, d.B, 1-tail)
	})
}

// ClopperPearson gives the exact interval of a proportion: it covers at least as often as it says, so it is wide. It
// takes and refuses what [JeffreysInterval] does.
//
// Source: Clopper and Pearson 1934; method 5 of Newcombe 1998, Statistics in Medicine 17:857-872.
func ClopperPearson(hits, tries int, confidence float64) (low, high float64) {
	return tails(hits, tries, confidence, func(tail float64) (float64, float64) {
		x, y := float64(hits), float64(tries-hits)
		low, high := 0.0, 1.0
		if hits > 0 {
			low = mathext.InvRegIncBeta(x, y+1, tail)
		}
		if hits < tries {
			high = mathext.InvRegIncBeta(x+1, y, 1-tail)
		}
		return low, high
	})
}

// MidP gives the interval whose ends leave P(more) + ½P(as many) = half of what is left of the confidence: the audit
// value between the exact interval and those that cover on the average. It takes and refuses what [JeffreysInterval]
// does.
//
// Source: method 6 of Newcombe 1998, Statistics in Medicine 17:857-872.
func MidP(hits, tries int, confidence float64) (low, high float64) {
	return tails(hits, tries, confidence, func(tail float64) (float64, float64) {
		low = root(func(p float64) float64 { return MidTail(hits, tries, p) - tail })
		high = root(func(p float64) float64 { return 1 - MidTail(hits, tries, p) - tail })
		return low, high
	})
}

// MidTail gives P(X > hits) + ½P(X = hits) for a number X of hits in tries at probability p each: the one-sided mid-P
// value of so many hits. Its complement is that of so few.
func MidTail(hits, tries int, p float64) float64 {
	x, n := float64(hits), float64(tries)
	more, atLeast := 0.0, 1.0
	if hits < tries {
		more = BetaCDF(p, x+1, n-x)
	}
	if hits > 0 {
		atLeast = BetaCDF(p, x, n-x+1)
	}
	return (more + atLeast) / 2
}

// tails checks the counts and sets the ends that are exact.
func tails(hits, tries int, confidence float64, ends func(tail float64) (float64, float64)) (low, high float64) {
	if hits < 0 || hits > tries || !(confidence > 0 && confidence < 1) {
		return math.NaN(), math.NaN()
	}
	if tries == 0 {
		return 0, 1
	}
	low, high = ends((1 - confidence) / 2)
	if hits == 0 {
		low = 0
	}
	if hits == tries {
		high = 1
	}
	return low, high
}

// root finds where f, which is monotone on 0 to 1, changes its sign. Without a change it gives the end nearer to one.
func root(f func(float64) float64) float64 {
	low, high := 0.0, 1.0
	rises := f(high) > f(low)
	for range 60 {
		mid := (low + high) / 2
		if (f(mid) > 0) == rises {
			high = mid
		} else {
			low = mid
		}
	}
	return (low + high) / 2
}
