package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestNewcombeDifferenceAgainstPublishedValues(t *testing.T) {
	var tables []struct {
		Source                string
		Confidence, Tolerance float64
		Cases                 []struct {
			Hits1, Tries1, Hits2, Tries2 int
			Low, High                    float64
		}
	}
	published(t, "difference.json", &tables)
	require.Len(t, tables, 2)
	for _, table := range tables {
		for _, c := range table.Cases {
			low, high := NewcombeDifference(c.Hits1, c.Tries1, c.Hits2, c.Tries2, table.Confidence)
			assert.InDelta(t, c.Low, low, table.Tolerance, "%+v %s", c, table.Source)
			assert.InDelta(t, c.High, high, table.Tolerance, "%+v %s", c, table.Source)
		}
	}
	low, high := NewcombeDifference(0, 0, 1, 2, .95)
	assert.True(t, math.IsNaN(low) && math.IsNaN(high))
}

func TestExceedsAgainstPublishedValues(t *testing.T) {
	var tables []struct {
		Source    string
		Tolerance float64
		Cases     []struct{ A1, B1, A2, B2, Delta, Chance float64 }
	}
	published(t, "exceeds.json", &tables)
	require.Len(t, tables, 5)
	for _, table := range tables {
		for _, c := range table.Cases {
			got := Beta{c.A1, c.B1}.Exceeds(Beta{c.A2, c.B2}, c.Delta)
			assert.InDelta(t, c.Chance, got, table.Tolerance, "%+v %s", c, table.Source)
		}
	}
}

func TestTailsFarOut(t *testing.T) {
	var table struct {
		Source    string
		Tolerance float64
		Cases     []struct{ A, B, T, Below float64 }
	}
	published(t, "tail.json", &table)
	require.Len(t, table.Cases, 2)
	for _, c := range table.Cases {
		assert.InEpsilon(t, c.Below, BetaCDF(c.T, c.A, c.B), table.Tolerance, table.Source)
	}
}

func TestDifferenceProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n1, n2 := rapid.IntRange(1, 400).Draw(t, "n1"), rapid.IntRange(1, 400).Draw(t, "n2")
		x1, x2 := rapid.IntRange(0, n1).Draw(t, "x1"), rapid.IntRange(0, n2).Draw(t, "x2")
		low, high := NewcombeDifference(x1, n1, x2, n2, .9)
		back, forth := NewcombeDifference(x2, n2, x1, n1, .9)
		if math.Abs(low+forth) > 1e-12 || math.Abs(high+back) > 1e-12 || low < -1 || high > 1 || low > high {
			t.Fatalf("%v to %v", low, high)
		}
		p, q := Jeffreys(x1, n1), Jeffreys(x2, n2)
		over := p.Exceeds(q, 0)
		if math.Abs(over+q.Exceeds(p, 0)-1) > 1e-9 || over < 0 || over > 1 {
			t.Fatalf("%v and its opposite do not add up to 1", over)
		}
		if margin := rapid.Float64Range(0, .5).Draw(t, "margin"); p.Exceeds(q, margin) > over+1e-9 {
			t.Fatalf("a margin makes it likelier")
		}
	})
}

func TestExceedsWithASteepEnd(t *testing.T) {
	p, q := Beta{.1, 5}, Beta{2, 30}
	assert.InDelta(t, 1, p.Exceeds(q, 0)+q.Exceeds(p, 0), 1e-3)
	assert.True(t, math.IsNaN(Beta{0, 1}.Exceeds(q, 0)))
}

func TestAMixtureExceedsAsItsComponentsDo(t *testing.T) {
	m := Mixture{{.2, 10.5, 12}, {.5, 31, 30}, {.3, 200, 180}}
	other := Mixture{{.6, 25, 30}, {.4, 300, 320}}
	want := 0.0
	for _, c := range m {
		for _, d := range other {
			want += c.Weight * d.Weight * Beta{c.A, c.B}.Exceeds(Beta{d.A, d.B}, .02)
		}
	}
	assert.InDelta(t, want, m.Exceeds(other, .02), 1e-8)
}
