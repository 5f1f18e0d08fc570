package judgement

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"cagework/domain/stats"
)

// plainBaseline is 9 of 21 under a prior of Beta(22, 18).
func plainBaseline() Baseline {
	return Baseline{Hits: 9, Tries: 21, Prior: stats.Mixture{{Weight: 1, A: 22, B: 18}}, Level: .1, Peers: 10}
}

// published reads check values with their source from testdata/stats.
func published(t *testing.T, name string, into any) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "testdata", "stats", name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, into))
}

// A rate that is picked because it is the lowest of eight comes back by itself: plain before and after takes that for help
// far too often, a block's verdict as often as it says.
func TestARatePickedForBeingLowIsNotCreditedForComingBack(t *testing.T) {
	var want struct {
		Source         string
		A, B           float64
		Targets        int
		Before, After  int
		RawBefore      float64 `json:"raw_before"`
		RawAfter       float64 `json:"raw_after"`
		ForetoldAfter  float64 `json:"foretold_after"`
		LooksBetter    float64 `json:"looks_better"`
		NewcombeClaims float64 `json:"newcombe_claims"`
		PlainClaims    float64 `json:"plain_claims"`
		MidClaims      float64 `json:"mid_claims"`
		Tolerance      float64
	}
	published(t, "selection.json", &want)
	const goalies = 10000
	random := rand.New(rand.NewPCG(20240601, 1))
	rate := distuv.Beta{Alpha: want.A, Beta: want.B, Src: random}
	hitsOf := func(p float64, tries int) (hits int) {
		for range tries {
			if random.Float64() < p {
				hits++
			}
		}
		return hits
	}
	var before, after, foretold, better, newcombe, plain, mid float64
	for range goalies {
		lowest, picked := want.Before+1, 0.0
		for range want.Targets {
			p := rate.Rand()
			if hits := hitsOf(p, want.Before); hits < lowest {
				lowest, picked = hits, p
			}
		}
		later := hitsOf(picked, want.After)
		b := Baseline{Hits: lowest, Tries: want.Before, Prior: stats.Mixture{{Weight: 1, A: want.A, B: want.B}}, Level: .1}
		expect := b.Before().Predict(want.After)
		before += float64(lowest) / float64(want.Before) / goalies
		after += float64(later) / float64(want.After) / goalies
		foretold += expect.Mean() / float64(want.After) / goalies
		claim := func(sum *float64, is bool) { *sum += number(is) / goalies }
		claim(&better, later*want.Before > lowest*want.After)
		low, _ := stats.NewcombeDifference(later, want.After, lowest, want.Before, .8)
		claim(&newcombe, low > 0)
		claim(&mid, b.tail(expect, later) <= b.Level)
		b.Plain = true
		claim(&plain, b.tail(expect, later) <= b.Level)
	}
	for name, pair := range map[string][2]float64{
		"raw rate before": {want.RawBefore, before}, "raw rate after": {want.RawAfter, after},
		"foretold": {want.ForetoldAfter, foretold}, "looks better": {want.LooksBetter, better},
		"claims of Newcombe's interval": {want.NewcombeClaims, newcombe}, "helped, plain": {want.PlainClaims, plain},
		"helped, mid-P": {want.MidClaims, mid},
	} {
		assert.InDelta(t, pair[0], pair[1], want.Tolerance, "%s: %s", name, want.Source)
	}
	assert.LessOrEqual(t, mid, .1+3*math.Sqrt(.09/goalies), "as often as it says")
}

func TestHelpAgainstComputedValues(t *testing.T) {
	var want struct {
		Source                      string
		Tolerance, Mean, Regression float64
		MidTail                     float64 `json:"mid_tail"`
		AtLeast                     float64 `json:"at_least"`
		Low, High                   int
		LeastPlain                  int     `json:"least_plain"`
		LeastMid                    int     `json:"least_mid"`
		BayesFactor                 float64 `json:"bayes_factor"`
		ChanceBetter                float64 `json:"chance_better"`
	}
	published(t, "predictive.json", &want)
	b := plainBaseline()
	h := b.Help(14, 24)
	assert.Equal(t, CannotSay, h.Verdict)
	assert.InDelta(t, want.Mean, h.Expected, want.Tolerance, want.Source)
	assert.InDelta(t, want.MidTail, h.Tail, want.Tolerance, want.Source)
	assert.InDelta(t, want.Regression, h.DriftBack, want.Tolerance, want.Source)
	assert.InDelta(t, want.BayesFactor, h.Likelihood, want.Tolerance, want.Source)
	assert.InDelta(t, want.ChanceBetter, h.Better, want.Tolerance, want.Source)
	assert.Equal(t, []int{want.Low, want.High}, []int{h.Low, h.High})
	require.NotNil(t, h.Needed)
	assert.Equal(t, want.LeastMid, *h.Needed)
	assert.Equal(t, CannotSay, b.Help(15, 24).Verdict)
	assert.Equal(t, Worked, b.Help(16, 24).Verdict)
	assert.Equal(t, Backwards, b.Help(8, 24).Verdict)

	b.Plain = true
	h = b.Help(14, 24)
	assert.InDelta(t, want.AtLeast, h.Tail, want.Tolerance, want.Source)
	assert.Equal(t, want.LeastPlain, *h.Needed)
	assert.Equal(t, CannotSay, b.Help(16, 24).Verdict)
	assert.Equal(t, Worked, b.Help(17, 24).Verdict)
}

