package stats

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// agreementValues are those of a table that its source gives.
type agreementValues map[string]float64

type agreementCase struct {
	Name, Source       string
	Table              [][]int
	Weights            [][]float64
	Published          agreementValues
	PublishedTolerance float64 `json:"published_tolerance"`
	Computed           agreementValues
}

func agreements(t *testing.T) (cases, weighted []agreementCase, tolerance float64) {
	t.Helper()
	var all struct {
		Tolerance       float64
		Cases, Weighted []agreementCase
	}
	published(t, "agreement.json", &all)
	require.Len(t, all.Cases, 7)
	require.Len(t, all.Weighted, 2)
	return all.Cases, all.Weighted, all.Tolerance
}

// assertValues compares what is named with what was found; every name must be known.
func assertValues(t *testing.T, want, got agreementValues, tolerance float64, name string) {
	t.Helper()
	for field, value := range want {
		v, known := got[field]
		require.True(t, known, "%s of %s", field, name)
		assert.InDelta(t, value, v, tolerance, "%s of %s", field, name)
	}
}

func TestAgreementAgainstPublishedValues(t *testing.T) {
	cases, _, tolerance := agreements(t)
	for _, c := range cases {
		a := Agree(c.Table)
		got := agreementValues{
			"percent": a.Percent, "kappa": a.Kappa, "kappa_error": a.KappaError, "kappa_null_error": a.KappaNullError,
			"ac1": a.AC1, "ac1_error": a.AC1Error, "pabak": a.PABAK, "pabak_error": a.PABAKError,
			"positive": a.Specific[0], "negative": a.Specific[1], "prevalence": a.PrevalenceIndex, "bias": a.Bias,
		}
		assertValues(t, c.Published, got, c.PublishedTolerance, c.Name)
		assertValues(t, c.Computed, got, tolerance, c.Name)
	}
}

func TestWeightedKappaAgainstPublishedValues(t *testing.T) {
	_, weighted, tolerance := agreements(t)
	for _, c := range weighted {
		percent, kappa, se, null := WeightedKappa(c.Table, c.Weights)
		got := agreementValues{"percent": percent, "kappa": kappa, "kappa_error": se, "kappa_null_error": null}
		assertValues(t, c.Published, got, c.PublishedTolerance, c.Name)
		assertValues(t, c.Computed, got, tolerance, c.Name)
	}
}

func TestWhereKappaIsNothing(t *testing.T) {
	a := Agree([][]int{{40, 0}, {0, 0}})
	assert.True(t, math.IsNaN(a.Kappa), "0/0 is neither no agreement nor full")
	assert.InDelta(t, 1, a.AC1, 0)
	assert.InDelta(t, 1, a.PABAK, 0)
	assert.InDelta(t, 1, a.Percent, 0)
	assert.True(t, math.IsNaN(a.Specific[1]), "nobody ever put anything there")
	none := Agree([][]int{{0, 0}, {0, 0}})
	assert.True(t, math.IsNaN(none.Percent) && math.IsNaN(none.AC1) && math.IsNaN(none.Kappa))
}

func TestQuadraticWeights(t *testing.T) {
	assert.Equal(t, [][]float64{{1, .75, 0}, {.75, 1, .75}, {0, .75, 1}}, QuadraticWeights(3))
}

func TestAgreementProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.IntRange(2, 5).Draw(t, "categories")
		table, swapped, relabelled := make([][]int, q), make([][]int, q), make([][]int, q)
		for i := range q {
			table[i] = rapid.SliceOfN(rapid.IntRange(0, 30), q, q).Draw(t, "row")
			swapped[i], relabelled[i] = make([]int, q), make([]int, q)
		}
		table[0][1]++ // somebody
		for i := range q {
			for j := range q {
				swapped[j][i] = table[i][j]
				relabelled[q-1-i][q-1-j] = table[i][j]
			}
		}
		a := Agree(table)
		for _, b := range []Agreement{Agree(swapped), Agree(relabelled)} {
			for _, pair := range [][2]float64{
				{a.Percent, b.Percent}, {a.AC1, b.AC1}, {a.AC1Error, b.AC1Error}, {a.Kappa, b.Kappa},
				{a.KappaError, b.KappaError}, {a.PABAK, b.PABAK},
			} {
				if math.IsNaN(pair[0]) != math.IsNaN(pair[1]) || math.Abs(pair[0]-pair[1]) > 1e-9 {
					t.Fatalf("%+v and %+v", a, b)
				}
			}
		}
		if a.Percent < 0 || a.Percent > 1 || a.AC1 < -1-1e-9 || a.AC1 > 1 || a.PABAK < -1-1e-9 || a.PABAK > 1 {
			t.Fatalf("%+v", a)
		}
	})
}
