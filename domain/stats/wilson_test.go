package stats

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// published reads check values with their source from testdata/stats.
func published(t *testing.T, name string, into any) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "testdata", "stats", name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, into))
}

func TestWilsonAgainstPublishedValues(t *testing.T) {
	var tables []struct {
		Source                string
		Confidence, Tolerance float64
		Cases                 []struct {
			Hits, Tries int
			Low, High   float64
		}
	}
	published(t, "wilson.json", &tables)
	require.NotEmpty(t, tables)
	for _, table := range tables {
		for _, c := range table.Cases {
			low, high := Wilson(c.Hits, c.Tries, table.Confidence)
			assert.InDelta(t, c.Low, low, table.Tolerance, "%d/%d %s", c.Hits, c.Tries, table.Source)
			assert.InDelta(t, c.High, high, table.Tolerance, "%d/%d %s", c.Hits, c.Tries, table.Source)
		}
	}
}

func TestWilsonsWidthAgainstComputedValues(t *testing.T) {
	var table struct {
		Source                string
		Confidence, Tolerance float64
		Cases                 []struct {
			HalfWidth float64 `json:"half_width"`
			Tries     float64
		}
	}
	published(t, "wilsonwidth.json", &table)
	require.Len(t, table.Cases, 4)
	for _, c := range table.Cases {
		low, high := WilsonOf(.5, c.Tries, table.Confidence)
		assert.InDelta(t, c.HalfWidth, .5-low, table.Tolerance, table.Source)
		assert.InDelta(t, c.HalfWidth, high-.5, table.Tolerance, table.Source)
	}
}

func TestWilsonAtTheEdges(t *testing.T) {
	low, high := Wilson(0, 0, 0.95)
	assert.Equal(t, []float64{0, 1}, []float64{low, high}, "nothing known")
	low, _ = Wilson(0, 7, 0.95)
	assert.Zero(t, low)
	_, high = Wilson(7, 7, 0.95)
	assert.Equal(t, 1.0, high) //nolint:testifylint // exact on purpose
	for _, bad := range []struct {
		hits, tries int
		confidence  float64
	}{{2, 1, .95}, {-1, 5, .95}, {0, -1, .95}, {1, 2, 0}, {1, 2, 1}, {1, 2, math.NaN()}} {
		low, high = Wilson(bad.hits, bad.tries, bad.confidence)
		assert.True(t, math.IsNaN(low) && math.IsNaN(high), "%+v", bad)
	}
}

func TestWilsonProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tries := rapid.IntRange(1, 3000).Draw(t, "tries")
		hits := rapid.IntRange(0, tries).Draw(t, "hits")
		confidence := rapid.Float64Range(0.5, 0.999).Draw(t, "confidence")
		low, high := Wilson(hits, tries, confidence)
		rate := float64(hits) / float64(tries)
		if low < 0 || high > 1 || low > rate+1e-12 || high < rate-1e-12 {
			t.Fatalf("%v..%v does not hold %v", low, high, rate)
		}
		mirrorLow, mirrorHigh := Wilson(tries-hits, tries, confidence)
		if math.Abs(low-(1-mirrorHigh)) > 1e-12 || math.Abs(high-(1-mirrorLow)) > 1e-12 {
			t.Fatalf("not symmetric")
		}
		if hits < tries {
			if nextLow, nextHigh := Wilson(hits+1, tries, confidence); nextLow <= low || nextHigh <= high {
				t.Fatalf("does not rise with the hits")
			}
		}
		if wideLow, wideHigh := Wilson(hits, tries, (1+confidence)/2); wideLow > low || wideHigh < high {
			t.Fatalf("more confidence gives a narrower interval")
		}
	})
}
