package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

type intervalFunc func(hits, tries int, confidence float64) (low, high float64)

var intervals = map[string]intervalFunc{
	"jeffreys": JeffreysInterval, "clopper_pearson": ClopperPearson, "mid_p": MidP,
}

func TestIntervalsAgainstPublishedValues(t *testing.T) {
	var tables []struct {
		Method, Source        string
		Confidence, Tolerance float64
		Cases                 []struct {
			Hits, Tries int
			Low, High   float64
		}
	}
	published(t, "intervals.json", &tables)
	require.Len(t, tables, 8)
	for _, table := range tables {
		require.NotEmpty(t, table.Cases)
		for _, c := range table.Cases {
			low, high := intervals[table.Method](c.Hits, c.Tries, table.Confidence)
			assert.InDelta(t, c.Low, low, table.Tolerance, "%s %d/%d %s", table.Method, c.Hits, c.Tries, table.Source)
			assert.InDelta(t, c.High, high, table.Tolerance, "%s %d/%d %s", table.Method, c.Hits, c.Tries, table.Source)
		}
	}
}

func TestIntervalsAtTheEdges(t *testing.T) {
	for name, interval := range intervals {
		low, high := interval(0, 0, 0.95)
		assert.Equal(t, []float64{0, 1}, []float64{low, high}, "%s: nothing known", name)
		for _, bad := range []struct {
			hits, tries int
			confidence  float64
		}{{2, 1, .95}, {-1, 5, .95}, {1, 2, 0}, {1, 2, 1}, {1, 2, math.NaN()}} {
			low, high = interval(bad.hits, bad.tries, bad.confidence)
			assert.True(t, math.IsNaN(low) && math.IsNaN(high), "%s %+v", name, bad)
		}
	}
}

func TestIntervalProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tries := rapid.IntRange(1, 300).Draw(t, "tries")
		hits := rapid.IntRange(0, tries).Draw(t, "hits")
		confidence := rapid.Float64Range(0.5, 0.99).Draw(t, "confidence")
		for name, interval := range intervals {
			low, high := interval(hits, tries, confidence)
			if !(low >= 0 && low <= high && high <= 1) {
				t.Fatalf("%s: %v to %v", name, low, high)
			}
			mirrorLow, mirrorHigh := interval(tries-hits, tries, confidence)
			if math.Abs(low-(1-mirrorHigh)) > 1e-8 || math.Abs(high-(1-mirrorLow)) > 1e-8 {
				t.Fatalf("%s is not symmetric", name)
			}
			if hits < tries {
				if nextLow, nextHigh := interval(hits+1, tries, confidence); nextLow < low || nextHigh < high {
					t.Fatalf("%s does not rise with the hits", name)
				}
			}
		}
		wideLow, wideHigh := ClopperPearson(hits, tries, confidence)
		if low, high := MidP(hits, tries, confidence); low < wideLow-1e-9 || high > wideHigh+1e-9 {
			t.Fatalf("mid-P is not inside the exact interval")
		}
	})
}

func TestClusteringAgainstAPublishedDispersion(t *testing.T) {
	var c struct {
		Seeds struct {
			Source              string
			Groups              []struct{ Hits, Tries []int }
			Dispersion, Degrees float64
			Tolerance           float64
		}
	}
	published(t, "clustering.json", &c)
	require.Len(t, c.Seeds.Groups, 4)
	pearson, degrees := 0.0, 0.0 // that of all groups is the sum of theirs
	for _, g := range c.Seeds.Groups {
		phi, _, estimated := Clustering(g.Hits, g.Tries)
		require.True(t, estimated)
		free := float64(len(g.Tries) - 1)
		pearson, degrees = pearson+phi*free, degrees+free
	}
	assert.InDelta(t, c.Seeds.Degrees, degrees, 0)
	assert.InDelta(t, c.Seeds.Dispersion, pearson/degrees, c.Seeds.Tolerance, c.Seeds.Source)
}

func TestClustering(t *testing.T) {
	var c struct {
		Source                string
		Tolerance, Phi, Worth float64
		P                     float64
		Wilson                []float64
		Hits, Tries           []int
	}
	published(t, "clustering.json", &c)
	phi, worth, estimated := Clustering(c.Hits, c.Tries)
	assert.InDelta(t, c.Phi, phi, c.Tolerance, c.Source)
	assert.InDelta(t, c.Worth, worth, c.Tolerance, c.Source)
	assert.True(t, estimated)
	low, high := WilsonOf(c.P, worth, .95)
	assert.InDelta(t, c.Wilson[0], low, c.Tolerance, c.Source)
	assert.InDelta(t, c.Wilson[1], high, c.Tolerance, c.Source)
	withEmpty, _, _ := Clustering(append(c.Hits, 0), append(c.Tries, 0))
	assert.InDelta(t, phi, withEmpty, 1e-12, "a game without tries says nothing")
	for _, none := range [][2][]int{
		{{1, 2}, {2, 3}}, {{0, 0, 0, 0, 0, 0}, {1, 2, 3, 4, 5, 6}}, {{1, 2, 3, 4, 5}, {1, 2, 3, 4, 5}}, {nil, nil},
	} {
		phi, worth, estimated = Clustering(none[0], none[1])
		assert.False(t, estimated)
		assert.InDelta(t, 1, phi, 0)
		assert.False(t, math.IsNaN(worth))
	}
}
