package stats

import "math"

// baselinePoints is how finely the effect is held, over baselineReach standard deviations to either side.
const (
	baselinePoints = 41
	baselineReach  = 4
)

// Baseline is what is thought of somebody's own effect on the log-odds of an event, and goes on learning with each try.
// A chart whose chances come from it asks whether they changed from themselves, and its false alarms stay near the
// stated level however little is known of them; one whose baseline is frozen after some tries has up to twice as many.
type Baseline struct {
	times  [baselinePoints]float64 // what each effect multiplies the odds by
	weight [baselinePoints]float64
}

// NewBaseline begins with an effect that is normal around a mean with a standard deviation above 0.
func NewBaseline(mean, sd float64) *Baseline {
	b, sum := &Baseline{}, 0.0
	for k := range baselinePoints {
		z := baselineReach * (2*float64(k)/(baselinePoints-1) - 1)
		b.times[k], b.weight[k] = math.Exp(mean+sd*z), math.Exp(-z*z/2)
		sum += b.weight[k]
	}
	for k := range b.weight {
		b.weight[k] /= sum
	}
	return b
}

// Chance gives the predictive chance of the event in a try that has the chance for somebody of no effect.
func (b *Baseline) Chance(chance float64) float64 {
	odds, sum := oddsOf(chance), 0.0
	for k, w := range b.weight {
		o := odds * b.times[k]
		sum += w * o / (1 + o)
	}
	return sum
}

// Learn takes in how such a try ended, and gives the chance of the event that it had before.
func (b *Baseline) Learn(chance float64, event bool) (before float64) {
	odds := oddsOf(chance)
	var likely [baselinePoints]float64
	happened := 0.0
	for k, w := range b.weight {
		o := odds * b.times[k]
		p := o / (1 + o)
		before += w * p
		if likely[k] = p; !event {
			likely[k] = 1 / (1 + o)
		}
		happened += w * likely[k]
	}
	for k, l := range likely {
		b.weight[k] *= l / happened
	}
	return before
}

// Effect gives the mean and standard deviation of the effect on the log-odds.
func (b *Baseline) Effect() (mean, sd float64) {
	for k, w := range b.weight {
		mean += w * math.Log(b.times[k])
	}
	for k, w := range b.weight {
		d := math.Log(b.times[k]) - mean
		sd += w * d * d
	}
	return mean, math.Sqrt(sd)
}
