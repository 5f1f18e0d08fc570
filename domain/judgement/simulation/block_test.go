package simulation

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"cagework/domain/stats"
)

func TestWhatTheTwoProportionTestNeeds(t *testing.T) {
	// 9 of 21 before. 15 of 24: pooled 24/45, z = .1964/.1491 = 1.317; 14 of 24: pooled 23/45, z = .1548/.1494 = 1.036.
	assert.Equal(t, 15, testNeeds(stats.Count{Hits: 9, Tries: 21}, 24))
	assert.Equal(t, 25, testNeeds(stats.Count{Hits: 21, Tries: 21}, 24), "nothing is above all")
	assert.Equal(t, 2, testNeeds(stats.Count{Hits: 0, Tries: 21}, 24), "pooled 2/45, z = .0833/.0616 = 1.353; with one .0417/.0440")
}

func TestWhoKnowsTheRateKeepsTheLevelExactly(t *testing.T) {
	for _, p := range []float64{.01, .2, .5, .7, .97} {
		for _, tries := range laterTries {
			assert.InDelta(t, blockLevel, knownPower(p, p, tries), 1e-12, "%v on %d", p, tries)
			assert.Greater(t, knownPower(p, p+.02, tries), blockLevel)
		}
	}
}

// The plain looks at raw rates, by hand: of a rate of .5, 3 of 6 before, more than 12 of 24 come in as good as half of all.
func TestPlainLooksAtABlockThatChangedNothing(t *testing.T) {
	var g program
	g.p = make([][targets]float64, 1)
	g.counts = make([][targets]stats.Count, 1)
	g.p[0][2], g.counts[0][2] = .5, stats.Count{Hits: 3, Tries: 6}
	var b plainBlocks
	b.add(g, 24)
	const twelve = 2704156.0 / (1 << 24) // 12 of 24 exactly
	assert.InDelta(t, (1-twelve)/2, b.higher.above[0], 1e-12)
	assert.InDelta(t, 1, b.higher.below[0], 0)
	assert.Less(t, b.tested.above[0], b.higher.above[0])
}
