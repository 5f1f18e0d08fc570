package stats

import (
	"cmp"
	"slices"
)

// Atom is a value with its probability.
type Atom struct{ Value, Chance float64 }

// ChanceFirst gives, for independent quantities whose laws are lists of atoms, the probability that each is the
// greatest. Those that share the greatest value share its probability; where the greatest is not above 0 none is first.
// The result does not depend on the order of the laws but for rounding, and nothing is drawn at random.
func ChanceFirst(laws [][]Atom) []float64 {
	type placed struct {
		Atom
		law int
	}
	var all []placed
	for law, atoms := range laws {
		for _, a := range atoms {
			if a.Chance > 0 {
				all = append(all, placed{a, law})
			}
		}
	}
	slices.SortStableFunc(all, func(a, b placed) int { return cmp.Compare(a.Value, b.Value) })
	below := make([]float64, len(laws)) // P(a law's quantity is less than the value in hand)
	first := make([]float64, len(laws))
	here := make([]float64, len(laws)) // P(it is the value in hand)
	for i := 0; i < len(all); {
		value := all[i].Value
		clear(here)
		for ; i < len(all) && all[i].Value == value; i++ {
			here[all[i].law] += all[i].Chance
		}
		if value > 0 {
			shareFirst(here, below, first)
		}
		for law, chance := range here {
			below[law] += chance
		}
	}
	return first
}

// shareFirst adds to first what each law wins with one value: the probability that the greatest is this value, shared
// by how likely each takes it.
func shareFirst(here, below, first []float64) {
	upTo, under, some := 1.0, 1.0, 0.0 // P(all at most the value), P(all less), sum of chances to take it
	for law, b := range below {
		upTo *= b + here[law]
		under *= b
		some += here[law]
	}
	for law, chance := range here {
		first[law] += (upTo - under) * chance / some
	}
}
