package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// cusumCases are the check values of charts.
type cusumCases struct {
	Tabular struct {
		Source      string
		X           []int `json:"x_tenths"`
		Target      int   `json:"target_tenths"`
		Slack       int   `json:"slack_tenths"`
		UpperTenths []int `json:"upper_tenths"`
		LowerTenths []int `json:"lower_tenths"`
	}
	Tabular9 struct {
		Source        string
		X             []int
		Target, Slack int
		Limit         int
		Upper, Lower  []int
		First         int `json:"first_signal"`
	} `json:"tabular_9"`
	Score struct {
		Source           string
		Intercept, Slope float64
		Cases            []struct {
			Score     float64
			Event     bool
			OddsRatio float64 `json:"odds_ratio"`
			Published float64
			Computed  float64
		}
		PublishedTolerance float64 `json:"published_tolerance"`
		Tolerance          float64
	}
	RunLength struct {
		Source string
		Cases  []struct {
			Up              int
			P               float64
			Limit           int
			Mean, Tolerance float64
		}
	} `json:"run_length"`
	Mix struct {
		Source string
		Risks  []Risk
		Rows   []struct {
			OddsRatio float64 `json:"odds_ratio"`
			TrueOdds  float64 `json:"true_odds_ratio"`
			Limit     int
			Mean      float64
		}
		Tolerance    float64
		ScoresDouble [][]int                    `json:"scores_double"`
		ScoresHalf   [][]int                    `json:"scores_half"`
		LeastFor600  struct{ Double, Half int } `json:"least_limit_for_600"`
	}
	Season struct {
		Source string
		Shots  int
		Rows   []struct {
			Level         float64
			Worse, Better int
			False, Mean   float64
			Median        int
			OneRisk       int     `json:"one_risk"`
			OneRiskMean   float64 `json:"one_risk_mean"`
			OneRiskMedian int     `json:"one_risk_median"`
			Hard          float64
			OneRiskHard   float64 `json:"one_risk_hard"`
		}
		ToleranceOfChances float64 `json:"tolerance_of_chances"`
		ToleranceOfMeans   float64 `json:"tolerance_of_means"`
	}
	Path struct {
		Shots []struct {
			Chance float64
			Event  bool
		}
		Worse, Better []int
	}
}

// centinats is a chart of 100 points to a unit of log-likelihood, as the check values have it.
func centinats(oddsRatio float64) Cusum { return Cusum{oddsRatio, 100} }

func cusums(t *testing.T) cusumCases {
	t.Helper()
	var c cusumCases
	published(t, "cusum.json", &c)
	require.NotEmpty(t, c.Path.Shots)
	return c
}

func TestTabularCusumAgainstAPublishedTable(t *testing.T) {
	c := cusums(t).Tabular
	upper, lower := 0, 0
	for i, x := range c.X {
		upper, lower = CusumNext(upper, x-c.Target-c.Slack), CusumNext(lower, c.Target-c.Slack-x)
		assert.Equal(t, []int{c.UpperTenths[i], c.LowerTenths[i]}, []int{upper, lower}, "%d %s", i, c.Source)
	}
}

func TestTabularCusumSignalsWhereAPublishedOneDoes(t *testing.T) {
	c := cusums(t).Tabular9
	require.Len(t, c.X, 30)
	upper, lower, first := 0, 0, 0
	for i, x := range c.X {
		upper, lower = CusumNext(upper, x-c.Target-c.Slack), CusumNext(lower, c.Target-c.Slack-x)
		assert.Equal(t, []int{c.Upper[i], c.Lower[i]}, []int{upper, lower}, "%d %s", i, c.Source)
		if first == 0 && max(upper, lower) >= c.Limit {
			first = i + 1
		}
	}
	assert.Equal(t, c.First, first, c.Source)
}

