package simulation

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain/stats"
)

// TestTheJudgementMeetsItsAims runs every section at smoke size: aims hold by the rule, and each rule of thumb that
// looks at no peers, or takes estimates for the truth, misses some.
func TestTheJudgementMeetsItsAims(t *testing.T) {
	t.Parallel()
	missedBy, measured := map[string]int{}, 0
	for _, s := range Sections {
		for _, l := range s.Run(Smoke) {
			measured++
			if l.Rule && l.Missed() {
				missedBy[l.Method]++
			}
			assert.False(t, !l.Rule && l.Missed(), "%s in %s: %.3f (%.3f), aim %v", l.Measure, l.Setting, l.Value, l.SE, l.Aim)
		}
	}
	require.Greater(t, measured, 100)
	for _, rule := range []string{
		"Jeffreys", "plug-in", "raw shortfall × exposure", "raw rate higher", "two-proportion test",
	} {
		assert.Positive(t, missedBy[rule], "%s misses nothing, so the aims ask nothing", rule)
	}
}

func TestALineIsMissedByTheRule(t *testing.T) {
	line := Line{Value: 1.10, SE: .02, Aim: AtMost(1.06), Cap: .02}
	assert.False(t, line.Missed(), "within three standard errors")
	assert.False(t, line.TooSmall())
	line.SE = .01
	assert.True(t, line.Missed())
	line.SE = .03
	assert.True(t, line.TooSmall())
	line.Value, line.SE = math.NaN(), math.NaN()
	assert.True(t, line.Missed(), "what cannot be measured is not met")
	assert.True(t, line.TooSmall())
	assert.False(t, Line{Value: 9}.Missed(), "without an aim it is only reported")
	low := Line{Value: .80, SE: .01, Aim: AtLeast(.93)}
	assert.True(t, low.Missed())
	assert.InDelta(t, .13, low.Beyond(), 1e-12)
	assert.True(t, Line{Value: .5, SE: .01, Aim: &Aim{.6, .7}}.Missed())
}

func TestARatiosError(t *testing.T) {
	var r ratio
	for _, v := range []float64{1, 2, 3, 4} {
		r.add(v, 1)
	}
	value, se := r.value()
	assert.InDelta(t, 2.5, value, 1e-12)
	assert.InDelta(t, math.Sqrt(5.0/3)/2, se, 1e-12, "of a mean, when all weigh alike")
	_, none := ratio{}.value()
	assert.True(t, math.IsNaN(none))
	var once ratio
	once.add(1, 2)
	_, se = once.value()
	assert.True(t, math.IsInf(se, 1), "one program tells no error")
}

func TestTheWorldIsAsItSays(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	g := fixed("40", 40).draw(r, 4000, 50)
	for k := range targets {
		sum, square, tries := 0.0, 0.0, 0.0
		for i := range g.p {
			sum += g.p[i][k]
			square += g.p[i][k] * g.p[i][k]
			tries += float64(g.counts[i][k].Tries)
		}
		mean := sum / 4000
		assert.InDelta(t, g.mu[k], mean, .01)
		assert.InDelta(t, g.mu[k]*(1-g.mu[k])/41, square/4000-mean*mean, 5e-4, "variance of Beta(40μ, 40(1−μ))")
		assert.InDelta(t, 50*shares[k], tries/4000, .5)
	}
}

func TestProgramsLieOffTheNorm(t *testing.T) {
	r, sum, square := rand.New(rand.NewPCG(1, 2)), 0.0, 0.0
	const n = 4000
	for range n {
		off := mixed.mean(r, .5) - .5
		sum, square = sum+off, square+off*off
	}
	assert.InDelta(t, 0, sum/n, .003)
	assert.InDelta(t, .06, math.Sqrt(square/n), .003)
}

// published reads check values with their source from testdata/stats.
func published(t *testing.T, name string, into any) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "..", "testdata", "stats", name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, into))
}

func TestMomentsAgainstComputedValues(t *testing.T) {
	var rats struct {
		Hits, Tries []int
		Kleinman    struct {
			Source           string
			Mu, M, Tolerance float64
		}
	}
	published(t, "rats.json", &rats)
	var counts []stats.Count
	for i := range 70 { // the last group is not among those of the estimate
		counts = append(counts, stats.Count{Hits: rats.Hits[i], Tries: rats.Tries[i]})
	}
	a, b := moments(counts)
	assert.InDelta(t, rats.Kleinman.Mu, a/(a+b), rats.Kleinman.Tolerance, rats.Kleinman.Source)
	assert.InDelta(t, rats.Kleinman.M, a+b, rats.Kleinman.Tolerance, rats.Kleinman.Source)
}

func TestMoments(t *testing.T) {
	a, b := moments([]stats.Count{{Hits: 10, Tries: 100}, {Hits: 90, Tries: 100}, {Hits: 50, Tries: 100}})
	assert.Less(t, a+b, 5.0, "far apart")
	a, b = moments([]stats.Count{{Hits: 50, Tries: 100}, {Hits: 50, Tries: 100}})
	assert.InDelta(t, 1e6, a+b, 1, "alike")
	a, b = moments(nil)
	assert.Equal(t, []float64{.5, .5}, []float64{a, b})
}

func TestTheTableCountsWhatIsMissed(t *testing.T) {
	lines := []Line{
		{Measure: "a", Setting: "here", Method: "shared", Value: 2, SE: .1, Aim: AtMost(1), Cap: .05},
		{Measure: "a", Setting: "there", Method: "shared", Value: .5, SE: .1, Aim: AtMost(1), Cap: .2},
		{Measure: "a", Setting: "here", Method: "thumb", Value: 3, SE: .1, Aim: AtMost(1), Rule: true},
		{Measure: "b", Setting: "here", Method: "shared", Value: 3},
	}
	var out bytes.Buffer
	missed, small := WriteTable(&out, lines, true)
	assert.Equal(t, []int{1, 1}, []int{missed, small})
	assert.Contains(t, out.String(), "| a | ≤ 1 | 2 | 2.000 (0.100) | here | 1 | thumb 1/1 |")
	assert.NotContains(t, out.String(), "| b |")
	out.Reset()
	WriteReported(&out, append(lines, Line{Measure: "b", Setting: "there", Method: "shared", Value: 7}))
	assert.Contains(t, out.String(), "| b | shared | 2 | 3.000 | here | 7.000 | there |")
	assert.NotContains(t, out.String(), "| a |", "what has an aim stands in the other table")
	out.Reset()
	WriteLines(&out, lines)
	assert.Equal(t, 2, strings.Count(out.String(), "MISSED"))
}
