package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestDiscoveryAgainstPublishedValues(t *testing.T) {
	var table struct {
		BenjaminiHochberg struct {
			Source       string
			Tolerance, Q float64
			P, Adjusted  []float64
			AdjustedBY   []float64 `json:"adjusted_by"`
			Rejected     int
		} `json:"benjamini_hochberg"`
		Bayes struct {
			Source  string
			Wrong   []float64
			Q       float64
			Flagged int
		}
		MidTail struct {
			Source    string
			Tolerance float64
			Cases     []struct {
				Hits, Tries int
				Target      float64
				SoFew       float64 `json:"so_few"`
				OrFewer     float64 `json:"so_few_or_fewer"`
			}
		} `json:"mid_tail"`
	}
	published(t, "discovery.json", &table)
	bh := table.BenjaminiHochberg
	adjusted := BenjaminiHochberg(bh.P)
	assert.InDeltaSlice(t, bh.Adjusted, adjusted, bh.Tolerance, bh.Source)
	assert.InDeltaSlice(t, bh.AdjustedBY, BenjaminiYekutieli(bh.P), bh.Tolerance, bh.Source)
	rejected := 0
	for _, p := range adjusted {
		if p <= bh.Q {
			rejected++
		}
	}
	assert.Equal(t, bh.Rejected, rejected, bh.Source)
	flagged := 0
	for i, is := range Discover(table.Bayes.Wrong, table.Bayes.Q) {
		if is {
			flagged++
		}
		assert.Equal(t, i < table.Bayes.Flagged, is)
	}
	assert.Equal(t, table.Bayes.Flagged, flagged, table.Bayes.Source)
	for _, c := range table.MidTail.Cases {
		assert.InDelta(t, c.SoFew, 1-MidTail(c.Hits, c.Tries, c.Target), table.MidTail.Tolerance, table.MidTail.Source)
		orFewer := 1 - BetaCDF(c.Target, float64(c.Hits+1), float64(c.Tries-c.Hits))
		assert.InDelta(t, c.OrFewer, orFewer, table.MidTail.Tolerance, table.MidTail.Source)
	}
}

func TestDiscoverAtTheEdges(t *testing.T) {
	assert.Empty(t, Discover(nil, .1))
	assert.Equal(t, []bool{false, true, false}, Discover([]float64{math.NaN(), .05, .4}, .1))
	assert.Equal(t, []bool{true, false, false}, Discover([]float64{0, .2, .2}, .1), "the tied would bring it to .133")
	assert.Equal(t, []bool{true, true, true}, Discover([]float64{0, .15, .15}, .1))
	assert.True(t, math.IsNaN(BenjaminiHochberg([]float64{math.NaN(), .5})[0]))
}

func TestDiscoverProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wrong := rapid.SliceOf(rapid.Float64Range(0, 1)).Draw(t, "wrong")
		q := rapid.Float64Range(.01, .5).Draw(t, "q")
		flags, sum, n, worst := Discover(wrong, q), 0.0, 0.0, 0.0
		for i, is := range flags {
			if is {
				sum, n, worst = sum+wrong[i], n+1, max(worst, wrong[i])
			}
		}
		if sum > q*n+1e-9 {
			t.Fatalf("%v of %v expected wrong", sum, n)
		}
		for i, is := range flags {
			if !is && n > 0 && wrong[i] <= worst {
				t.Fatalf("%v left out, %v in", wrong[i], worst)
			}
		}
		bh, by := BenjaminiHochberg(wrong), BenjaminiYekutieli(wrong)
		for i := range wrong {
			if bh[i] < wrong[i] || bh[i] > by[i]+1e-12 || by[i] > 1 {
				t.Fatalf("p %v, BH %v, BY %v", wrong[i], bh[i], by[i])
			}
		}
	})
}
