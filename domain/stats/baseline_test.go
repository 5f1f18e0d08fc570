package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// With few tries the posterior over 41 points must agree with the optimum and curvature of the same posterior, up to
// the skewness that they leave out.
func TestBaselineAgainstTheOptimum(t *testing.T) {
	chances := []float64{.45, .38, .52, .29, .6, .34, .65, .42, .5, .38}
	events := []bool{false, false, true, false, false, false, true, false, false, true}
	b := NewBaseline(0, .3)
	for i, p := range chances {
		b.Learn(p, events[i])
	}
	mean, sd := b.Effect()
	shift, se := Effect(chances, events, .3)
	if math.Abs(mean-shift) > .003 || math.Abs(sd-se) > .003 {
		t.Fatalf("%v ± %v and %v ± %v", mean, sd, shift, se)
	}
}

func TestBaselineAgainstComputedValues(t *testing.T) {
	var table struct {
		Source string
		Cases  []struct {
			Chances       []float64
			Events        []int
			Times         int
			Mean, SD      float64
			Effect, Error float64
			ChanceAt      float64 `json:"chance_at"`
			Chance        float64
		}
		Tolerance float64
	}
	published(t, "baseline.json", &table)
	require.Len(t, table.Cases, 4)
	for _, c := range table.Cases {
		b := NewBaseline(c.Mean, c.SD)
		for range c.Times {
			for i, p := range c.Chances {
				b.Learn(p, c.Events[i] == 1)
			}
		}
		effect, se := b.Effect()
		assert.InDelta(t, c.Effect, effect, table.Tolerance, table.Source)
		assert.InDelta(t, c.Error, se, table.Tolerance, table.Source)
		assert.InDelta(t, c.Chance, b.Chance(c.ChanceAt), table.Tolerance, table.Source)
	}
}

func TestBaselineProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := NewBaseline(0, rapid.Float64Range(.01, 1).Draw(t, "sd"))
		for range rapid.IntRange(0, 400).Draw(t, "n") {
			p := rapid.Float64Range(0, 1).Draw(t, "p")
			event := rapid.Bool().Draw(t, "event")
			before := b.Chance(.5)
			b.Learn(p, event)
			after := b.Chance(.5)
			if math.IsNaN(after) || after <= 0 || after >= 1 || event && after < before-1e-9 || !event && after > before+1e-9 {
				t.Fatalf("%v then %v", before, after)
			}
		}
		if low, high := b.Chance(.3), b.Chance(.4); low >= high {
			t.Fatalf("%v is not below %v", low, high)
		}
	})
}
