package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func drawMixture(t *rapid.T) Mixture {
	var m Mixture
	sum := 0.0
	for range rapid.IntRange(1, 5).Draw(t, "components") {
		c := Component{
			rapid.Float64Range(.05, 1).Draw(t, "weight"),
			rapid.Float64Range(.5, 200).Draw(t, "a"), rapid.Float64Range(.5, 200).Draw(t, "b"),
		}
		m, sum = append(m, c), sum+c.Weight
	}
	for i := range m {
		m[i].Weight /= sum
	}
	return m
}

func TestMixtureProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMixture(t)
		at := rapid.Float64Range(.02, .98).Draw(t, "t")
		below, short := m.Judge(at)
		want := 0.0
		for _, c := range m {
			want += c.Weight * Beta{c.A, c.B}.Shortfall(at)
		}
		if math.Abs(below-m.Below(at)) > 1e-12 || math.Abs(short-want) > 1e-9 {
			t.Fatalf("judged %v, %v; is %v, %v", below, short, m.Below(at), want)
		}
		u := rapid.Float64Range(.005, .995).Draw(t, "u")
		if q := m.Quantile(u); m.Below(q-1e-8) > u || m.Below(q+1e-8) < u {
			t.Fatalf("below the quantile of %v lies %v", u, m.Below(q))
		}
		near := m.Matched()
		if math.Abs(near.Mean()-m.Mean()) > 1e-12 || math.Abs(Mixture{{1, near.A, near.B}}.SD()-m.SD()) > 1e-9 {
			t.Fatalf("the matched one differs")
		}
		seen := Count{Tries: rapid.IntRange(0, 200).Draw(t, "tries")}
		seen.Hits = rapid.IntRange(0, seen.Tries).Draw(t, "hits")
		back := m.With(seen).Without(seen)
		for i := range m {
			if math.Abs(back[i].Weight-m[i].Weight) > 1e-9 || math.Abs(back[i].A-m[i].A) > 1e-9 {
				t.Fatalf("taking a count away does not undo it: %+v, %+v", m[i], back[i])
			}
		}
	})
}

func TestMixtureAtTheEdges(t *testing.T) {
	m := Mixture{{1, 2, 3}}
	below, short := m.Judge(0)
	assert.Equal(t, []float64{0, 0}, []float64{below, short})
	below, short = m.Judge(1)
	assert.InDelta(t, 1, below, 0)
	assert.InDelta(t, .6, short, 1e-12)
	assert.InDelta(t, 0, m.Quantile(0), 0)
	assert.InDelta(t, 1, m.Quantile(1), 0)
	low, high := Mixture{{.5, 1, 1}, {.5, 1, 1}}.Interval(.8)
	assert.InDelta(t, .1, low, 1e-9)
	assert.InDelta(t, .9, high, 1e-9)
	assert.InDelta(t, 1, Mixture{{1, 1, 1}}.Density(.3), 1e-12)
	assert.InDeltaSlice(t, []float64{.25, .25, .25, .25}, Mixture{{1, 1, 1}}.Cells(.6, 4), 1e-12)
	assert.InDeltaSlice(t, []float64{1.0 / 9, 3.0 / 9, 5.0 / 9}, Mixture{{.5, 2, 1}, {.5, 2, 1}}.Cells(1, 3), 1e-12)
}
