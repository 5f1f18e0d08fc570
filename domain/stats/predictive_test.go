package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestPredictiveAgainstComputedValues(t *testing.T) {
	var c struct {
		Source        string
		Tolerance     float64
		Prior         struct{ A, B float64 }
		Before, After Count
		Mean, SD      float64
		AtLeast       float64 `json:"at_least"`
		MidTail       float64 `json:"mid_tail"`
		Low, High     int
		LeastPlain    int `json:"least_plain"`
		LeastMid      int `json:"least_mid"`
		Regression    float64
		BayesFactor   float64 `json:"bayes_factor"`
		ChanceBetter  float64 `json:"chance_better"`
	}
	published(t, "predictive.json", &c)
	prior := Mixture{{1, c.Prior.A, c.Prior.B}}
	before, after := prior.With(c.Before), prior.With(c.After)
	p := before.Predict(c.After.Tries)
	assert.InDelta(t, c.Mean, p.Mean(), c.Tolerance, c.Source)
	assert.InDelta(t, c.SD, math.Sqrt(p.Variance()), c.Tolerance, c.Source)
	assert.InDelta(t, c.AtLeast, p.AtLeast(c.After.Hits), c.Tolerance, c.Source)
	assert.InDelta(t, c.MidTail, p.MidTail(c.After.Hits), c.Tolerance, c.Source)
	low, high := p.Range(.8)
	assert.Equal(t, []int{c.Low, c.High}, []int{low, high}, c.Source)
	least, ok := p.Least(.1, true)
	assert.True(t, ok)
	assert.Equal(t, c.LeastPlain, least, c.Source)
	least, ok = p.Least(.1, false)
	assert.True(t, ok)
	assert.Equal(t, c.LeastMid, least, c.Source)
	raw := float64(c.Before.Hits) / float64(c.Before.Tries)
	assert.InDelta(t, c.Regression, before.Mean()-raw, c.Tolerance, c.Source)
	assert.InDelta(t, c.ChanceBetter, after.Exceeds(before, 0), c.Tolerance, c.Source)
	// The Bayes factor of a change compares the later count under the prior with what the earlier one predicts.
	k := c.After.Hits
	assert.InDelta(t, c.BayesFactor, prior.Predict(c.After.Tries)[k]/p[k], c.Tolerance, c.Source)
}

func TestPredictionsAgainstAPublishedFit(t *testing.T) {
	var c struct {
		Source    string
		A, B      float64
		Tries     int
		Families  float64
		Expected  []float64
		Tolerance float64
	}
	published(t, "families.json", &c)
	require.Len(t, c.Expected, c.Tries+1)
	for k, chance := range (Beta{c.A, c.B}.Predict(c.Tries)) {
		assert.InDelta(t, c.Expected[k], c.Families*chance, c.Tolerance, "%d boys, %s", k, c.Source)
	}
}

func TestPreposteriorAgainstComputedValues(t *testing.T) {
	var table struct {
		Source                  string
		Tolerance, Target, Sure float64
		Cases                   []struct {
			A, B       float64
			M          int
			Below, Met float64
		}
	}
	published(t, "preposterior.json", &table)
	require.Len(t, table.Cases, 8)
	for _, c := range table.Cases {
		below, met := Beta{c.A, c.B}.Decided(c.M, table.Target, table.Sure)
		assert.InDelta(t, c.Below, below, table.Tolerance, "%+v %s", c, table.Source)
		assert.InDelta(t, c.Met, met, table.Tolerance, "%+v %s", c, table.Source)
	}
}

func TestPredictiveAtTheEdges(t *testing.T) {
	p := Beta{2, 3}.Predict(0)
	assert.Equal(t, Predictive{1}, p)
	_, ok := p.Least(.1, true)
	assert.False(t, ok, "no tries can show nothing")
	assert.InDelta(t, 1, p.AtLeast(0), 0)
	assert.InDelta(t, 0, p.AtLeast(1), 0)
	_, ok = Beta{9, 1}.Predict(3).Least(.1, false)
	assert.False(t, ok, "even three of three is no wonder at .9")
}

func TestPredictiveProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Beta{rapid.Float64Range(.01, 300).Draw(t, "a"), rapid.Float64Range(.01, 300).Draw(t, "b")}
		n := rapid.IntRange(1, 300).Draw(t, "n")
		p, sum := d.Predict(n), 0.0
		for _, chance := range p {
			if !(chance >= 0) {
				t.Fatalf("a chance of %v", chance)
			}
			sum += chance
		}
		mean, size := d.Mean(), d.A+d.B
		v := float64(n) * mean * (1 - mean) * (size + float64(n)) / (size + 1)
		if math.Abs(sum-1) > 1e-9 || math.Abs(p.Mean()-float64(n)*mean) > 1e-7 || math.Abs(p.Variance()-v) > 1e-6*(1+v) {
			t.Fatalf("sum %v, mean %v, variance %v", sum, p.Mean(), p.Variance())
		}
		level := rapid.Float64Range(.01, .5).Draw(t, "level")
		if least, ok := p.Least(level, true); ok && (p.AtLeast(least) > level+1e-12 || p.AtLeast(least-1) <= level) {
			t.Fatalf("%d is not the least", least)
		}
		if least, ok := p.Least(level, false); ok && (p.MidTail(least) > level+1e-12 || p.MidTail(least-1) <= level) {
			t.Fatalf("%d is not the least by mid-P", least)
		}
	})
}

func TestASureRateGivesABinomial(t *testing.T) {
	p := Beta{3e9, 7e9}.Predict(5)
	for k, want := range []float64{.16807, .36015, .3087, .1323, .02835, .00243} {
		assert.InDelta(t, want, p[k], 1e-6, "binomial(5, .3), by hand")
	}
}

func TestSplitHalves(t *testing.T) {
	var table struct {
		Halves struct {
			Source                 string
			A, B                   float64
			Tries                  int
			Correlation, Tolerance float64
		}
	}
	published(t, "reliability.json", &table)
	h := table.Halves
	prior := Mixture{{1, h.A, h.B}}
	first, product := prior.Predict(h.Tries), 0.0
	for k, chance := range first {
		product += chance * float64(k) * prior.With(Count{k, h.Tries}).Predict(h.Tries).Mean()
	}
	assert.InDelta(t, h.Correlation, (product-first.Mean()*first.Mean())/first.Variance(), h.Tolerance, h.Source)
}

// Hits for misses: what is likely of one is as likely of the other.
func TestPredictionsAreSymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Beta{rapid.Float64Range(.05, 80).Draw(t, "a"), rapid.Float64Range(.05, 80).Draw(t, "b")}
		mirror := Beta{d.B, d.A}
		n := rapid.IntRange(0, 120).Draw(t, "n")
		p, q := d.Predict(n), mirror.Predict(n)
		for k := range p {
			if math.Abs(p[k]-q[n-k]) > 1e-12 {
				t.Fatalf("%d of %d: %v and %v", k, n, p[k], q[n-k])
			}
			if k > 0 && p.AtLeast(k) > p.AtLeast(k-1)+1e-15 {
				t.Fatalf("more hits are likelier")
			}
		}
		target := rapid.Float64Range(.05, .95).Draw(t, "target")
		below, met := d.Decided(n, target, .9)
		otherMet, otherBelow := mirror.Decided(n, 1-target, .9)
		// A verdict that lies on its bound to rounding may fall to either side of it.
		if below+met < -1e-12 || below+met > 1+1e-9 {
			t.Fatalf("decided with %v and %v", below, met)
		}
		if !onTheBound(d, n, target) && math.Abs(below-otherBelow)+math.Abs(met-otherMet) > 1e-9 {
			t.Fatalf("%v, %v and mirrored %v, %v", below, met, otherBelow, otherMet)
		}
	})
}

func onTheBound(d Beta, n int, target float64) bool {
	for k := range n + 1 {
		p := BetaCDF(target, d.A+float64(k), d.B+float64(n-k))
		if math.Abs(p-.9) < 1e-9 || math.Abs(p-.1) < 1e-9 {
			return true
		}
	}
	return false
}

func TestSums(t *testing.T) {
	sum := Predictive{.5, .5}.Plus(Predictive{.5, .5})
	assert.InDeltaSlice(t, []float64{.25, .5, .25}, []float64(sum), 1e-15)
}
