package stats

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

// drawn gives rows whose hits follow known coefficients and groups' effects.
func drawn(n, columns, groups int, size, spread float64) (table Table, effects []float64) {
	r := rand.New(rand.NewPCG(7, uint64(n*columns)))
	table = Table{Columns: columns, Groups: groups}
	beta := make([]float64, columns)
	effects = make([]float64, groups)
	for j := range beta {
		beta[j] = size * r.NormFloat64()
	}
	for g := range effects {
		effects[g] = spread * r.NormFloat64()
	}
	for i := range n {
		eta, g := 0.2, i%groups
		for j := range columns {
			x := r.NormFloat64()
			eta += beta[j] * x
			table.X = append(table.X, x)
		}
		table.Group = append(table.Group, g)
		table.Hit = append(table.Hit, r.Float64() < Sigmoid(eta+effects[g]))
	}
	return table, effects
}

func TestFoldsKeepGroupsTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := invented(t, rapid.IntRange(1, 60).Draw(t, "n"), 1, rapid.IntRange(1, 9).Draw(t, "groups"))
		fold, parts := Folds(table, 4)
		part, rows := map[int]int{}, make([]int, parts)
		for i, g := range table.Group {
			rows[fold[i]]++
			if p, seen := part[g]; seen && p != fold[i] && len(part) > 1 {
				t.Fatalf("group %d is in two parts", g)
			}
			part[g] = fold[i]
		}
		if parts > 4 {
			t.Fatalf("%d parts", parts)
		}
		for p, n := range rows {
			if n == 0 {
				t.Fatalf("part %d is empty", p)
			}
		}
	})
}

func TestOneGroupAloneIsDealtByRows(t *testing.T) {
	table := Table{Columns: 1, X: make([]float64, 10), Hit: make([]bool, 10), Group: make([]int, 10), Groups: 1}
	fold, parts := Folds(table, 4)
	assert.Equal(t, 4, parts)
	assert.Equal(t, []int{0, 1, 2, 3, 0, 1, 2, 3, 0, 1}, fold)
}

// A part's chances must not move when that part's outcomes do.
func TestAPartIsJudgedByFitsThatDidNotSeeIt(t *testing.T) {
	table, _ := drawn(300, 3, 6, .5, .2)
	fold, parts := Folds(table, 3)
	_, before, err := CrossFit(table, Ridge{Scale: 1, Spread: .2}, fold, parts, nil)
	require.NoError(t, err)
	changed := 0
	for i := range table.Hit {
		if fold[i] == 0 {
			table.Hit[i] = !table.Hit[i]
		}
	}
	_, after, err := CrossFit(table, Ridge{Scale: 1, Spread: .2}, fold, parts, nil)
	require.NoError(t, err)
	for i, p := range fold {
		if p == 0 {
			assert.InDelta(t, before[i], after[i], 1e-12)
		} else if math.Abs(before[i]-after[i]) > 1e-3 {
			changed++
		}
	}
	assert.Positive(t, changed, "the other parts did see it")
}

func TestTheScaleFollowsTheData(t *testing.T) {
	nothing, _ := drawn(600, 8, 6, 0, 0)
	fold, parts := Folds(nothing, 5)
	tight, err := ChooseScale(nothing, .2, fold, parts)
	require.NoError(t, err)
	much, _ := drawn(600, 8, 6, .6, 0)
	fold, parts = Folds(much, 5)
	loose, err := ChooseScale(much, .2, fold, parts)
	require.NoError(t, err)
	assert.LessOrEqual(t, tight, .2, "columns that say nothing are held back")
	assert.GreaterOrEqual(t, loose, .7, "columns that say much are let go: scaled coefficients have a spread of 1.2")
}

func TestTheSpreadOfGroupsFollowsTheData(t *testing.T) {
	alike, _ := drawn(6000, 2, 30, .5, 0)
	apart, effects := drawn(6000, 2, 30, .5, .5)
	none, err := GroupSpread(alike, 1)
	require.NoError(t, err)
	some, err := GroupSpread(apart, 1)
	require.NoError(t, err)
	assert.Less(t, none, .12)
	assert.InDelta(t, stat.StdDev(effects, nil), some, .12, "what was drawn, not what it was drawn from")
	one, _ := drawn(40, 2, 1, .5, .5)
	alone, err := GroupSpread(one, 1)
	require.NoError(t, err)
	assert.InDelta(t, .26, alone, .06, "one group says next to nothing: the middle of those tried")
}
