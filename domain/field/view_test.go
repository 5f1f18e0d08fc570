package field

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func codeOf(t *testing.T, err error) ViewErrorCode {
	t.Helper()
	refused, is := errors.AsType[*ViewError](err)
	require.True(t, is, "%v", err)
	return refused.Code
}

// anyCamera gives cameras that stand round a field and look at the goal from above it.
func anyCamera(t *rapid.T) camera {
	turn := rapid.Float64Range(0, 2*math.Pi).Draw(t, "turn")
	far := rapid.Float64Range(20, 60).Draw(t, "far")
	return camera{
		at:    [3]float64{far * math.Sin(turn), far * math.Cos(turn), rapid.Float64Range(1.5, 15).Draw(t, "high")},
		to:    [3]float64{rapid.Float64Range(-3, 3).Draw(t, "to x"), rapid.Float64Range(-3, 8).Draw(t, "to y"), 0},
		focal: rapid.Float64Range(800, 3000).Draw(t, "focal"),
	}
}

// Marks without errors map back to their places, and so does every other point.
func TestAViewMapsItsMarksBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCamera(t)
		marks := c.marks(rapid.IntRange(4, 12).Draw(t, "n"))
		view, err := NewView(marks, .1)
		require.NoError(t, err)
		assert.False(t, view.Mirrored(), "no camera above the ground mirrors it")
		assert.Empty(t, view.Warnings)
		for i, m := range marks {
			got, err := view.Map(m.Picture, 0)
			require.NoError(t, err)
			assert.InDelta(t, m.Place.X, got.At.X, 1e-6)
			assert.InDelta(t, m.Place.Y, got.At.Y, 1e-6)
			assert.InDelta(t, 0, view.Residuals[i], 1e-6)
		}
	})
}

func TestTheOrderOfTheMarksDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCamera(t)
		marks := c.marks(rapid.IntRange(6, 12).Draw(t, "n"))
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		for i := range marks {
			marks[i].Picture = shaken(marks[i].Picture, .5, r)
			marks[i].PlaceErrorM = []float64{0, .02}[i%2]
		}
		view, err := NewView(marks, .5)
		if err != nil {
			t.Skip("too rough for these few marks")
		}
		r.Shuffle(len(marks), func(i, k int) { marks[i], marks[k] = marks[k], marks[i] })
		shuffled, err := NewView(marks, .5)
		require.NoError(t, err)
		click := c.picture(PlanePoint{1, 4})
		want, errWant := view.Map(click, 0)
		got, errGot := shuffled.Map(click, 0)
		require.Equal(t, errWant, errGot)
		if errWant == nil {
			scale := 1e-6 * (1 + want.Ellipse.HalfMajorM)
			assert.InDelta(t, want.At.X, got.At.X, scale)
			assert.InDelta(t, want.At.Y, got.At.Y, scale)
			assert.InEpsilon(t, want.Ellipse.HalfMajorM, got.Ellipse.HalfMajorM, 1e-5)
		}
	})
}

// A picture of the picture, taken by whatever homography, gives the same spots.
func TestViewsCompose(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := anyCamera(t)
		again := nearlyFlat(t, "again")
		again[6], again[7] = again[6]*1e-4, again[7]*1e-4 // keeps the horizon of the second picture off the marks
		if math.Abs(again.determinant()) < .1 {
			t.Skip("this one folds the picture flat")
		}
		copied := func(p Pixel) Pixel {
			u, v := again.Apply(p.U, p.V)
			return Pixel{u, v}
		}
		marks := c.marks(8)
		for i := range marks {
			if _, _, w := again.apply(marks[i].Picture.U, marks[i].Picture.V); w < .1 {
				t.Skip("the second picture does not see all marks")
			}
			marks[i].Picture = copied(marks[i].Picture)
		}
		view, err := NewView(marks, .01)
		require.NoError(t, err)
		want := PlanePoint{rapid.Float64Range(-10, 10).Draw(t, "x"), rapid.Float64Range(-8, 12).Draw(t, "y")}
		got, err := view.Map(copied(c.picture(want)), 0)
		require.NoError(t, err)
		assert.InDelta(t, want.X, got.At.X, 1e-5)
		assert.InDelta(t, want.Y, got.At.Y, 1e-5)
	})
}

