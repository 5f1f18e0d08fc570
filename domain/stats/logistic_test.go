package stats

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// estimates are coefficients with their errors, constant first.
type estimates struct {
	Coefficients, Errors []float64
	Deviance             float64
}

// dosed are counts at the values of one column.
type dosed struct {
	Source               string
	X, Tries, Hits       []float64
	Published, Computed  estimates
	PublishedTolerance   float64 `json:"published_tolerance"`
	CoefficientTolerance float64 `json:"published_tolerance_of_coefficients"`
	Tolerance            float64
	PriorSD              float64 `json:"prior_sd"`
	Centre               float64
	Effective            float64 `json:"effective_parameters"`
	estimates
}

// rows gives the counts with the constant.
func (d dosed) rows(centre float64) Rows {
	return func(yield func(Row) bool) {
		for i, x := range d.X {
			if !yield(Row{X: []float64{1, x - centre}, Hits: d.Hits[i], Tries: d.Tries[i]}) {
				return
			}
		}
	}
}

// deviance is twice the log-likelihood that the fit falls short of a fit of every count by itself.
func (d dosed) deviance(fit Logistic) float64 {
	saturated := 0.0
	for i, n := range d.Tries {
		for _, k := range []float64{d.Hits[i], n - d.Hits[i]} {
			if k > 0 {
				saturated += k * math.Log(k/n)
			}
		}
	}
	return 2 * (saturated - fit.LogLikelihood)
}

func assertEstimates(t *testing.T, want estimates, fit Logistic, coefficients, errors float64, source string) {
	t.Helper()
	require.Len(t, fit.Coefficients, len(want.Coefficients))
	for j := range want.Coefficients {
		assert.InDelta(t, want.Coefficients[j], fit.Coefficients[j], coefficients, "%d %s", j, source)
		assert.InDelta(t, want.Errors[j], fit.Error(j), errors, "%d %s", j, source)
	}
}

func TestLogisticAgainstPublishedFits(t *testing.T) {
	var table map[string]dosed
	published(t, "logistic.json", &table)
	for _, name := range []string{"menarche", "beetle", "bioassay"} {
		d := table[name]
		require.NotEmpty(t, d.X, name)
		fit, err := FitLogistic(d.rows(0), LogisticPrior{Precision: []float64{0, 0}}, nil)
		require.NoError(t, err)
		first := d.PublishedTolerance
		if d.CoefficientTolerance > 0 {
			first = d.CoefficientTolerance
		}
		assertEstimates(t, d.Published, fit, first, d.PublishedTolerance, d.Source)
		assertEstimates(t, d.Computed, fit, d.Tolerance, d.Tolerance, d.Source)
		if d.Published.Deviance > 0 {
			assert.InDelta(t, d.Published.Deviance, d.deviance(fit), d.PublishedTolerance, d.Source)
		}
		assert.InDelta(t, d.Computed.Deviance, d.deviance(fit), d.Tolerance, d.Source)
		assert.InDelta(t, 2, fit.Effective, 1e-12, "no prior: every coefficient counts in full")
	}
}

func TestLogisticWithAPriorAgainstComputedValues(t *testing.T) {
	var table map[string]dosed
	published(t, "logistic.json", &table)
	for name, data := range map[string]string{"beetle_map": "beetle", "bioassay_map": "bioassay", "separation": "separation"} {
		want, d := table[name], table[data]
		prior := LogisticPrior{Precision: []float64{0, 1 / (want.PriorSD * want.PriorSD)}}
		fit, err := FitLogistic(d.rows(want.Centre), prior, nil)
		require.NoError(t, err)
		assertEstimates(t, want.estimates, fit, want.Tolerance, want.Tolerance, want.Source)
		if want.Effective > 0 {
			assert.InDelta(t, want.Effective, fit.Effective, want.Tolerance, want.Source)
		}
	}
	_, err := FitLogistic(table["separation"].rows(0), LogisticPrior{Precision: []float64{0, 0}}, nil)
	assert.ErrorIs(t, err, ErrNoOptimum, "without a prior the separated data run off")
	_, err = FitLogistic(func(func(Row) bool) {}, LogisticPrior{Precision: []float64{1}}, nil)
	assert.ErrorIs(t, err, ErrNoRows)
}

