package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestBetaAgainstComputedValues(t *testing.T) {
	var table struct {
		Source    string
		Tolerance float64
		Cases     []struct{ A, B, T, Below, Shortfall float64 }
	}
	published(t, "beta.json", &table)
	assert.Len(t, table.Cases, 3)
	for _, c := range table.Cases {
		d := Beta{c.A, c.B}
		assert.InDelta(t, c.Below, d.Below(c.T), table.Tolerance, table.Source)
		assert.InDelta(t, c.Shortfall, d.Shortfall(c.T), table.Tolerance, table.Source)
	}
}

func TestBetaAtTheEdges(t *testing.T) {
	assert.Zero(t, BetaCDF(-1, 2, 3))
	assert.Zero(t, BetaCDF(0, 2, 3))
	assert.InDelta(t, 1, BetaCDF(1, 2, 3), 0)
	assert.InDelta(t, 1, BetaCDF(7, 2, 3), 0)
	assert.True(t, math.IsNaN(BetaCDF(.5, 0, 3)))
	assert.True(t, math.IsNaN(BetaCDF(.5, 3, -1)))
	assert.True(t, math.IsNaN(BetaCDF(math.NaN(), 3, 1)))
	assert.Equal(t, Beta{0.5, 0.5}, Jeffreys(0, 0))
	assert.Equal(t, Beta{9.5, 22.5}, Jeffreys(9, 31))
}

func TestBetaProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tries := rapid.IntRange(0, 500).Draw(t, "tries")
		hits := rapid.IntRange(0, tries).Draw(t, "hits")
		at := rapid.Float64Range(0.01, 0.99).Draw(t, "t")
		d, mirror := Jeffreys(hits, tries), Jeffreys(tries-hits, tries)
		below, short := d.Below(at), d.Shortfall(at)
		if below < 0 || below > 1 || math.Abs(below+mirror.Below(1-at)-1) > 1e-9 {
			t.Fatalf("below %v is not symmetric", below)
		}
		if higher := d.Below(min(1, at+0.01)); higher < below-1e-12 {
			t.Fatalf("falls with t")
		}
		if hits < tries && Jeffreys(hits+1, tries).Below(at) > below+1e-12 {
			t.Fatalf("rises with the hits")
		}
		// E[(t-p)+] - E[(p-t)+] = t - E[p], and (p-t)+ is the mirror's shortfall of 1-t.
		if math.Abs(short-mirror.Shortfall(1-at)-(at-d.Mean())) > 1e-9 || short > at*below+1e-12 {
			t.Fatalf("shortfall %v", short)
		}
	})
}
