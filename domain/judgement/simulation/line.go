package simulation

import (
	"fmt"
	"math"
)

// Section is a part of the simulation: what it is about, and a run of it.
type Section struct {
	Name string
	Run  func(Size) []Line
}

// Sections are all parts, in the order in which they are printed.
var Sections = []Section{
	{"programs whose spread is fixed", FixedTruth},
	{"programs drawn from the method's own prior", OwnPrior},
	{"charts of change", func(s Size) []Line { return lines(Signal(s.times(6000, 300), s.Seed)) }},
	{"difficulty of shots", func(s Size) []Line { return lines(Difficulty(s.times(80, 10), s.Full, s.Seed)) }},
}

// Size is how large a run is.
type Size struct {
	Goalies int  // about how many a setting
	Full    bool // all settings, and standard errors under their caps; else a few settings
	Seed    uint64
}

// times gives a number of repeats for a full run or a small one.
func (s Size) times(full, smoke int) int {
	if s.Full {
		return full
	}
	return smoke
}

// Smoke is the size that takes seconds, Full the size at which aims are claimed.
var (
	Smoke = Size{Goalies: 240, Seed: 1}
	Full  = Size{Goalies: 3600, Full: true, Seed: 1}
)

// Aim is the range in which a measure must lie. An open side is an infinity.
type Aim struct{ Low, High float64 }

// AtMost and AtLeast are aims with one side.
func AtMost(high float64) *Aim { return &Aim{math.Inf(-1), high} }

// AtLeast is an aim with a low side only.
func AtLeast(low float64) *Aim { return &Aim{low, math.Inf(1)} }

func (a Aim) String() string {
	switch {
	case math.IsInf(a.Low, -1):
		return fmt.Sprintf("≤ %.3g", a.High)
	case math.IsInf(a.High, 1):
		return fmt.Sprintf("≥ %.3g", a.Low)
	}
	return fmt.Sprintf("%.3g to %.3g", a.Low, a.High)
}

// Line is one measure of one method in one setting.
type Line struct {
	Measure string // with the aim it names a row of the table
	Setting string
	Method  string
	Value   float64
	SE      float64
	Aim     *Aim    // nil: reported only
	Cap     float64 // of the standard error in a full run; 0: none
	Rule    bool    // of thumb: it runs beside the method and may miss
}

// Missed tells whether a measure is beyond its aim by more than three standard errors, or cannot be measured.
func (l Line) Missed() bool {
	if l.Aim == nil {
		return false
	}
	inside := l.Value-3*l.SE <= l.Aim.High && l.Value+3*l.SE >= l.Aim.Low
	return !inside
}

// TooSmall tells whether a full run was too small to tell.
func (l Line) TooSmall() bool { return l.Aim != nil && l.Cap > 0 && !(l.SE <= l.Cap) }

// Beyond tells by how much the measure itself, whatever its error, is beyond its aim; below 0 it is inside.
func (l Line) Beyond() float64 { return max(l.Value-l.Aim.High, l.Aim.Low-l.Value) }

// ratio is a ratio of sums over programs. Its standard error is by programs, which are independent.
type ratio struct{ above, below []float64 }

func (r *ratio) add(above, below float64) {
	r.above, r.below = append(r.above, above), append(r.below, below)
}

// value gives the ratio and its standard error, sd(aᵢ − r·bᵢ)·√n / Σb; NaN when the sum below is 0.
func (r ratio) value() (value, se float64) {
	a, b := 0.0, 0.0
	for i := range r.above {
		a, b = a+r.above[i], b+r.below[i]
	}
	if b == 0 {
		return math.NaN(), math.NaN()
	}
	value = a / b
	square, n := 0.0, float64(len(r.above))
	for i := range r.above {
		d := r.above[i] - value*r.below[i]
		square += d * d
	}
	if n < 2 {
		return value, math.Inf(1)
	}
	return value, math.Sqrt(square/(n-1)*n) / math.Abs(b)
}

// root gives the square root of the ratio and its standard error.
func (r ratio) root() (value, se float64) {
	value, se = r.value()
	return math.Sqrt(value), se / (2 * math.Sqrt(value))
}
