package stats

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// edges are the counts at which a share is 0/0, none or all.
var edges = []Count{{0, 0}, {0, 1}, {1, 1}, {0, 7}, {7, 7}, {0, 400}, {400, 400}, {0, 5000}, {5000, 5000}}

// inside asserts that chances and rates are numbers from 0 to 1.
func inside(t *testing.T, what string, c Count, values ...float64) {
	t.Helper()
	for i, v := range values {
		assert.True(t, v >= 0 && v <= 1, "%s at %v: value %d is %v", what, c, i, v)
	}
}

func pair(a, b float64) []float64 { return []float64{a, b} }

func TestNothingIsLostAtTheEdges(t *testing.T) {
	t.Parallel()
	for _, c := range edges {
		inside(t, "Wilson", c, pair(Wilson(c.Hits, c.Tries, .95))...)
		for name, interval := range intervals {
			inside(t, name, c, pair(interval(c.Hits, c.Tries, .95))...)
		}
		inside(t, "MidTail", c, MidTail(c.Hits, c.Tries, .5))
		d := Jeffreys(c.Hits, c.Tries)
		inside(t, "Jeffreys", c, d.Mean(), d.Below(.5), d.Shortfall(.5), d.Exceeds(Beta{11, 9}, 0), Beta{11, 9}.Exceeds(d, 0))
		inside(t, "Decided", c, pair(d.Decided(20, .5, .9))...)
		for name, m := range map[string]Mixture{
			"one beta": Mixture{{1, 11, 9}}.With(c), "Jeffreys as a mixture": {{1, d.A, d.B}},
			"alone": NewPeers(DefaultSpread(), []Group{{[]Count{c}, MeanPrior{11, 9}}}).Posterior(0, 0),
			"among peers": NewPeers(DefaultSpread(), []Group{
				{[]Count{c, {22, 36}, {9, 21}}, MeanPrior{11, 9}}, {[]Count{{3, 9}, {0, 0}, c}, MeanPrior{1, 1}},
			}).Posterior(0, 0),
			"all alike": NewPeers(DefaultSpread(), []Group{{[]Count{c, c, c}, MeanPrior{11, 9}}}).Posterior(0, 0),
			"one spread for all": NewPeers(SpreadModel{DefaultSpread().M, DefaultSpread().LogPrior, 0}, []Group{
				{[]Count{c, c}, MeanPrior{11, 9}}, {[]Count{{3, 9}}, MeanPrior{1, 1}},
			}).Posterior(0, 0),
			"grid": NewPeerGrid([]Count{c, {22, 36}}, MeanPrior{11, 9}, DefaultN0, 8).Posterior(0),
		} {
			below, short := m.Judge(.5)
			inside(t, name, c, m.Mean(), m.SD(), m.Below(.5), below, short)
			inside(t, name, c, pair(m.Interval(.8))...)
			inside(t, name+", before and after", c, m.Exceeds(Mixture{{1, 11, 9}}, 0), Mixture{{1, 11, 9}}.Exceeds(m, 0))
			inside(t, name+", what comes next", c, m.Predict(24)...)
			inside(t, name+", cells", c, m.Cells(1, 50)...)
		}
		p := NewPeers(DefaultSpread(), []Group{{[]Count{c, {22, 36}}, MeanPrior{1, 1}}})
		inside(t, "peers", c, p.Reliability(0, c.Tries), p.Mean(0))
		inside(t, "spread", c, p.Spread(0)...)
	}
}

func TestWeeksAndGamesAtTheEdges(t *testing.T) {
	t.Parallel()
	for _, c := range edges {
		hits, tries := []int{c.Hits, 0, c.Hits, c.Hits, c.Hits, c.Hits}, []int{c.Tries, 0, c.Tries, c.Tries, c.Tries, c.Tries}
		phi, worth, _ := Clustering(hits, tries)
		assert.False(t, math.IsNaN(phi) || math.IsNaN(worth), "%v", c)
		form := CurrentForm(hits, tries, Beta{11, 9}, 4)
		inside(t, "CurrentForm", c, form.Mean(), form.Below(.5))
		change, ok := FindChange(hits, tries, Beta{11, 9}, .2)
		assert.Equal(t, c.Tries > 0, ok, "%v", c)
		if ok {
			inside(t, "FindChange", c, append(change.Weights, change.Chance, change.Current)...)
		}
	}
}

func TestTriesAtTheEdges(t *testing.T) {
	t.Parallel()
	for n := range 3 {
		for _, hit := range []bool{false, true} {
			for _, p := range []float64{0, 1e-9, .5, 1 - 1e-9, 1} {
				name, chances, hits := fmt.Sprintf("%d tries at %v, hit %v", n, p, hit), make([]float64, n), make([]bool, n)
				baseline := NewBaseline(0, .3)
				for i := range n {
					chances[i], hits[i] = p, hit
					inside(t, name, Count{}, baseline.Learn(p, hit))
				}
				mean, sd := baseline.Effect()
				shift, se := Effect(chances, hits, .3)
				assert.False(t, math.IsNaN(mean) || math.IsNaN(sd) || math.IsNaN(shift) || math.IsNaN(se), name)
				inside(t, name, Count{}, baseline.Chance(p))
				inside(t, name, Count{}, PoissonBinomial(chances)...)
				inside(t, name, Count{}, MixedPoissonBinomial(chances, 0, .3)...)
				if n > 0 {
					assert.False(t, math.IsNaN(LogLoss(chances, hits)) || math.IsInf(LogLoss(chances, hits), 0), name)
					inside(t, name, Count{}, Brier(chances, hits), CalibrationTable(chances, hits, 10)[0].Rate)
				}
			}
		}
	}
}
