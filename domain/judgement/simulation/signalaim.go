// Package simulation measures what the judgement reaches on invented programs whose truth is known, against aims that
// were set beforehand. What it measures by chance it gives with a standard error; what it can work out it works out.
package simulation

import (
	"math"
	"math/rand/v2"
)

// Figure is one measured figure beside its aim.
type Figure struct {
	Section  string // what it is about
	Name     string // what was measured
	Method   string // Ours, or a rule of thumb that is measured beside it
	Measured float64
	SE       float64 // standard error; 0 when the figure is exact
	Aim      float64 // NaN: reported without one
	AtLeast  bool    // the figure must reach the aim rather than stay under it
	Cap      float64 // a standard error above it is too large to tell by; 0: any will do
}

// Ours is the method of the service.
const Ours = "ours"

// Verdict is how a figure stands against its aim.
type Verdict string

// The verdicts. A run that is too small to tell has not passed.
const (
	Met      Verdict = "met"
	Missed   Verdict = "missed"
	TooSmall Verdict = "too small a run"
	NoAim    Verdict = "no aim"
)

// Verdict judges a figure: it misses its aim when it does so by more than three standard errors.
func (f Figure) Verdict() Verdict {
	beyond := f.Measured - f.Aim
	if f.AtLeast {
		beyond = -beyond
	}
	switch {
	case math.IsNaN(f.Aim):
		return NoAim
	case beyond-3*f.SE > 0:
		return Missed
	case math.IsNaN(f.Measured) || f.Cap > 0 && !(f.SE <= f.Cap):
		return TooSmall
	}
	return Met
}

// lines gives figures as lines of the table.
func lines(figures []Figure) []Line {
	out := make([]Line, len(figures))
	for i, f := range figures {
		out[i] = Line{Measure: f.Section + " " + f.Name, Method: f.Method, Value: f.Measured, SE: f.SE, Cap: f.Cap, Rule: f.Method != Ours}
		switch {
		case math.IsNaN(f.Aim):
		case f.AtLeast:
			out[i].Aim = AtLeast(f.Aim)
		default:
			out[i].Aim = AtMost(f.Aim)
		}
	}
	return out
}

// share gives k of n with its standard error.
func share(k, n int) (rate, se float64) {
	rate = float64(k) / float64(n)
	return rate, math.Sqrt(rate * (1 - rate) / float64(n))
}

// meanOf gives a mean with its standard error.
func meanOf(values []float64) (mean, se float64) {
	n := float64(len(values))
	for _, v := range values {
		mean += v / n
	}
	for _, v := range values {
		se += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(se / (n - 1) / n)
}

// seeded gives the randomness of one world: the same each time.
func seeded(seed uint64, world int) *rand.Rand {
	return rand.New(rand.NewPCG(seed, uint64(world))) //nolint:gosec // worlds must come out the same, not be secret
}