// The covariance against the normal equations and OpenCV's estimates of 10,000 noisy copies of the marks.
func TestCovarianceAgainstTheReference(t *testing.T) {
	ref := readReference(t).Covariance
	view, err := NewView(marksOf(ref.Image, ref.Plane), ref.SigmaPx)
	require.NoError(t, err)
	for name, errorPx := range map[string]float64{"marks and spot": ref.SigmaPx, "marks only": 1e-9} {
		got, err := view.Map(Pixel{ref.Spot[0], ref.Spot[1]}, errorPx)
		require.NoError(t, err)
		for _, want := range [][2][2]float64{
			ref.FirstOrder["pixel error: "+name], ref.Simulated["opencv_plane_to_image_inverted: "+name],
		} {
			assert.InEpsilon(t, want[0][0], got.Covariance.XX*1e4, .05, name)
			assert.InEpsilon(t, want[1][1], got.Covariance.YY*1e4, .05, name)
			assert.InDelta(t, want[0][1]/math.Sqrt(want[0][0]*want[1][1]),
				got.Covariance.XY/math.Sqrt(got.Covariance.XX*got.Covariance.YY), .05, name)
		}
	}
}

func TestErrorsOfPlacesWidenTheSpot(t *testing.T) {
	c := cameras[2]
	half := func(errorM, errorPx float64) float64 {
		marks := c.marks(8)
		for i := range marks {
			marks[i].PlaceErrorM, marks[i].PixelErrorPx = errorM, .01
		}
		view, err := NewView(marks, 1)
		require.NoError(t, err)
		got, err := view.Map(c.picture(PlanePoint{0, 5}), errorPx)
		require.NoError(t, err)
		return got.Ellipse.HalfMajorM
	}
	assert.Less(t, half(0, 1), half(.05, 1))
	assert.Less(t, half(.05, 1), half(.1, 1))
	assert.Less(t, half(0, 1), half(0, 3))
	assert.InEpsilon(t, 2, half(.2, 1e-6)/half(.1, 1e-6), .01, "when places are all that is unsure, the spot goes with them")
}

func TestMarksThatAreRefused(t *testing.T) {
	good := cameras[0].marks(8)
	change := func(n int, f func([]ViewMark)) []ViewMark {
		marks := slices.Clone(good[:n])
		f(marks)
		return marks
	}
	onGoalLine := func(n int) []ViewMark {
		places := []PlanePoint{{-.9144, 0}, {.9144, 0}, {-2.7432, 0}, {2.7432, 0}, {18, 0}}[:n]
		places = append(places, PlanePoint{0, 2.7432})
		marks := make([]ViewMark, len(places))
		for i, p := range places {
			marks[i] = ViewMark{Place: p, Picture: cameras[0].picture(p)}
		}
		return marks
	}
	for name, c := range map[string]struct {
		marks []ViewMark
		want  ViewErrorCode
		which []int
	}{
		"three":                 {good[:3], ViewTooFewMarks, nil},
		"none":                  {nil, ViewTooFewMarks, nil},
		"not a number":          {change(4, func(m []ViewMark) { m[2].Picture.U = math.NaN() }), ViewNotFinite, []int{2}},
		"infinite":              {change(4, func(m []ViewMark) { m[1].Place.Y = math.Inf(1) }), ViewNotFinite, []int{1}},
		"a negative error":      {change(4, func(m []ViewMark) { m[3].PlaceErrorM = -1 }), ViewNotFinite, []int{3}},
		"one name twice":        {change(5, func(m []ViewMark) { m[4].Name = m[1].Name }), ViewRepeatedMark, []int{1, 4}},
		"one click twice":       {change(5, func(m []ViewMark) { m[4].Picture = m[0].Picture }), ViewRepeatedMark, []int{0, 4}},
		"one place twice":       {change(5, func(m []ViewMark) { m[3].Place = m[2].Place }), ViewRepeatedMark, []int{2, 3}},
		"three of four in line": {onGoalLine(3), ViewMarksInLine, []int{0, 1, 2}},
		"four of five in line":  {onGoalLine(4), ViewMarksInLine, []int{0, 1, 2, 3}},
		"five of six in line":   {onGoalLine(5), ViewMarksInLine, []int{0, 1, 2, 3, 4}},
		"four in line":          {onGoalLine(5)[:4], ViewMarksInLine, []int{0, 1, 2, 3}},
		"clicks in line": {change(4, func(m []ViewMark) {
			for i := range m {
				m[i].Picture.V = 300 + m[i].Picture.U/10
			}
		}), ViewMarksInLine, []int{0, 1, 2, 3}},
	} {
		_, err := NewView(c.marks, 1)
		assert.Equal(t, c.want, codeOf(t, err), name)
		refused, _ := errors.AsType[*ViewError](err)
		assert.Equal(t, c.which, refused.Marks, name)
	}
	for _, errorPx := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		_, err := NewView(good, errorPx)
		assert.Equal(t, ViewNotFinite, codeOf(t, err), "%g", errorPx)
	}
	_, err := NewView(append(onGoalLine(4), good[3]), 1)
	assert.NoError(t, err, "four in line and two more are enough")
}

