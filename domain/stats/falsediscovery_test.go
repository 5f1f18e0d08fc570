package stats

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func count(picked []bool) int {
	n := 0
	for _, p := range picked {
		if p {
			n++
		}
	}
	return n
}

func TestDiscoveriesAgainstPublishedValues(t *testing.T) {
	var table struct {
		BenjaminiHochberg struct {
			Source string
			P      []float64
			Q      float64
			Picked int
		} `json:"benjamini_hochberg"`
		Expected struct {
			Source string
			Wrong  []float64
			Q      float64
			Picked int
		}
		MidP struct {
			Source    string
			Tolerance float64
			Cases     []struct {
				Hits, Tries int
				Rate        float64
				MidP        float64 `json:"mid_p"`
			}
		} `json:"mid_p"`
	}
	published(t, "discovery.json", &table)
	bh, expected := table.BenjaminiHochberg, table.Expected
	assert.Equal(t, bh.Picked, count(BenjaminiHochberg(bh.P, bh.Q)), bh.Source)
	assert.Equal(t, expected.Picked, count(ExpectedDiscoveries(expected.Wrong, expected.Q)), expected.Source)
	assert.Len(t, table.MidP.Cases, 3)
	for _, c := range table.MidP.Cases {
		assert.InDelta(t, c.MidP, MidP(c.Hits, c.Tries, c.Rate), table.MidP.Tolerance, table.MidP.Source)
	}
}

func TestDiscoveriesAtTheEdges(t *testing.T) {
	assert.Empty(t, ExpectedDiscoveries(nil, .1))
	assert.Empty(t, BenjaminiHochberg(nil, .1))
	assert.Equal(t, []bool{true}, ExpectedDiscoveries([]float64{.1}, .1), "a bound belongs to what is picked")
	assert.Equal(t, []bool{false, true, false}, ExpectedDiscoveries([]float64{.15, 0, .15}, .075), "equals go together")
	assert.Equal(t, []bool{true, true}, BenjaminiHochberg([]float64{.1, .1}, .1), "the second bound holds for both")
	assert.InDelta(t, .5, MidP(0, 0, .3), 0)
	assert.InDelta(t, .125, MidP(0, 2, .5), 1e-15)
	assert.InDelta(t, 1-.25*.25*.25/2, MidP(3, 3, .25), 1e-15)
}

// Whatever the claims: none is picked that is less probable than one that is not, the order does not matter, and a
// larger share never picks fewer.
func TestDiscoveriesProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(0, 1), 0, 30).Draw(t, "values")
		q := rapid.Float64Range(0, .5).Draw(t, "q")
		for _, pick := range []func([]float64, float64) []bool{ExpectedDiscoveries, BenjaminiHochberg} {
			picked := pick(values, q)
			sum := 0.0
			for i, in := range picked {
				if in {
					sum += values[i]
				}
				for j, other := range picked {
					if in && !other && values[j] <= values[i] {
						t.Fatalf("%v is picked and %v is not", values[i], values[j])
					}
				}
			}
			if mean := sum / float64(max(1, count(picked))); mean > q+1e-12 {
				t.Fatalf("the picked average %v", mean)
			}
			if count(pick(values, q+.1)) < count(picked) {
				t.Fatal("a larger share picks fewer")
			}
			shuffled := slices.Clone(values)
			rand.New(rand.NewPCG(1, 2)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
			if count(pick(shuffled, q)) != count(picked) {
				t.Fatal("the order matters")
			}
		}
	})
}
