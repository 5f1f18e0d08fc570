package stats

import (
	"cmp"
	"math/bits"
	"slices"
)

// Pattern is some shots, or other occasions, that share the same set of remedies: bit k of Remedies is set when remedy k
// helps there.
type Pattern struct {
	Remedies uint64
	Times    float64
}

// Coverage is what sets of remedies are worth when an occasion is never helped twice: on each, the best of those chosen
// that help there counts, by its gain. There are at most 64 remedies. The value of a set is monotone and submodular
// (the facility location problem), so taking the best next one again and again comes within 1 − 1/e of the best set:
// Nemhauser, Wolsey and Fisher 1978, Mathematical Programming 14:265-294.
type Coverage struct {
	Gain     []float64 // of each remedy, on one occasion; below 0 counts as 0
	Patterns []Pattern
}

// Value gives what a set of remedies is worth.
func (c Coverage) Value(set uint64) float64 {
	value := 0.0
	for _, p := range c.Patterns {
		value += p.Times * c.best(p.Remedies&set)
	}
	return value
}

func (c Coverage) best(set uint64) float64 {
	best := 0.0
	for ; set != 0; set &= set - 1 {
		best = max(best, c.Gain[bits.TrailingZeros64(set)])
	}
	return best
}

// Adds gives what a remedy adds to a set.
func (c Coverage) Adds(remedy int, set uint64) float64 {
	added := 0.0
	for _, p := range c.Patterns {
		if p.Remedies&(1<<remedy) != 0 {
			added += p.Times * max(0, c.Gain[remedy]-c.best(p.Remedies&set))
		}
	}
	return added
}

// BestSet gives the most valuable set of so many remedies, by trying them all; of equal ones the one with the lowest
// remedies. It is for few remedies: it takes 2ᵏ valuations for k of them.
func (c Coverage) BestSet(size int) (set uint64, value float64) {
	value = -1
	for s := range uint64(1) << len(c.Gain) {
		if bits.OnesCount64(s) != size {
			continue
		}
		if v := c.Value(s); v > value+1e-12 {
			set, value = s, v
		}
	}
	return set, max(0, value)
}

// Shares gives each remedy's share of what all of them together are worth: the Shapley value, which is the average of
// what it adds over all orders. On one occasion it is the airport game, which has a closed form; shares add up to
// Value(all).
//
// Source: Littlechild and Owen 1973, Management Science 20:370-372.
func (c Coverage) Shares() []float64 {
	shares := make([]float64, len(c.Gain))
	for _, p := range c.Patterns {
		var here []int
		for set := p.Remedies; set != 0; set &= set - 1 {
			if k := bits.TrailingZeros64(set); k < len(c.Gain) {
				here = append(here, k)
			}
		}
		slices.SortStableFunc(here, func(a, b int) int { return cmp.Compare(c.Gain[a], c.Gain[b]) })
		share, last := 0.0, 0.0
		for i, k := range here {
			gain := max(0, c.Gain[k])
			share += (gain - last) / float64(len(here)-i)
			last = gain
			shares[k] += p.Times * share
		}
	}
	return shares
}