// Two of four corners exchanged make a bow tie, of which no camera sees both halves.
func TestExchangedMarksAreRefused(t *testing.T) {
	square := []ViewMark{
		{Name: "a", Place: PlanePoint{0, 0}, Picture: Pixel{100, 100}}, {Name: "b", Place: PlanePoint{1, 0}, Picture: Pixel{900, 120}},
		{Name: "c", Place: PlanePoint{1, 1}, Picture: Pixel{800, 700}}, {Name: "d", Place: PlanePoint{0, 1}, Picture: Pixel{150, 650}},
	}
	_, err := NewView(square, 1)
	require.NoError(t, err)
	square[2].Picture, square[3].Picture = square[3].Picture, square[2].Picture
	_, err = NewView(square, 1)
	assert.Equal(t, ViewMarksOpposite, codeOf(t, err))
	refused, _ := errors.AsType[*ViewError](err)
	assert.Len(t, refused.Marks, 2)
}

func TestClicksThatAreRefused(t *testing.T) {
	c := cameras[0]
	view, err := NewView(c.marks(8), 1)
	require.NoError(t, err)
	// The horizon of a camera at height h, as far as it looks: the picture of what is very far away.
	horizon := c.picture(PlanePoint{-1e9, 5})
	for name, click := range map[string]Pixel{
		"on it": horizon, "above it": {horizon.U, horizon.V - 200}, "in the sky": {0, -5000},
	} {
		_, err := view.Map(click, 0)
		assert.Contains(t, []ViewErrorCode{ViewClickHorizon, ViewClickUnsure}, codeOf(t, err), name)
	}
	_, err = view.Map(Pixel{horizon.U, horizon.V - 200}, 0)
	assert.Equal(t, ViewClickHorizon, codeOf(t, err))
	_, err = view.Map(Pixel{horizon.U, horizon.V + 2}, 0)
	assert.Equal(t, ViewClickUnsure, codeOf(t, err))
	for _, click := range []Pixel{{math.NaN(), 1}, {1, math.Inf(-1)}} {
		_, err = view.Map(click, 0)
		assert.Equal(t, ViewNotFinite, codeOf(t, err))
	}
	_, err = view.Map(Pixel{960, 540}, -1)
	assert.Equal(t, ViewNotFinite, codeOf(t, err))
}

// A spot is coarse from one metre of half-axis on, however that came about.
func TestCoarse(t *testing.T) {
	c := cameras[3]
	view, err := NewView(c.marks(8), 1)
	require.NoError(t, err)
	seen := map[bool]int{}
	for errorPx := .5; errorPx < 8; errorPx += .1 {
		got, err := view.Map(c.picture(PlanePoint{0, 5}), errorPx)
		require.NoError(t, err)
		assert.Equal(t, got.Ellipse.HalfMajorM > 1, got.Coarse)
		seen[got.Coarse]++
	}
	assert.Len(t, seen, 2, "both kinds must come up")
}

// The goal's plane from its corners, seen from the field and from behind.
func TestTheGoalsPlane(t *testing.T) {
	corners := []PlanePoint{{-.9144, 0}, {.9144, 0}, {.9144, 1.8288}, {-.9144, 1.8288}}
	for name, c := range map[string]struct {
		at       [3]float64
		mirrored bool
	}{"from the field": {[3]float64{4, 20, 3}, true}, "from behind": {[3]float64{4, -20, 3}, false}} {
		cam := camera{at: c.at, to: [3]float64{0, 0, 1}, focal: 3000}
		marks := make([]ViewMark, 4)
		for i, p := range corners {
			marks[i] = ViewMark{Place: p, Picture: cam.pictureOf([3]float64{p.X, 0, p.Y})}
		}
		view, err := NewView(marks, 1)
		require.NoError(t, err)
		assert.Equal(t, c.mirrored, view.Mirrored(), name)
		got, err := view.Map(cam.pictureOf([3]float64{.3, 0, 1.2}), 0)
		require.NoError(t, err)
		assert.InDelta(t, .3, got.At.X, 1e-9, name)
		assert.InDelta(t, 1.2, got.At.Y, 1e-9, name)
		assert.Less(t, got.Ellipse.HalfMajorM, .05, name)
	}
}

func TestExchangedSidesAreMirrored(t *testing.T) {
	marks := cameras[0].marks(8)
	for i := range marks {
		marks[i].Place.X = -marks[i].Place.X
	}
	view, err := NewView(marks, 1)
	require.NoError(t, err)
	assert.True(t, view.Mirrored())
}
