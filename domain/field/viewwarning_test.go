package field

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func roughMarks(c camera, n int, sd float64, seed uint64) []ViewMark {
	r := rand.New(rand.NewPCG(seed, 7))
	marks := c.marks(n)
	for i := range marks {
		marks[i].Picture = shaken(marks[i].Picture, sd, r)
	}
	return marks
}

func TestTheMarkThatDoesNotFitIsNamed(t *testing.T) {
	for _, c := range cameras {
		for off := range 10 {
			marks := roughMarks(c, 10, 1, uint64(off))
			marks[off].Picture.U += 25
			marks[off].Picture.V -= 15
			view, err := NewView(marks, 1)
			require.NoError(t, err)
			require.Len(t, view.Warnings, 1, "%s, %s", c.name, marks[off].Name)
			assert.Contains(t, view.Warnings[0].Marks, off, "%s, %s", c.name, marks[off].Name)
			assert.Contains(t, view.Warnings[0].Detail, marks[off].Name)
		}
	}
}

func TestTwoMarksThatDoNotFitAreNamed(t *testing.T) {
	marks := roughMarks(cameras[2], 12, 1, 1)
	marks[3].Picture.U += 40
	marks[9].Picture.V += 40
	view, err := NewView(marks, 1)
	require.NoError(t, err)
	var named []int
	for _, w := range view.Warnings {
		assert.Equal(t, ViewMarkOff, w.Code)
		named = append(named, w.Marks...)
	}
	assert.ElementsMatch(t, []int{3, 9}, named)
}

// Of five marks any four fit, so that one is off can be seen, but not which.
func TestOfFiveMarksItCannotBeToldWhichIsOff(t *testing.T) {
	marks := cameras[2].marks(5)
	marks[2].Picture.U += 30
	view, err := NewView(marks, 1)
	require.NoError(t, err)
	require.Len(t, view.Warnings, 1)
	assert.Equal(t, ViewOneMarkOff, view.Warnings[0].Code)
	assert.Contains(t, view.Warnings[0].Marks, 2)
	assert.Greater(t, len(view.Warnings[0].Marks), 1)
}

// Marks that are all rougher than said are not blamed one by one, and the ellipse grows with them.
func TestRoughMarksWidenTheEllipse(t *testing.T) {
	c := cameras[2]
	marks := roughMarks(c, 12, 3, 3)
	honest, err := NewView(marks, 3)
	require.NoError(t, err)
	assert.Empty(t, honest.Warnings)
	boast, err := NewView(marks, 1)
	require.NoError(t, err)
	require.NotEmpty(t, boast.Warnings)
	click := c.picture(PlanePoint{0, 5})
	want, err := honest.Map(click, 1e-6)
	require.NoError(t, err)
	got, err := boast.Map(click, 1e-6)
	require.NoError(t, err)
	assert.InEpsilon(t, want.Ellipse.HalfMajorM, got.Ellipse.HalfMajorM, .35)
}

// Good marks give a false alarm in no more than about two views of a hundred: each of the two tests is set to one.
func TestGoodMarksRaiseFewWarnings(t *testing.T) {
	const views = 1000
	warned := 0
	for seed := range uint64(views) {
		view, err := NewView(roughMarks(cameras[1], 8, 1, seed), 1)
		require.NoError(t, err)
		if len(view.Warnings) > 0 {
			warned++
		}
	}
	assert.LessOrEqual(t, warned, 33)
	assert.Positive(t, warned, "a test that never warns is none")
}
