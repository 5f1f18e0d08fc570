package field

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// ViewWarningCode says what is odd about the marks of a view.
type ViewWarningCode string

// The warnings.
const (
	ViewMarkOff    ViewWarningCode = "mark_off"     // one mark does not fit the others
	ViewOneMarkOff ViewWarningCode = "one_mark_off" // one of several does not fit, and it cannot be told which
	ViewMarksRough ViewWarningCode = "marks_rough"  // the marks fit each other worse than their errors say, none more than others
)

// ViewWarning is something odd about the marks of a view that may be right. Marks are places in the list of the marks.
type ViewWarning struct {
	Code   ViewWarningCode
	Marks  []int
	Detail string
}

const (
	falseAlarm = .01 // of the views whose marks are all as good as they are said to be
	// doubt is by how much the misfit without one mark must beat that without another to blame it: 99 to 1 in likelihood.
	doubt = 9.2
)

// residuals gives how far each mark lies from where the projection shows its place, in pixels.
func (f fit) residuals() []float64 {
	out := make([]float64, len(f.sightings))
	for i, s := range f.sightings {
		u, v, _ := f.projection.at(s.x, s.y)
		out[i] = math.Hypot(s.u-u, s.v-v) / f.picture.factor
	}
	return out
}

// judge gives the warnings, and the factor by which to widen what the marks leave open: 1 unless they fit each other worse
// than their errors say.
func judge(marks []ViewMark, errorPx float64, f fit) ([]ViewWarning, float64) {
	freedom := 2*len(marks) - 8
	if freedom == 0 || improbable(f.misfit, freedom) > falseAlarm {
		return blame(marks, errorPx, f), 1
	}
	found, widen := blame(marks, errorPx, f), math.Sqrt(f.misfit/float64(freedom))
	if len(found) == 0 {
		found = []ViewWarning{{ViewMarksRough, nil, fmt.Sprintf(
			"the marks fit each other %.1f times worse than their errors say: the camera moved, the lens bends straight lines, or clicks are rougher", widen)}}
	}
	return found, widen
}

// improbable gives how often a misfit this large comes about when the marks' errors are what they are said to be.
func improbable(misfit float64, freedom int) float64 {
	return distuv.ChiSquared{K: float64(freedom)}.Survival(misfit)
}

// blame names the marks that do not fit. Leaving out a good mark lessens the misfit by a chi-squared number with two
// degrees of freedom; the mark whose absence lessens it most is blamed when that is improbable for the luckiest of so
// many (data snooping; Baarda, A testing procedure for use in geodetic networks, 1968), and the rest are judged again.
func blame(marks []ViewMark, errorPx float64, f fit) []ViewWarning {
	var found []ViewWarning
	left := make([]int, len(marks))
	for i := range left {
		left[i] = i
	}
	for len(left) > 4 {
		limit := -2 * math.Log(falseAlarm/float64(len(left)))
		if f.misfit < limit {
			return found // no mark's absence can lessen it by that much
		}
		worst, suspects, gain := worstOf(marks, errorPx, left, f.misfit)
		if len(suspects) == 0 || gain < limit {
			return found
		}
		if len(suspects) > 1 {
			return append(found, ViewWarning{ViewOneMarkOff, suspects,
				"one of these does not fit the other marks; more marks would tell which: " + calledAll(marks, suspects)})
		}
		found = append(found, ViewWarning{ViewMarkOff, suspects, called(marks, suspects[0]) + " does not fit the other marks"})
		left = slices.DeleteFunc(left, func(i int) bool { return i == suspects[0] })
		f = worst
	}
	return found
}

// worstOf gives the fit without the mark that fits least, that mark with all that may as well be it, and how much the
// misfit lessens. Marks that the others need are not suspected.
func worstOf(marks []ViewMark, errorPx float64, left []int, misfit float64) (best fit, suspects []int, gain float64) {
	without := map[int]fit{}
	least := math.Inf(1)
	for _, i := range left {
		var others []ViewMark
		for _, k := range left {
			if k != i {
				others = append(others, marks[k])
			}
		}
		if refuseMarks(others) != nil {
			continue
		}
		f, refused := fitMarks(others, errorPx)
		if refused != nil {
			continue
		}
		without[i] = f
		if f.misfit < least {
			best, least = f, f.misfit
		}
	}
	for _, i := range left {
		if f, ok := without[i]; ok && f.misfit-least < doubt {
			suspects = append(suspects, i)
		}
	}
	return best, suspects, misfit - least
}
