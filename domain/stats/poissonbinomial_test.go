package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func moments(pmf []float64) (total, mean, variance float64) {
	for k, p := range pmf {
		total, mean = total+p, mean+float64(k)*p
	}
	for k, p := range pmf {
		variance += (float64(k) - mean) * (float64(k) - mean) * p
	}
	return total, mean, variance
}

func TestPoissonBinomialAgainstComputedValues(t *testing.T) {
	var want struct {
		Source    string
		Chances   []float64
		Hits      []int
		Mean      float64
		Variance  float64
		AtLeast   float64 `json:"at_least_observed"`
		MidTail   float64 `json:"mid_tail"`
		PMF       []float64
		Brier     float64
		LogLoss   float64 `json:"log_loss"`
		Tolerance float64
		Published []struct {
			Source       string
			Chances, PMF []float64
			Hits         []int
		}
		PublishedTolerance float64 `json:"published_tolerance"`
		Equal              struct {
			Chances, PMF []float64
			Tolerance    float64
		}
		Effect []struct{ Spread, Effect, Error float64 }
		Mixed  struct {
			EffectMean float64 `json:"effect_mean"`
			EffectSD   float64 `json:"effect_sd"`
			Mean       float64
			Variance   float64
			AtLeast7   float64 `json:"at_least_7"`
			Tolerance  float64
		}
	}
	published(t, "poissonbinomial.json", &want)
	pmf := PoissonBinomial(want.Chances)
	assert.InDeltaSlice(t, want.PMF, pmf, want.Tolerance, want.Source)
	require.Len(t, want.Published, 2)
	for _, c := range want.Published {
		got := PoissonBinomial(c.Chances)
		for i, hits := range c.Hits {
			assert.InDelta(t, c.PMF[i], got[hits], want.PublishedTolerance, c.Source)
		}
	}
	_, mean, variance := moments(pmf)
	assert.InDelta(t, want.Mean, mean, want.Tolerance)
	assert.InDelta(t, want.Variance, variance, want.Tolerance)
	hit, hits := make([]bool, len(want.Hits)), 0
	for i, h := range want.Hits {
		hit[i] = h == 1
		hits += h
	}
	assert.InDelta(t, want.MidTail, Tail(pmf, hits), want.Tolerance)
	assert.InDelta(t, want.AtLeast, Tail(pmf, hits)+pmf[hits]/2, want.Tolerance)
	assert.InDelta(t, want.Brier, Brier(want.Chances, hit), want.Tolerance)
	assert.InDelta(t, want.LogLoss, LogLoss(want.Chances, hit), want.Tolerance)
	assert.InDeltaSlice(t, want.Equal.PMF, PoissonBinomial(want.Equal.Chances), want.Equal.Tolerance)
	require.Len(t, want.Effect, 2)
	for _, e := range want.Effect {
		shift, se := Effect(want.Chances, hit, e.Spread)
		assert.InDelta(t, e.Effect, shift, want.Tolerance)
		assert.InDelta(t, e.Error, se, want.Tolerance)
	}
	mixed := MixedPoissonBinomial(want.Chances, want.Mixed.EffectMean, want.Mixed.EffectSD)
	_, mean, variance = moments(mixed)
	assert.InDelta(t, want.Mixed.Mean, mean, want.Mixed.Tolerance)
	assert.InDelta(t, want.Mixed.Variance, variance, want.Mixed.Tolerance)
	assert.InDelta(t, want.Mixed.AtLeast7, Tail(mixed, 7)+mixed[7]/2, want.Mixed.Tolerance)
}

func TestPoissonBinomialProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chances := rapid.SliceOfN(rapid.Float64Range(0, 1), 0, 60).Draw(t, "chances")
		total, mean, variance := moments(PoissonBinomial(chances))
		wantMean, wantVariance := 0.0, 0.0
		for _, p := range chances {
			wantMean, wantVariance = wantMean+p, wantVariance+p*(1-p)
		}
		if math.Abs(total-1) > 1e-12 || math.Abs(mean-wantMean) > 1e-9 || math.Abs(variance-wantVariance) > 1e-9 {
			t.Fatalf("%v %v %v", total, mean, variance)
		}
		mixed := MixedPoissonBinomial(chances, 0, rapid.Float64Range(0, 1).Draw(t, "sd"))
		if total, _, _ := moments(mixed); math.Abs(total-1) > 1e-10 || math.IsNaN(total) {
			t.Fatalf("mixed adds up to %v", total)
		}
		low, high := CountRange(mixed, 0.9)
		wideLow, wideHigh := CountRange(mixed, 0.99)
		if low > high || wideLow > low || wideHigh < high {
			t.Fatalf("%d..%d and %d..%d", low, high, wideLow, wideHigh)
		}
	})
}

func TestEffectProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		chances := rapid.SliceOfN(rapid.Float64Range(0.01, 0.99), 0, 60).Draw(t, "chances")
		hit, flipped, mirror := make([]bool, len(chances)), make([]bool, len(chances)), make([]float64, len(chances))
		for i := range hit {
			hit[i] = rapid.Bool().Draw(t, "hit")
			flipped[i], mirror[i] = !hit[i], 1-chances[i]
		}
		shift, se := Effect(chances, hit, 0.3)
		other, _ := Effect(mirror, flipped, 0.3)
		if math.Abs(shift+other) > 1e-9 || se > 0.3+1e-12 || math.IsNaN(shift) {
			t.Fatalf("%v %v %v", shift, other, se)
		}
		for i := range hit {
			if !hit[i] {
				hit[i] = true
				if better, _ := Effect(chances, hit, 0.3); better <= shift {
					t.Fatalf("one hit more makes it worse")
				}
				break
			}
		}
	})
	shift, se := Effect(nil, nil, 0.3)
	assert.InDelta(t, 0, shift, 0)
	assert.InDelta(t, 0.3, se, 1e-12, "nothing known: the prior")
}