func TestHelpAtTheEdges(t *testing.T) {
	b := plainBaseline()
	assert.Equal(t, TooFewTries, b.Help(7, 7).Verdict)
	none := b.Help(0, 0)
	assert.Equal(t, TooFewTries, none.Verdict)
	assert.Nil(t, none.Needed)
	b.Prior = stats.Mixture{{Weight: 1, A: 220, B: 1}}
	h := b.Help(8, 8)
	assert.Equal(t, TooFewTries, h.Verdict, "even eight of eight is to be expected")
	assert.False(t, math.IsNaN(h.Better) || math.IsNaN(h.GainLow))
	assert.Nil(t, Freeze(rateOf(lowSave(), 0, 0), Defaults()))
}

func TestTheIntervalOfAGain(t *testing.T) {
	h := plainBaseline().Help(14, 24)
	random := rand.New(rand.NewPCG(1, 2))
	before := distuv.Beta{Alpha: 31, Beta: 30, Src: random}
	after := distuv.Beta{Alpha: 36, Beta: 28, Src: random}
	inside, below := 0, 0
	const draws = 40000
	for range draws {
		d := after.Rand() - before.Rand()
		if d < h.GainLow {
			below++
		} else if d <= h.GainHigh {
			inside++
		}
	}
	assert.InDelta(t, .80, float64(inside)/draws, .025, "strips of .005")
	assert.InDelta(t, .10, float64(below)/draws, .02)
	assert.InDelta(t, 36.0/64-31.0/61, h.Gain, 1e-12)
}

func TestABaselineIsFrozen(t *testing.T) {
	target := named("low_save")
	p := peersOf(target, stats.Count{Hits: 8, Tries: 24}, stats.Count{Hits: 55, Tries: 100}, stats.Count{Hits: 45, Tries: 90})
	r := p.Judge(id("0"), rateOf(target, 8, 16))
	b := Freeze(r, Defaults())
	require.NotNil(t, b)
	assert.True(t, b.Plain, "two peers")
	assert.Equal(t, 2, b.Peers)
	assert.InDelta(t, *r.ChanceBelow, b.Before().Below(.5), 1e-9, "it keeps what was thought")
	raw, err := json.Marshal(b)
	require.NoError(t, err)
	assert.Less(t, len(raw), 6000)
	var back Baseline
	require.NoError(t, json.Unmarshal(raw, &back))
	assert.Equal(t, *b, back)
	assert.Equal(t, b.Help(12, 20), back.Help(12, 20))
	needed, ok := b.Needed(24)
	assert.True(t, ok)
	assert.Equal(t, Worked, b.Help(needed, 24).Verdict)
	assert.NotEqual(t, Worked, b.Help(needed-1, 24).Verdict)
}

func TestARateJudgedAloneCanBeABaselineToo(t *testing.T) {
	b := Freeze(rateOf(lowSave(), 9, 22), Defaults())
	require.NotNil(t, b)
	assert.True(t, b.Plain)
	assert.InDelta(t, 9.5/32, b.Before().Mean(), 1e-12)
}

func TestHelpProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := plainBaseline()
		b.Tries = rapid.IntRange(0, 80).Draw(t, "before")
		b.Hits = rapid.IntRange(0, b.Tries).Draw(t, "hits before")
		b.Plain = rapid.Bool().Draw(t, "plain")
		tries := rapid.IntRange(1, 60).Draw(t, "tries")
		hits := rapid.IntRange(0, tries-1).Draw(t, "hits")
		h, more := b.Help(hits, tries), b.Help(hits+1, tries)
		if more.Tail > h.Tail || more.Better < h.Better-1e-9 || more.Gain < h.Gain || h.Better < 0 || h.Better > 1 {
			t.Fatalf("a hit more makes it worse: %+v, %+v", h, more)
		}
		if h.GainLow > h.Gain+.01 || h.GainHigh < h.Gain-.01 || h.Tail < 0 || h.Tail > 1 {
			t.Fatalf("%+v", h)
		}
		if h.Verdict == Worked && (h.Needed == nil || hits < *h.Needed) {
			t.Fatalf("worked without what was needed: %+v", h)
		}
	})
}

func TestTotalsOfRulesAndDrills(t *testing.T) {
	rule, drill, other := id("rule"), id("drill"), id("other")
	given := []Given{
		{plainBaseline(), 18, 24, &rule, &drill},
		{plainBaseline(), 16, 24, &rule, &other},
		{plainBaseline(), 7, 24, nil, &other},
		{plainBaseline(), 2, 2, &rule, &other},
	}
	byRule := HelpByRule(given)
	require.Len(t, byRule, 1)
	h := byRule[0]
	assert.Equal(t, Helped{
		ID: rule, Blocks: 3, Told: 2, Worked: 2, Tries: 48, Hits: 34, Expected: h.Expected, Gain: h.Gain,
		GainLow: h.GainLow, GainHigh: h.GainHigh, Tail: h.Tail, Adjusted: h.Tail,
	}, h)
	assert.InDelta(t, 2*24*31.0/61, h.Expected, 1e-9)
	assert.InDelta(t, (34-h.Expected)/48, h.Gain, 1e-12)
	one := plainBaseline().Before().Predict(24)
	assert.InDelta(t, one.Plus(one).MidTail(34), h.Tail, 1e-12)

	byDrill := HelpByDrill(given)
	require.Len(t, byDrill, 2)
	for _, d := range byDrill {
		if d.ID == other {
			assert.Equal(t, []int{3, 2, 1, 1}, []int{d.Blocks, d.Told, d.Worked, d.Backwards})
		}
		assert.GreaterOrEqual(t, d.Adjusted, d.Tail)
	}
	assert.Empty(t, HelpByRule(nil))
	short := HelpByRule([]Given{{plainBaseline(), 2, 2, &rule, nil}})
	assert.InDelta(t, 1, short[0].Adjusted, 0)
	assert.Equal(t, rule, short[0].ID)
}