// Partial pooling: the plates of seeds are to the fit what goalies are, groups with an effect of their own.
func TestGroupsAgainstAPublishedFit(t *testing.T) {
	var file struct {
		Seeds struct {
			Groups []struct{ Hits, Tries []float64 }
		}
	}
	published(t, "clustering.json", &file)
	var table map[string]dosed
	published(t, "logistic.json", &table)
	want := table["seeds"]
	require.Len(t, file.Seeds.Groups, 4)
	rows, plates := []Row{}, 0
	for g, group := range file.Seeds.Groups {
		extract, seed := float64(g%2), float64(g/2)
		for i := range group.Tries {
			rows = append(rows, Row{X: []float64{1, seed, extract, seed * extract}, Hits: group.Hits[i], Tries: group.Tries[i], Group: plates})
			plates++
		}
	}
	prior := LogisticPrior{Precision: make([]float64, 4), Groups: plates, GroupPrecision: 1 / (want.PriorSD * want.PriorSD)}
	fit, err := FitLogistic(slices.Values(rows), prior, nil)
	require.NoError(t, err)
	assertEstimates(t, want.Published, fit, want.PublishedTolerance, want.PublishedTolerance, want.Source)
}

func TestShotsFitAndScoresAgainstComputedValues(t *testing.T) {
	var want struct {
		Source string
		X      [][]float64
		Saved  []int
		estimates
		Effective     float64 `json:"effective_parameters"`
		LogLikelihood float64 `json:"log_likelihood"`
		Brier         float64
		LogLoss       float64 `json:"log_loss"`
		AUC           float64
		AUCError      float64 `json:"auc_error"`
		Calibration   []float64
		Z             float64   `json:"spiegelhalter_z"`
		First         []float64 `json:"first_chances"`
		PriorSD       float64   `json:"prior_sd"`
		Tolerance     float64
	}
	published(t, "shotfit.json", &want)
	table := Table{Columns: 4, Groups: 1, Group: make([]int, len(want.X))}
	for i, x := range want.X {
		table.X, table.Hit = append(table.X, x...), append(table.Hit, want.Saved[i] == 1)
	}
	fit, err := FitTable(table, Ridge{Scale: want.PriorSD}, Everything, nil)
	require.NoError(t, err)
	assertEstimates(t, want.estimates, fit.Logistic, want.Tolerance, want.Tolerance, want.Source)
	assert.InDelta(t, want.Effective, fit.Effective, want.Tolerance)
	assert.InDelta(t, want.LogLikelihood, fit.LogLikelihood, want.Tolerance)
	chances := make([]float64, table.Len())
	for i := range chances {
		chances[i] = fit.Chance(table.Row(i))
	}
	assert.InDeltaSlice(t, want.First, chances[:5], want.Tolerance)
	assert.InDelta(t, want.Brier, Brier(chances, table.Hit), want.Tolerance)
	assert.InDelta(t, want.LogLoss, LogLoss(chances, table.Hit), want.Tolerance)
	area, se := AUC(chances, table.Hit)
	assert.InDelta(t, want.AUC, area, want.Tolerance)
	assert.InDelta(t, want.AUCError, se, want.Tolerance)
	intercept, slope, err := Calibrate(chances, table.Hit)
	require.NoError(t, err)
	assert.InDeltaSlice(t, want.Calibration, []float64{intercept, slope}, want.Tolerance)
	assert.InDelta(t, want.Z, SpiegelhalterZ(chances, table.Hit), want.Tolerance)
}

// invented draws rows of a table whose hits have the chances that its coefficients and groups' effects give.
func invented(t *rapid.T, n, columns, groups int) Table {
	table := Table{Columns: columns, Groups: groups}
	for range n {
		for range columns {
			table.X = append(table.X, rapid.Float64Range(-2, 2).Draw(t, "x"))
		}
		table.Hit = append(table.Hit, rapid.Bool().Draw(t, "hit"))
		table.Group = append(table.Group, rapid.IntRange(0, groups-1).Draw(t, "group"))
	}
	return table
}

// At the optimum of a fit with a prior the slope of the log posterior is nothing in every direction: checked here with
// the groups as plain columns, which is another way through the same model.
func TestGroupsAreColumnsThatWereEliminated(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const columns, groups = 3, 4
		table := invented(t, rapid.IntRange(5, 60).Draw(t, "n"), columns, groups)
		spread := rapid.Float64Range(0.1, 2).Draw(t, "spread")
		prior := LogisticPrior{Precision: []float64{.01, 1, 1, 1}, Groups: groups, GroupPrecision: 1 / (spread * spread)}
		scaling := table.Scale(Everything)
		fit, err := FitLogistic(table.Rows(scaling, Everything), prior, nil)
		if err != nil {
			t.Fatal(err)
		}
		wide := LogisticPrior{Precision: append([]float64{.01, 1, 1, 1}, make([]float64, groups)...)}
		for g := range groups {
			wide.Precision[columns+1+g] = prior.GroupPrecision
		}
		plain, err := FitLogistic(func(yield func(Row) bool) {
			for row := range table.Rows(scaling, Everything) {
				x := append(append([]float64{}, row.X...), make([]float64, groups)...)
				x[columns+1+row.Group] = 1
				if !yield(Row{X: x, Hits: row.Hits, Tries: 1}) {
					return
				}
			}
		}, wide, nil)
		if err != nil {
			t.Fatal(err)
		}
		for j := range columns + 1 {
			if math.Abs(fit.Coefficients[j]-plain.Coefficients[j]) > 1e-8 || math.Abs(fit.Error(j)-plain.Error(j)) > 1e-8 {
				t.Fatalf("column %d: %v and %v", j, fit.Coefficients[j], plain.Coefficients[j])
			}
		}
		for g := range groups {
			if math.Abs(fit.Groups[g]-plain.Coefficients[columns+1+g]) > 1e-8 {
				t.Fatalf("group %d: %v and %v", g, fit.Groups[g], plain.Coefficients[columns+1+g])
			}
		}
		if math.Abs(fit.Evidence-plain.Evidence) > 1e-7 {
			t.Fatalf("evidence %v and %v", fit.Evidence, plain.Evidence)
		}
	})
}

