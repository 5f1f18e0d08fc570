package field

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// ViewErrorCode says why marks make no view, or a click no spot.
type ViewErrorCode string

// The reasons.
const (
	ViewNotFinite     ViewErrorCode = "not_finite"     // a number of a mark or click is not finite, or an error is negative
	ViewTooFewMarks   ViewErrorCode = "too_few_marks"  // fewer than four
	ViewRepeatedMark  ViewErrorCode = "repeated_mark"  // two marks have one name, one point of the picture or one place
	ViewMarksInLine   ViewErrorCode = "marks_in_line"  // there are no four of which no three lie in a line
	ViewMarksOpposite ViewErrorCode = "marks_opposite" // marks lie on both sides of the horizon, which no camera can see
	ViewClickHorizon  ViewErrorCode = "click_horizon"  // the click lies on or beyond the horizon
	ViewClickUnsure   ViewErrorCode = "click_unsure"   // it lies before the horizon, but its own error and the marks' reach that
)

// ViewError is a refusal. Marks are the places, in the list that was given, of the marks that it is about.
type ViewError struct {
	Code   ViewErrorCode
	Marks  []int
	Detail string
}

// Error gives the reason in words.
func (e *ViewError) Error() string { return e.Detail }

// refuseMarks gives the first reason for which marks make no view, or nil.
func refuseMarks(marks []ViewMark) *ViewError {
	for i, m := range marks {
		numbers := []float64{m.Picture.U, m.Picture.V, m.Place.X, m.Place.Y, m.PixelErrorPx, m.PlaceErrorM}
		if !slices.ContainsFunc(numbers, notFinite) && m.PixelErrorPx >= 0 && m.PlaceErrorM >= 0 {
			continue
		}
		return &ViewError{ViewNotFinite, []int{i}, fmt.Sprintf("%s: its numbers must be finite, its errors not negative", called(marks, i))}
	}
	if len(marks) < 4 {
		return &ViewError{ViewTooFewMarks, nil, fmt.Sprintf("a view needs at least four marks; there are %d", len(marks))}
	}
	if e := refuseRepeats(marks); e != nil {
		return e
	}
	return refuseLines(marks)
}

func notFinite(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

func called(marks []ViewMark, i int) string {
	if marks[i].Name != "" {
		return marks[i].Name
	}
	return fmt.Sprintf("mark %d", i+1)
}

func calledAll(marks []ViewMark, which []int) string {
	names := make([]string, len(which))
	for k, i := range which {
		names[k] = called(marks, i)
	}
	return strings.Join(names, ", ")
}

func refuseRepeats(marks []ViewMark) *ViewError {
	for i, a := range marks {
		for k, b := range marks[:i] {
			what := ""
			switch {
			case a.Name != "" && a.Name == b.Name:
				what = "have one name"
			case a.Picture == b.Picture:
				what = "have one point of the picture"
			case a.Place == b.Place:
				what = "have one place"
			default:
				continue
			}
			return &ViewError{ViewRepeatedMark, []int{k, i}, fmt.Sprintf("%s and %s %s", called(marks, k), called(marks, i), what)}
		}
	}
	return nil
}

// straight is the height of a triangle, as a part of its longest side, under which its corners lie in a line.
const straight = 1e-3

// refuseLines refuses marks among which there are no four of which no three lie in a line, on the field or in the
// picture: one line and one point more tell nothing of the rest of the plane, however many marks lie on the line.
func refuseLines(marks []ViewMark) *ViewError {
	n := len(marks)
	inLine := func(i, j, k int) bool {
		a, b, c := marks[i], marks[j], marks[k]
		return flat(a.Place.X, a.Place.Y, b.Place.X, b.Place.Y, c.Place.X, c.Place.Y) ||
			flat(a.Picture.U, a.Picture.V, b.Picture.U, b.Picture.V, c.Picture.U, c.Picture.V)
	}
	for i := range n {
		for j := range i {
			for k := range j {
				if inLine(i, j, k) {
					continue
				}
				for l := range k {
					if !inLine(i, j, l) && !inLine(i, k, l) && !inLine(j, k, l) {
						return nil
					}
				}
			}
		}
	}
	line := longestLine(n, inLine)
	return &ViewError{ViewMarksInLine, line,
		fmt.Sprintf("there must be four marks of which no three lie in a line; in a line lie %s", calledAll(marks, line))}
}

// flat tells whether three points lie in a line.
func flat(ax, ay, bx, by, cx, cy float64) bool {
	twiceArea := math.Abs((bx-ax)*(cy-ay) - (cx-ax)*(by-ay))
	longest := max(math.Hypot(bx-ax, by-ay), math.Hypot(cx-ax, cy-ay), math.Hypot(cx-bx, cy-by))
	return twiceArea <= straight*longest*longest
}

// longestLine gives the most marks that lie in a line with one pair of them.
func longestLine(n int, inLine func(i, j, k int) bool) []int {
	var longest []int
	for i := range n {
		for j := range i {
			on := []int{j, i}
			for k := range n {
				if k != i && k != j && inLine(i, j, k) {
					on = append(on, k)
				}
			}
			if len(on) > len(longest) {
				longest = on
			}
		}
	}
	slices.Sort(longest)
	return longest
}

// refuseOpposite refuses marks some of which the fit puts beyond the horizon: no camera sees both sides, so a mark has
// another's name or was clicked in another's place.
func refuseOpposite(marks []ViewMark, h *Homography, all []sighting) *ViewError {
	var ahead, behind []int
	for i, s := range all {
		if _, _, w := h.apply(s.x, s.y); w > 0 {
			ahead = append(ahead, i)
		} else {
			behind = append(behind, i)
		}
	}
	if len(ahead) == 0 || len(behind) == 0 {
		return nil
	}
	fewer := behind
	if len(ahead) < len(behind) {
		fewer = ahead
	}
	return &ViewError{ViewMarksOpposite, fewer,
		fmt.Sprintf("the marks fit only with some on either side of the horizon, so two may be exchanged; on one side lie %s", calledAll(marks, fewer))}
}

func tooFlat(marks []ViewMark) *ViewError {
	all := make([]int, len(marks))
	for i := range all {
		all[i] = i
	}
	return &ViewError{ViewMarksInLine, all, "the marks lie too nearly in a line to tell the rest of the plane"}
}