func TestScoresAgainstPublishedValues(t *testing.T) {
	all := cusums(t)
	require.Len(t, all.Score.Cases, 8)
	for _, c := range all.Score.Cases {
		llr := LogLikelihoodRatio(c.Event, Sigmoid(all.Score.Intercept+all.Score.Slope*c.Score), c.OddsRatio)
		assert.InDelta(t, c.Published, llr, all.Score.PublishedTolerance, all.Score.Source)
		assert.InDelta(t, c.Computed, llr, all.Score.Tolerance)
	}
	for i, r := range all.Mix.Risks {
		for side, event := range []bool{false, true} {
			assert.Equal(t, all.Mix.ScoresDouble[i][side], centinats(2).Score(event, r.Chance))
			assert.Equal(t, all.Mix.ScoresHalf[i][side], centinats(.5).Score(event, r.Chance))
		}
	}
	worse, better := 0, 0
	for i, s := range all.Path.Shots {
		worse = CusumNext(worse, centinats(2).Score(s.Event, s.Chance))
		better = CusumNext(better, centinats(.5).Score(s.Event, s.Chance))
		assert.Equal(t, []int{all.Path.Worse[i], all.Path.Better[i]}, []int{worse, better}, "shot %d", i)
	}
}

func TestRunLengthsAgainstClosedFormAndChain(t *testing.T) {
	all := cusums(t)
	for _, c := range all.RunLength.Cases {
		mean := RunLength([]Score{{-1, 1 - c.P}, {c.Up, c.P}}, c.Limit)
		assert.InDelta(t, c.Mean, mean, c.Tolerance, all.RunLength.Source)
	}
	for _, row := range all.Mix.Rows {
		mean := RunLength(centinats(row.OddsRatio).Scores(all.Mix.Risks, row.TrueOdds), row.Limit)
		assert.InDelta(t, row.Mean, mean, all.Mix.Tolerance, all.Mix.Source)
	}
	for _, c := range []struct {
		ratio float64
		least int
	}{{2, all.Mix.LeastFor600.Double}, {.5, all.Mix.LeastFor600.Half}} {
		scores := centinats(c.ratio).Scores(all.Mix.Risks, 1)
		at := RunLength(scores, c.least)
		below := RunLength(scores, c.least-1)
		assert.True(t, at >= 600 && below < 600, "%v %v", at, below)
	}
}

func TestSeasonLimitsAgainstComputedValues(t *testing.T) {
	all := cusums(t)
	hard := []Risk{{.45, .65}, {.40, .45}, {.15, .25}}
	const average = .2*.65 + .5*.45 + .3*.25
	season := all.Season
	require.Len(t, season.Rows, 4)
	for _, row := range season.Rows {
		assert.InDelta(t, row.False, SignalChance(centinats(2).Scores(all.Mix.Risks, 1), row.Worse, season.Shots), season.ToleranceOfChances)
		assert.InDelta(t, row.Level, SignalChance(centinats(.5).Scores(all.Mix.Risks, 1), row.Better, season.Shots), .02*row.Level)
		doubled := centinats(2).Scores(all.Mix.Risks, 2)
		assert.InDelta(t, row.Mean, RunLength(doubled, row.Worse), season.ToleranceOfMeans)
		assert.Equal(t, row.Median, MedianRun(doubled, row.Worse, season.Shots))
		assert.InDelta(t, row.Hard, SignalChance(centinats(2).Scores(hard, 1), row.Worse, season.Shots), season.ToleranceOfChances)

		doubled = centinats(2).ScoresOfOneRisk(average, all.Mix.Risks, 2)
		assert.InDelta(t, row.OneRiskMean, RunLength(doubled, row.OneRisk), season.ToleranceOfMeans)
		assert.Equal(t, row.OneRiskMedian, MedianRun(doubled, row.OneRisk, season.Shots))
		assert.InDelta(t, row.OneRiskHard, SignalChance(centinats(2).ScoresOfOneRisk(average, hard, 1), row.OneRisk, season.Shots), season.ToleranceOfChances)
	}
}