func count(hit []bool) int {
	n := 0
	for _, h := range hit {
		if h {
			n++
		}
	}
	return n
}

func TestFitProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := invented(t, rapid.IntRange(2, 80).Draw(t, "n"), 2, 3)
		loose, errLoose := FitTable(table, Ridge{Scale: 2}, Everything, nil)
		tight, errTight := FitTable(table, Ridge{Scale: 1e-4}, Everything, nil)
		hits := count(table.Hit)
		if hits == 0 || hits == table.Len() { // the free constant runs off
			if errLoose == nil || errTight == nil {
				t.Fatalf("all alike and no error")
			}
			return
		}
		if errLoose != nil || errTight != nil {
			t.Fatal(errLoose, errTight)
		}
		if math.Abs(Sigmoid(tight.Coefficients[0])-float64(hits)/float64(table.Len())) > 1e-4 {
			t.Fatalf("a prior of no width leaves the pooled rate")
		}
		if !(loose.Effective >= tight.Effective-1e-9) || loose.Effective > 3+1e-9 {
			t.Fatalf("effective %v and %v", loose.Effective, tight.Effective)
		}
		sum := 0.0
		for i := range table.Len() {
			p := loose.Chance(table.Row(i))
			if !(p > 0 && p < 1) {
				t.Fatalf("chance %v", p)
			}
			sum += p
		}
		if math.Abs(sum-float64(hits)) > 1e-6 {
			t.Fatalf("a free constant makes the chances add up to the hits: %v and %d", sum, hits)
		}
	})
}

// Saves for goals turns every sign of a fit, and the order of the rows does not matter.
func TestFitsAreSymmetric(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := invented(t, rapid.IntRange(4, 60).Draw(t, "n"), 2, 3)
		if hits := count(table.Hit); hits == 0 || hits == table.Len() {
			return
		}
		turned, back := table, Table{Columns: table.Columns, Groups: table.Groups}
		turned.Hit = make([]bool, table.Len())
		for i := range table.Len() {
			turned.Hit[i] = !table.Hit[i]
			from := table.Len() - 1 - i
			back.X = append(back.X, table.Row(from)...)
			back.Hit, back.Group = append(back.Hit, table.Hit[from]), append(back.Group, table.Group[from])
		}
		ridge := Ridge{Scale: .5, Spread: .3}
		var fits []ScaledFit
		for _, data := range []Table{table, turned, back} {
			fit, err := FitTable(data, ridge, Everything, nil)
			if err != nil {
				t.Fatal(err)
			}
			fits = append(fits, fit)
		}
		for j, c := range fits[0].Coefficients {
			if math.Abs(c+fits[1].Coefficients[j]) > 1e-7 || math.Abs(c-fits[2].Coefficients[j]) > 1e-7 {
				t.Fatalf("column %d: %v, turned %v, in another order %v", j, c, fits[1].Coefficients[j], fits[2].Coefficients[j])
			}
		}
	})
}

func TestMissingValuesAreTheAverage(t *testing.T) {
	table := Table{Columns: 2, X: []float64{1, 0, math.NaN(), 1, 5, 1, 3, 0}, Hit: []bool{true, false, true, false}, Group: make([]int, 4), Groups: 1}
	s := table.Scale(Everything)
	assert.InDeltaSlice(t, []float64{3, .5}, s.Centre, 1e-12)
	assert.InDeltaSlice(t, []float64{4, 1}, s.Spread, 1e-12, "1, 5 and 3 have a deviation of 2; 0 and 1 are only centred")
	out := make([]float64, 3)
	s.Into(table.Row(1), out)
	assert.InDeltaSlice(t, []float64{1, 0, .5}, out, 1e-12)
	s.Into(table.Row(2), out)
	assert.InDeltaSlice(t, []float64{1, .5, .5}, out, 1e-12)
	same := table.Scale(func(i int) bool { return i == 0 })
	assert.InDeltaSlice(t, []float64{1, 1}, same.Spread, 0, "one row does not vary")
}
