package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestBrierDecompositionAgainstPublishedTables(t *testing.T) {
	type parts struct{ Brier, Reliability, Resolution, Uncertainty, Skill float64 }
	var all struct {
		Brier struct {
			Source             string
			PublishedTolerance float64 `json:"published_tolerance"`
			Tolerance          float64
			Cases              []struct {
				Name                string
				Forecast            []float64
				N, Events           []int
				Published, Computed parts
			}
		}
	}
	published(t, "scores.json", &all)
	require.Len(t, all.Brier.Cases, 4)
	for _, c := range all.Brier.Cases {
		var chances []float64
		var hit []bool
		for k, n := range c.N {
			for i := range n {
				chances, hit = append(chances, c.Forecast[k]), append(hit, i < c.Events[k])
			}
		}
		d, brier := Decompose(c.Forecast, c.N, c.Events), Brier(chances, hit)
		assert.InDelta(t, brier, d.Reliability-d.Resolution+d.Uncertainty, 1e-12, c.Name)
		for want, tolerance := range map[parts]float64{c.Published: all.Brier.PublishedTolerance, c.Computed: all.Brier.Tolerance} {
			assert.InDelta(t, want.Brier, brier, tolerance, c.Name)
			assert.InDelta(t, want.Reliability, d.Reliability, tolerance, c.Name)
			assert.InDelta(t, want.Resolution, d.Resolution, tolerance, c.Name)
			assert.InDelta(t, want.Uncertainty, d.Uncertainty, tolerance, c.Name)
			assert.InDelta(t, want.Skill, 1-brier/d.Uncertainty, tolerance, c.Name)
		}
	}
}

func TestAUCAgainstPublishedValues(t *testing.T) {
	var all struct {
		AUC struct {
			Source              string
			Normal              []int   `json:"normal_by_rating"`
			Abnormal            []int   `json:"abnormal_by_rating"`
			PublishedTolerance  float64 `json:"published_tolerance"`
			Tolerance           float64
			Published, Computed struct{ AUC, Error float64 }
		}
	}
	published(t, "scores.json", &all)
	var chances []float64
	var hit []bool
	for rating := range all.AUC.Normal {
		for i := range all.AUC.Normal[rating] + all.AUC.Abnormal[rating] {
			chances, hit = append(chances, float64(rating)), append(hit, i >= all.AUC.Normal[rating])
		}
	}
	area, se := AUC(chances, hit)
	assert.InDelta(t, all.AUC.Published.AUC, area, all.AUC.PublishedTolerance, all.AUC.Source)
	assert.InDelta(t, all.AUC.Published.Error, se, all.AUC.PublishedTolerance, all.AUC.Source)
	assert.InDelta(t, all.AUC.Computed.AUC, area, all.AUC.Tolerance)
	assert.InDelta(t, all.AUC.Computed.Error, se, all.AUC.Tolerance)
	area, _ = AUC([]float64{.2, .4}, []bool{true, true})
	assert.True(t, math.IsNaN(area))
}

func TestScoresOfNothing(t *testing.T) {
	assert.True(t, math.IsNaN(LogLoss(nil, nil)))
	assert.True(t, math.IsNaN(Brier(nil, nil)))
	assert.Empty(t, CalibrationTable(nil, nil, 10))
	assert.InDelta(t, -math.Log(leastChance), LogLoss([]float64{0}, []bool{true}), 1e-3, "a hit that could not be")
}

func TestScoreProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 100).Draw(t, "n")
		chances, mirror := make([]float64, n), make([]float64, n)
		hit, missed := make([]bool, n), make([]bool, n)
		for i := range n {
			chances[i] = rapid.Float64Range(0.001, 0.999).Draw(t, "p")
			hit[i] = rapid.Bool().Draw(t, "hit")
			mirror[i], missed[i] = 1-chances[i], !hit[i]
		}
		if math.Abs(LogLoss(chances, hit)-LogLoss(mirror, missed)) > 1e-9 || math.Abs(Brier(chances, hit)-Brier(mirror, missed)) > 1e-12 {
			t.Fatalf("not symmetric")
		}
		a, _ := AUC(chances, hit)
		b, _ := AUC(mirror, missed)
		if math.IsNaN(a) != math.IsNaN(b) || math.Abs(a-b) > 1e-9 || a < 0 || a > 1 {
			t.Fatalf("area %v and %v", a, b)
		}
		rows, hits := 0, 0
		table := CalibrationTable(chances, hit, 10)
		for k, bin := range table {
			rows, hits = rows+bin.Rows, hits+bin.Hits
			if k > 0 && bin.Foretold < table[k-1].Foretold || bin.Low > bin.Rate+1e-12 || bin.High < bin.Rate-1e-12 {
				t.Fatalf("bin %d %+v", k, bin)
			}
		}
		if rows != n || hits != count(hit) {
			t.Fatalf("the table holds %d rows of %d", rows, n)
		}
	})
}
