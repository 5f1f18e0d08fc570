package invented

import "math/rand/v2"

// dice draws.
type dice struct{ *rand.Rand }

func (d dice) chance(p float64) bool { return d.Float64() < p }

func (d dice) between(lo, hi float64) float64 { return lo + (hi-lo)*d.Float64() }

// about draws a whole number round a mean, from 4/5 to 6/5 of it.
func (d dice) about(mean int) int { return mean - mean/5 + d.IntN(2*(mean/5)+1) }

// share is a value and how often it is drawn, against the others.
type share[T any] struct {
	value T
	of    float64
}

// pick draws one of the values.
func pick[T any](d dice, shares []share[T]) T {
	total := 0.0
	for _, s := range shares {
		total += s.of
	}
	at := d.between(0, total)
	for _, s := range shares {
		if at < s.of {
			return s.value
		}
		at -= s.of
	}
	return shares[len(shares)-1].value
}
