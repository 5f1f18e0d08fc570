package stats

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

type peerCase struct {
	Name, Source  string
	Tolerance, N0 float64
	Counts        []Count
	MeanA         float64 `json:"mean_a"`
	MeanB         float64 `json:"mean_b"`
	K             int
	Target        float64
	Expect        struct {
		Mu                                      float64
		Mean, SD, Below, Shortfall, Reliability []float64
	}
}

func TestPeerGridAgainstComputedValues(t *testing.T) {
	t.Parallel()
	var cases []peerCase
	published(t, "peers.json", &cases)
	require.Len(t, cases, 7)
	for _, c := range cases {
		g := NewPeerGrid(c.Counts, MeanPrior{c.MeanA, c.MeanB}, c.N0, c.K)
		assert.InDelta(t, c.Expect.Mu, g.Mean(), c.Tolerance, c.Name)
		for i := range c.Counts {
			m := g.Posterior(i)
			below, short := m.Judge(c.Target)
			assert.InDelta(t, c.Expect.Mean[i], m.Mean(), c.Tolerance, c.Name)
			assert.InDelta(t, c.Expect.Below[i], below, c.Tolerance, c.Name)
			assert.InDelta(t, c.Expect.Reliability[i], g.Reliability(i), c.Tolerance, c.Name)
			if c.Expect.SD != nil {
				assert.InDelta(t, c.Expect.SD[i], m.SD(), c.Tolerance, c.Name)
			}
			if c.Expect.Shortfall != nil {
				assert.InDelta(t, c.Expect.Shortfall[i], short, c.Tolerance, c.Name)
			}
		}
	}
}

func alone(model SpreadModel) SpreadModel {
	model.Width = -1
	return model
}

// TestPeersAreTheGrid compares one group that shares nothing with the plain form. They differ by the bounds on M (the
// fast form has nothing below 1.5), which shows most in one count alone.
func TestPeersAreTheGrid(t *testing.T) {
	t.Parallel()
	var cases []peerCase
	published(t, "peers.json", &cases)
	for _, c := range cases[4:] {
		p := NewPeers(alone(DefaultSpread()), []Group{{c.Counts, MeanPrior{c.MeanA, c.MeanB}}})
		for i, count := range c.Counts {
			m := p.Posterior(0, i)
			below, short := m.Judge(c.Target)
			assert.InDelta(t, c.Expect.Mean[i], m.Mean(), 5e-4, c.Name)
			assert.InDelta(t, c.Expect.Below[i], below, 2e-3, c.Name)
			assert.InDelta(t, c.Expect.Shortfall[i], short, 1e-3, c.Name)
			assert.InDelta(t, c.Expect.Reliability[i], p.Reliability(0, count.Tries), 7e-3, c.Name)
		}
	}
}

// exactAt integrates over μ at one M by brute force.
func exactAt(counts []Count, mean MeanPrior, m float64) *PeerGrid {
	g := &PeerGrid{counts: counts}
	const k = 4000
	top := math.Inf(-1)
	for i := range k {
		mu := (float64(i) + .5) / k
		log := (mean.A-1)*math.Log(mu) + (mean.B-1)*math.Log1p(-mu)
		for _, c := range counts {
			log += logMarginal(c, mu*m, (1-mu)*m)
		}
		g.mu, g.m, g.weight = append(g.mu, mu), append(g.m, m), append(g.weight, log)
		top = max(top, log)
	}
	g.normalise(top)
	return g
}

// TestPeersAtAKnownSpread holds the two steps of the fast form to brute force: the points in μ (exact), and the one beta
// distribution in place of many (close).
func TestPeersAtAKnownSpread(t *testing.T) {
	t.Parallel()
	for _, counts := range [][]Count{
		{{9, 21}}, {{9, 21}, {22, 36}, {0, 12}}, {{0, 0}}, {{250, 500}, {260, 500}, {230, 500}, {275, 500}, {241, 500}},
	} {
		for _, m := range []float64{2, 40, 294} {
			mean := MeanPrior{11, 9}
			exact, p := exactAt(counts, mean, m), NewPeers(KnownSpread(m), []Group{{counts, mean}})
			assert.InDelta(t, exact.Mean(), p.Mean(0), 2e-7)
			for i := range counts {
				want, got := exact.Posterior(i), p.Posterior(0, i)
				assert.InDelta(t, want.Mean(), got.Mean(), 2e-7)
				assert.InDelta(t, want.SD(), got.SD(), 2e-7)
				for _, at := range []float64{.4, .5, .6} {
					assert.InDelta(t, want.Below(at), got.Below(at), 2e-3, "M %v, %v, below %v", m, counts[i], at)
				}
			}
		}
	}
}

func TestOneGroupAloneHasTheSmearedPrior(t *testing.T) {
	counts := []Count{{9, 21}, {22, 36}, {14, 30}}
	model := DefaultSpread()
	smeared := SpreadModel{M: model.M, LogPrior: make([]float64, len(model.M)), Width: -1}
	for s := range model.M {
		sum := 0.0
		for c, row := range kernelOf(model) {
			sum += row[s] * math.Exp(model.LogPrior[c])
		}
		smeared.LogPrior[s] = math.Log(sum)
	}
	shared := NewPeers(model, []Group{{counts, MeanPrior{11, 9}}})
	plain := NewPeers(smeared, []Group{{counts, MeanPrior{11, 9}}})
	assert.InDeltaSlice(t, plain.Spread(0), shared.Spread(0), 1e-12)
}

