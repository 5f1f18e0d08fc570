package stats

import "math"

// Table holds observations with the values of their columns as they were measured, row after row. NaN is a value that
// is missing. It is the only copy of the data: fits scale each row as they walk by it.
type Table struct {
	Columns int
	X       []float64 // Columns values a row
	Hit     []bool    // one a row
	Group   []int     // one a row, from 0; whoever's outcome it was
	Groups  int
}

// Len gives the number of rows.
func (t Table) Len() int { return len(t.Hit) }

// Row gives a row's measured values.
func (t Table) Row(i int) []float64 { return t.X[i*t.Columns : (i+1)*t.Columns] }

// Scaling turns measured values into what a fit sees: (value − Centre) / Spread, and 0, the average, for a value that is
// missing.
type Scaling struct {
	Centre []float64 `json:"centre"`
	Spread []float64 `json:"spread"`
}

// Scale gives the scaling of the rows that are kept: a column of zeros and ones is centred; any other is centred and
// divided by twice its standard deviation, so that the coefficients of both are about as large. A column that does not
// vary is left at 0 by its centring. Rows that a fit is judged on must not be kept.
//
// Source: Gelman 2008, Statistics in Medicine 27:2865-2873.
func (t Table) Scale(keep func(row int) bool) Scaling {
	n, mean, square := make([]float64, t.Columns), make([]float64, t.Columns), make([]float64, t.Columns)
	binary := make([]bool, t.Columns)
	for j := range binary {
		binary[j] = true
	}
	for i := range t.Len() {
		if !keep(i) {
			continue
		}
		for j, v := range t.Row(i) {
			if math.IsNaN(v) {
				continue
			}
			n[j]++ // running mean and sum of squares: Welford 1962
			delta := v - mean[j]
			mean[j] += delta / n[j]
			square[j] += delta * (v - mean[j])
			binary[j] = binary[j] && (v == 0 || v == 1)
		}
	}
	s := Scaling{Centre: mean, Spread: make([]float64, t.Columns)}
	for j := range s.Spread {
		s.Spread[j] = 1
		if !binary[j] && square[j] > 0 {
			s.Spread[j] = 2 * math.Sqrt(square[j]/(n[j]-1))
		}
	}
	return s
}

// Into writes the constant 1 and the scaled values of a row, one more than it has columns.
func (s Scaling) Into(row, out []float64) {
	out[0] = 1
	for j, v := range row {
		z := (v - s.Centre[j]) / s.Spread[j]
		if z != z { // missing
			z = 0
		}
		out[j+1] = z
	}
}

// Rows walks the rows that are kept, each with the constant and its scaled values.
func (t Table) Rows(s Scaling, keep func(row int) bool) Rows {
	return func(yield func(Row) bool) {
		x := make([]float64, t.Columns+1)
		for i := range t.Len() {
			if !keep(i) {
				continue
			}
			s.Into(t.Row(i), x)
			hit := 0.0
			if t.Hit[i] {
				hit = 1
			}
			if !yield(Row{X: x, Hits: hit, Tries: 1, Group: t.Group[i]}) {
				return
			}
		}
	}
}

// Everything keeps every row.
func Everything(int) bool { return true }
