package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestCoverageAgainstPublishedValues(t *testing.T) {
	var table struct {
		Airport []struct {
			Source        string
			Tolerance     float64
			Costs, Shares []float64
		}
		Overlap struct {
			Source                      string
			Tolerance, Games, Together  float64
			Gain, Alone, Greedy, Shares []float64
			Patterns                    []Pattern
		}
	}
	published(t, "coverage.json", &table)
	require.Len(t, table.Airport, 2)
	for _, c := range table.Airport {
		all := uint64(1)<<len(c.Costs) - 1
		assert.InDeltaSlice(t, c.Shares, Coverage{c.Costs, []Pattern{{all, 1}}}.Shares(), c.Tolerance, c.Source)
	}
	o := table.Overlap
	c := Coverage{o.Gain, o.Patterns}
	set := uint64(0)
	for k := range o.Gain {
		assert.InDelta(t, o.Alone[k], c.Adds(k, 0)/o.Games, o.Tolerance, o.Source)
		assert.InDelta(t, o.Greedy[k], c.Adds(k, set)/o.Games, o.Tolerance, o.Source)
		set |= 1 << k
		assert.InDelta(t, o.Shares[k], c.Shares()[k]/o.Games, o.Tolerance, o.Source)
	}
	assert.InDelta(t, o.Together, c.Value(set)/o.Games, o.Tolerance, o.Source)
	best, value := c.BestSet(2)
	assert.Equal(t, uint64(3), best)
	assert.InDelta(t, o.Greedy[0]+o.Greedy[1], value/o.Games, o.Tolerance)
}

// averaged gives the Shapley value by going through all orders.
func averaged(c Coverage) []float64 {
	out, orders := make([]float64, len(c.Gain)), 0.0
	var visit func(set uint64, so []float64)
	visit = func(set uint64, so []float64) {
		if set == 1<<len(c.Gain)-1 {
			orders++
			for k, v := range so {
				out[k] += v
			}
			return
		}
		for k := range c.Gain {
			if set&(1<<k) == 0 {
				next := append([]float64{}, so...)
				next[k] = c.Value(set|1<<k) - c.Value(set)
				visit(set|1<<k, next)
			}
		}
	}
	visit(0, make([]float64, len(c.Gain)))
	for k := range out {
		out[k] /= orders
	}
	return out
}

func TestCoverageProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(1, 5).Draw(t, "remedies")
		c := Coverage{Gain: rapid.SliceOfN(rapid.Float64Range(-.1, 1), k, k).Draw(t, "gain")}
		for range rapid.IntRange(0, 6).Draw(t, "patterns") {
			c.Patterns = append(c.Patterns, Pattern{
				rapid.Uint64Range(0, 1<<k-1).Draw(t, "remedies"), float64(rapid.IntRange(1, 9).Draw(t, "times")),
			})
		}
		sum, alone, all := 0.0, 0.0, uint64(1)<<k-1
		for i, share := range c.Shares() {
			if math.Abs(share-averaged(c)[i]) > 1e-9 {
				t.Fatalf("share %v, average over orders %v", share, averaged(c)[i])
			}
			sum, alone = sum+share, alone+c.Adds(i, 0)
		}
		if math.Abs(sum-c.Value(all)) > 1e-9 || alone < c.Value(all)-1e-9 {
			t.Fatalf("shares %v, alone %v, together %v", sum, alone, c.Value(all))
		}
		set := uint64(0)
		for size := 1; size <= k; size++ {
			next, most := 0, -1.0
			for i := range k {
				if added := c.Adds(i, set); set&(1<<i) == 0 && added > most {
					next, most = i, added
				}
			}
			if math.Abs(c.Value(set|1<<next)-c.Value(set)-most) > 1e-9 {
				t.Fatalf("adds %v", most)
			}
			set |= 1 << next
			if _, best := c.BestSet(size); c.Value(set) < (1-1/math.E)*best-1e-9 || c.Value(set) > best+1e-9 {
				t.Fatalf("greedy %v, best %v", c.Value(set), best)
			}
		}
	})
}

func TestChanceFirstAgainstPublishedDice(t *testing.T) {
	var table struct {
		Source            string
		Dice              [][]float64
		Chance, Tolerance float64
		All               struct {
			Source    string
			Chances   []float64
			Tolerance float64
		}
	}
	published(t, "first.json", &table)
	require.Len(t, table.Dice, 4)
	laws := make([][]Atom, len(table.Dice))
	for d, faces := range table.Dice {
		for _, face := range faces {
			laws[d] = append(laws[d], Atom{face, 1 / float64(len(faces))})
		}
	}
	for d := range laws {
		next := (d + 1) % len(laws)
		got := ChanceFirst([][]Atom{laws[d], laws[next]})
		assert.InDeltaSlice(t, []float64{table.Chance, 1 - table.Chance}, got, table.Tolerance, table.Source)
	}
	assert.InDeltaSlice(t, table.All.Chances, ChanceFirst(laws), table.All.Tolerance, table.All.Source)
}

func TestChanceFirst(t *testing.T) {
	coin := []Atom{{1, .5}, {3, .5}}
	assert.InDeltaSlice(t, []float64{.25, .75}, ChanceFirst([][]Atom{{{2, .5}, {0, .5}}, coin}), 1e-12,
		"the first wins where it is 2 and the other 1")
	assert.InDeltaSlice(t, []float64{.5, .5}, ChanceFirst([][]Atom{coin, coin}), 1e-12, "alike: shared")
	assert.InDeltaSlice(t, []float64{.3, 0}, ChanceFirst([][]Atom{{{0, .7}, {1, .3}}, {{0, 1}}}), 1e-12,
		"nothing to gain is not first")
	assert.Empty(t, ChanceFirst(nil))
	rapid.Check(t, func(t *rapid.T) {
		var laws [][]Atom
		for range rapid.IntRange(1, 5).Draw(t, "laws") {
			var law []Atom
			n := rapid.IntRange(1, 6).Draw(t, "atoms")
			for range n {
				law = append(law, Atom{float64(rapid.IntRange(0, 8).Draw(t, "value")), 1 / float64(n)})
			}
			laws = append(laws, law)
		}
		nothing, sum := 1.0, 0.0
		for _, law := range laws {
			zero := 0.0
			for _, a := range law {
				if a.Value == 0 {
					zero += a.Chance
				}
			}
			nothing *= zero
		}
		for _, chance := range ChanceFirst(laws) {
			sum += chance
		}
		if math.Abs(sum+nothing-1) > 1e-9 {
			t.Fatalf("some is first %v, none %v", sum, nothing)
		}
	})
}