func TestNoWidthIsOneSpreadForAll(t *testing.T) {
	groups := []Group{
		{[]Count{{9, 21}, {22, 36}, {14, 30}}, MeanPrior{11, 9}},
		{[]Count{{1, 40}, {35, 40}, {20, 40}}, MeanPrior{1, 1}},
		{nil, MeanPrior{10, 10}},
	}
	model := DefaultSpread()
	model.Width = 0
	p := NewPeers(model, groups)
	for g := range groups {
		assert.InDeltaSlice(t, p.Spread(0), p.Spread(g), 1e-12)
	}
	model.Width = 1e-3
	assert.InDeltaSlice(t, p.Spread(0), NewPeers(model, groups).Spread(1), 1e-12, "the limit is reached")
}

func drawGroups(t *rapid.T) []Group {
	var groups []Group
	for range rapid.IntRange(1, 4).Draw(t, "groups") {
		g := Group{Mean: MeanPrior{11, 9}}
		for range rapid.IntRange(1, 5).Draw(t, "members") {
			n := rapid.IntRange(0, 120).Draw(t, "tries")
			g.Counts = append(g.Counts, Count{rapid.IntRange(0, n).Draw(t, "hits"), n})
		}
		groups = append(groups, g)
	}
	return groups
}

func TestPeersProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		groups := drawGroups(t)
		p := NewPeers(DefaultSpread(), groups)
		g := rapid.IntRange(0, len(groups)-1).Draw(t, "group")
		i := rapid.IntRange(0, len(groups[g].Counts)-1).Draw(t, "member")
		m := p.Posterior(g, i)
		below, short := m.Judge(.6)
		if !(below >= 0 && below <= 1 && short >= 0 && short <= .6 && m.Mean() > 0 && m.Mean() < 1) {
			t.Fatalf("below %v, short %v, mean %v", below, short, m.Mean())
		}

		// Setting a count gives what a new start gives, and one more hit in as many tries never makes it likelier below.
		was := groups[g].Counts[i]
		if was.Hits < was.Tries {
			p.Set(Change{g, i, Count{was.Hits + 1, was.Tries}})
			better := p.Posterior(g, i)
			if better.Below(.6) > below+1e-9 || better.Mean() < m.Mean()-1e-9 {
				t.Fatalf("a hit more makes it worse")
			}
			groups[g].Counts[i].Hits++
			fresh := NewPeers(DefaultSpread(), groups).Posterior(g, i)
			if math.Abs(fresh.Below(.6)-better.Below(.6)) > 1e-11 {
				t.Fatalf("set %v, fresh %v", better.Below(.6), fresh.Below(.6))
			}
			groups[g].Counts[i].Hits--
		}

		// Hits for misses and norms turned round: everything is mirrored.
		mirrored, turned := mirror(groups), slices.Clone(groups)
		if got := NewPeers(DefaultSpread(), mirrored).Posterior(g, i); math.Abs(1-got.Below(.4)-below) > 1e-6 {
			t.Fatalf("not symmetric: %v, %v", got.Below(.4), below)
		}
		// The order of groups and members does not matter.
		slices.Reverse(turned)
		for k := range turned {
			turned[k].Counts = slices.Clone(turned[k].Counts)
			slices.Reverse(turned[k].Counts)
		}
		got := NewPeers(DefaultSpread(), turned).Posterior(len(groups)-1-g, len(groups[g].Counts)-1-i)
		if math.Abs(got.Below(.6)-below) > 1e-9 {
			t.Fatalf("the order matters: %v, %v", got.Below(.6), below)
		}
	})
}

func mirror(groups []Group) []Group {
	out := make([]Group, len(groups))
	for g := range groups {
		out[g].Mean = MeanPrior{groups[g].Mean.B, groups[g].Mean.A}
		for _, c := range groups[g].Counts {
			out[g].Counts = append(out[g].Counts, Count{c.Tries - c.Hits, c.Tries})
		}
	}
	return out
}

func TestPeersWithNothingToGoOn(t *testing.T) {
	p := NewPeers(DefaultSpread(), []Group{{[]Count{{0, 0}}, NormPrior(nil, 20)}})
	m := p.Posterior(0, 0)
	assert.InDelta(t, .5, m.Mean(), 1e-6)
	assert.False(t, math.IsNaN(m.Below(.5)))
	assert.Zero(t, p.Reliability(0, 0))
	for _, c := range []Count{{0, 30}, {30, 30}, {0, 1}, {1, 1}} {
		p.Set(Change{0, 0, c})
		below, short := p.Posterior(0, 0).Judge(.5)
		assert.False(t, math.IsNaN(below) || math.IsNaN(short), "%v", c)
	}
	assert.Equal(t, MeanPrior{1, 1}, NormPrior(new(0.0), 20))
	assert.Equal(t, MeanPrior{11, 9}, NormPrior(new(.55), 20))
}

func TestBoundsKeepWhatDoesNotChange(t *testing.T) {
	groups := []Group{
		{[]Count{{9, 21}, {22, 36}, {14, 30}}, MeanPrior{11, 9}},
		{[]Count{{1, 40}, {35, 40}, {20, 40}}, MeanPrior{1, 1}},
	}
	p := NewPeers(DefaultSpread(), groups)
	bounds := p.Against([]float64{.6, .5})
	same := func() {
		for g, at := range []float64{.6, .5} {
			for i := range groups[g].Counts {
				wantBelow, wantShort := p.Posterior(g, i).Judge(at)
				below, short := bounds.Judge(g, i)
				assert.InDelta(t, wantBelow, below, 1e-12)
				assert.InDelta(t, wantShort, short, 1e-12)
			}
		}
	}
	same()
	p.Set(Change{0, 1, Count{23, 37}})
	same()
	p.Set(Change{0, 0, Count{9, 30}}, Change{1, 2, Count{21, 41}})
	same()
}
