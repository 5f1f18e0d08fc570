package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shapes are the two of a beta distribution with what is known of it.
type shapes struct {
	Source             string
	A, B, Mean, SD     float64
	Tolerance          float64
	Points             int
	LogM               []float64 `json:"log_m"`
	Published          struct{ A, B float64 }
	PublishedTolerance float64 `json:"published_tolerance"`
}

func TestRatTumoursAgainstPublishedValues(t *testing.T) {
	t.Parallel()
	var rats struct {
		Hits, Tries        []int
		Moments, Posterior shapes
		Likeliest          shapes
		FullBayes          shapes `json:"full_bayes"`
	}
	published(t, "rats.json", &rats)
	require.Len(t, rats.Hits, 71)
	m := rats.Moments
	fitted := matched(m.Mean, m.SD)
	assert.InDelta(t, m.A, fitted.A, m.Tolerance, m.Source)
	assert.InDelta(t, m.B, fitted.B, m.Tolerance, m.Source)
	last := Count{rats.Hits[70], rats.Tries[70]}
	for _, want := range []shapes{rats.Posterior, rats.Likeliest} {
		got := Mixture{{1, want.A, want.B}}.With(last)
		assert.InDelta(t, want.Mean, got.Mean(), want.Tolerance, want.Source)
		assert.InDelta(t, want.SD, got.SD(), want.Tolerance, want.Source)
	}
	a, b := shapesOf(rats.FullBayes, rats.Hits, rats.Tries)
	f := rats.FullBayes
	assert.InDelta(t, f.Published.A, a, f.PublishedTolerance, f.Source)
	assert.InDelta(t, f.Published.B, b, f.PublishedTolerance, f.Source)
	assert.InDelta(t, f.A, a, f.Tolerance, f.Source)
	assert.InDelta(t, f.B, b, f.Tolerance, f.Source)
}

// shapesOf gives the expected shapes under a prior of (a + b) to the power −5/2, which is even in the mean and falls by the
// root of M in ln M.
func shapesOf(f shapes, hits, tries []int) (a, b float64) {
	model := SpreadModel{Width: -1}
	for i := range f.Points {
		log := f.LogM[0] + (f.LogM[1]-f.LogM[0])*float64(i)/float64(f.Points-1)
		model.M, model.LogPrior = append(model.M, math.Exp(log)), append(model.LogPrior, -log/2)
	}
	group := Group{Mean: MeanPrior{1, 1}}
	for i := range hits {
		group.Counts = append(group.Counts, Count{hits[i], tries[i]})
	}
	p := NewPeers(model, []Group{group})
	for c, w := range p.Spread(0) {
		mean := p.groups[0].mean[c]
		a, b = a+w*model.M[c]*mean, b+w*model.M[c]*(1-mean)
	}
	return a, b
}

// Leaning on the peers must foretell the rest of a season about as well as the estimator that made these data known.
func TestBattingOfTheRestOfTheSeasonIsForetold(t *testing.T) {
	t.Parallel()
	var batting struct {
		Source    string
		Hits      []int
		Tries     int
		Rest      []float64
		Ratio     float64 `json:"james_stein_ratio"`
		RawError  float64 `json:"raw_error"`
		Tolerance float64
	}
	published(t, "batting.json", &batting)
	group := Group{Mean: MeanPrior{1, 1}}
	for _, hits := range batting.Hits {
		group.Counts = append(group.Counts, Count{hits, batting.Tries})
	}
	p, raw, leaning := NewPeers(DefaultSpread(), []Group{group}), 0.0, 0.0
	for i, rest := range batting.Rest {
		r, m := float64(batting.Hits[i])/float64(batting.Tries)-rest, p.Posterior(0, i).Mean()-rest
		raw, leaning = raw+r*r, leaning+m*m
	}
	assert.InDelta(t, batting.RawError, raw, batting.Tolerance, batting.Source)
	assert.Greater(t, raw/leaning, .9*batting.Ratio, batting.Source)
}

func TestReliabilityAgainstPublishedValues(t *testing.T) {
	var table struct {
		Source string
		Cases  []struct {
			M, Reliability, Tolerance float64
			Tries                     int
		}
	}
	published(t, "reliability.json", &table)
	require.Len(t, table.Cases, 5)
	for _, c := range table.Cases {
		p := NewPeers(KnownSpread(c.M), []Group{{[]Count{{1, 2}}, MeanPrior{1, 1}}})
		assert.InDelta(t, c.Reliability, p.Reliability(0, c.Tries), c.Tolerance, table.Source)
	}
}
