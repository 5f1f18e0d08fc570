package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestChangePointAgainstComputedValues(t *testing.T) {
	var want struct {
		Source    string
		Tolerance float64
		Cases     []struct {
			Hits, Tries []int
			A, B, Prior float64
			BayesFactor float64 `json:"bayes_factor"`
			Chance      float64
			Weights     []float64
			After       int
			Current     float64
		}
		Discounted struct {
			Hits, Tries []int
			A0, B0      float64
			HalfLife    float64 `json:"half_life"`
			A, B        float64
			Tolerance   float64
		}
	}
	published(t, "changepoint.json", &want)
	require.Len(t, want.Cases, 3)
	for _, c := range want.Cases {
		got, ok := FindChange(c.Hits, c.Tries, Beta{c.A, c.B}, c.Prior)
		require.True(t, ok)
		assert.InDelta(t, c.BayesFactor, got.BayesFactor, want.Tolerance, want.Source)
		assert.InDelta(t, c.Chance, got.Chance, want.Tolerance)
		assert.InDeltaSlice(t, c.Weights, got.Weights, want.Tolerance)
		assert.Equal(t, c.After, got.After)
		assert.InDelta(t, c.Current, got.Current, want.Tolerance)
	}
	d := want.Discounted
	form := CurrentForm(d.Hits, d.Tries, Beta{d.A0, d.B0}, d.HalfLife)
	assert.InDelta(t, d.A, form.A, d.Tolerance)
	assert.InDelta(t, d.B, form.B, d.Tolerance)
}

func TestWeeksWithoutTriesArePassedOver(t *testing.T) {
	prior := Beta{11, 9}
	full, ok := FindChange([]int{7, 6, 1, 1}, []int{9, 9, 9, 9}, prior, .2)
	require.True(t, ok)
	gaps, ok := FindChange([]int{0, 7, 6, 0, 1, 1}, []int{0, 9, 9, 0, 9, 9}, prior, .2)
	require.True(t, ok)
	assert.InDelta(t, full.Chance, gaps.Chance, 1e-12)
	assert.Equal(t, 2, full.After)
	assert.Equal(t, 3, gaps.After, "the third of all weeks")
	_, ok = FindChange([]int{1, 0, 1, 1}, []int{9, 0, 9, 9}, prior, .2)
	assert.False(t, ok, "three weeks with tries")
}

func TestChangePointProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weeks := rapid.IntRange(LeastWeeks, 20).Draw(t, "weeks")
		hits, tries, misses := make([]int, weeks), make([]int, weeks), make([]int, weeks)
		for i := range weeks {
			tries[i] = rapid.IntRange(1, 200).Draw(t, "tries")
			hits[i] = rapid.IntRange(0, tries[i]).Draw(t, "hits")
			misses[i] = tries[i] - hits[i]
		}
		c, _ := FindChange(hits, tries, Beta{11, 9}, .2)
		mirror, _ := FindChange(misses, tries, Beta{9, 11}, .2)
		if math.IsNaN(c.Chance) || c.Chance < 0 || c.Chance > 1 || math.Abs(c.Chance-mirror.Chance) > 1e-7 || math.Abs(c.Current+mirror.Current-1) > 1e-7 {
			t.Fatalf("%+v %+v", c, mirror)
		}
		if math.Abs(sum(c.Weights)-1) > 1e-12 || c.Current <= 0 || c.Current >= 1 {
			t.Fatalf("%+v", c)
		}
	})
}