// The limit is the least that keeps the level; the limits of the table, which were rounded, lie within two of it.
func TestALimitIsTheLeastThatKeepsItsLevel(t *testing.T) {
	all := cusums(t)
	for _, row := range all.Season.Rows {
		for ratio, want := range map[float64]int{2: row.Worse, .5: row.Better} {
			scores := centinats(ratio).Scores(all.Mix.Risks, 1)
			limit, chance := CusumLimit(scores, all.Season.Shots, row.Level)
			assert.InDelta(t, want, limit, 2)
			assert.InDelta(t, SignalChance(scores, limit, all.Season.Shots), chance, 0)
			assert.True(t, chance <= row.Level && SignalChance(scores, limit-1, all.Season.Shots) > row.Level, "%d at %v", limit, row.Level)
		}
	}
	limit, _ := CusumLimit(centinats(2).Scores(all.Mix.Risks, 1), 0, .1)
	assert.Equal(t, 1, limit, "without tries nothing can be raised")
}

func TestChartProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0.05, 0.95).Draw(t, "p")
		q := rapid.Float64Range(0.05, 0.95).Draw(t, "q")
		risks := []Risk{{.3, p}, {.7, q}}
		limit, tries := rapid.IntRange(1, 300).Draw(t, "limit"), rapid.IntRange(0, 100).Draw(t, "tries")
		total := 0.0
		scores := centinats(2).Scores(risks, 1)
		for _, s := range scores {
			total += s.Chance
		}
		c := SignalChance(scores, limit, tries)
		if math.Abs(total-1) > 1e-12 || c < 0 || c > 1 || c > SignalChance(scores, limit, tries+1)+1e-12 || c < SignalChance(scores, limit+1, tries)-1e-12 {
			t.Fatalf("chance %v", c)
		}
		if CusumNext(rapid.IntRange(0, 500).Draw(t, "value"), rapid.IntRange(-500, 500).Draw(t, "score")) < 0 {
			t.Fatalf("below 0")
		}
	})
}

// A chart for more misses is the chart for fewer hits: the two see the same.
func TestChartsAreSymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, ratio := rapid.Float64Range(.01, .99).Draw(t, "p"), rapid.Float64Range(.2, 5).Draw(t, "ratio")
		for _, event := range []bool{false, true} {
			one, other := LogLikelihoodRatio(event, p, ratio), LogLikelihoodRatio(!event, 1-p, 1/ratio)
			if math.Abs(one-other) > 1e-12 {
				t.Fatalf("%v and %v", one, other)
			}
		}
		if LogLikelihoodRatio(true, p, 1) != 0 || math.Abs(LogLikelihoodRatio(false, p, 1)) > 1e-15 {
			t.Fatalf("odds that are the same say something")
		}
	})
}

func TestARunThatNeverEnds(t *testing.T) {
	assert.True(t, math.IsInf(RunLength([]Score{{-5, 1}}, 100), 1))
	assert.Equal(t, 70, MedianRun([]Score{{-5, 1}}, 100, 70))
}

// The limit that is found is the least one, whatever the mix, the season and the level.
func TestALimitIsTheLeastWhateverTheMix(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var risks []Risk
		parts := rapid.IntRange(1, 3).Draw(t, "parts")
		for range parts {
			risks = append(risks, Risk{1 / float64(parts), float64(rapid.IntRange(1, 19).Draw(t, "chance")) / 20})
		}
		odds := rapid.SampledFrom([]float64{2, .5, 1.3, 4}).Draw(t, "odds")
		scores := Cusum{odds, rapid.SampledFrom([]float64{20, 100}).Draw(t, "points")}.Scores(risks, 1)
		tries := rapid.IntRange(0, 300).Draw(t, "tries")
		level := rapid.SampledFrom([]float64{.5, .1, .02, .0005}).Draw(t, "level")
		limit, chance := CusumLimit(scores, tries, level)
		if chance > level || chance != SignalChance(scores, limit, tries) {
			t.Fatalf("limit %d: %g", limit, chance)
		}
		if limit > 1 && SignalChance(scores, limit-1, tries) <= level {
			t.Fatalf("limit %d is not the least", limit)
		}
	})
}
