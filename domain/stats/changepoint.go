package stats

import (
	"math"
	"slices"
)

// ChangePoint is what counts of some weeks say about one change of the rate somewhere among them.
type ChangePoint struct {
	BayesFactor float64   // of one change against none
	Chance      float64   // that there was one
	Weights     []float64 // of a change after the first, second ... week, given that there was one
	After       int       // weeks before the most likely change
	Current     float64   // the rate now, averaged over change and none
}

// LeastWeeks is the least number of weeks with tries in which a change can be looked for.
const LeastWeeks = 4

// FindChange compares one change of a rate with none in closed form; each rate has the prior, and a change has the
// chance before the data. Weeks without tries are passed over; ok is false with fewer than LeastWeeks others.
// Source: Smith 1975, Biometrika 62:407-416.
func FindChange(hits, tries []int, prior Beta, before float64) (c ChangePoint, ok bool) {
	var x, n []float64
	var week []int // the place of each that has tries
	for i := range tries {
		if tries[i] > 0 {
			x, n, week = append(x, float64(hits[i])), append(n, float64(tries[i])), append(week, i+1)
		}
	}
	if len(n) < LeastWeeks {
		return ChangePoint{}, false
	}
	allX, allN := sum(x), sum(n)
	segmentMarginal := newMarginal(int(allN), prior)
	none, weights := segmentMarginal.log(allX, allN), make([]float64, len(n)-1)
	var firstX, firstN, rates float64
	logs, rate := make([]float64, len(weights)), make([]float64, len(weights))
	for k := range weights {
		firstX, firstN = firstX+x[k], firstN+n[k]
		logs[k] = segmentMarginal.log(firstX, firstN) + segmentMarginal.log(allX-firstX, allN-firstN) - none
		rate[k] = (prior.A + allX - firstX) / (prior.A + prior.B + allN - firstN)
	}
	most := slices.Max(logs)
	for k, l := range logs {
		weights[k] = math.Exp(l - most)
	}
	total := sum(weights)
	for k := range weights {
		weights[k] /= total
		rates += weights[k] * rate[k]
		if weights[k] > weights[c.After] {
			c.After = k
		}
	}
	c.BayesFactor = math.Exp(most) * total / float64(len(weights))
	// in this form a factor too large for a float gives a chance of 1, not of NaN
	c.Chance = 1 / (1 + (1-before)/(before*c.BayesFactor))
	c.Current = c.Chance*rates + (1-c.Chance)*(prior.A+allX)/(prior.A+prior.B+allN)
	c.Weights, c.After = weights, week[c.After]
	return c, true
}

func sum(v []float64) float64 {
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s
}

// segmentMarginal gives the log of the chance of a sequence of tries with so many hits under a beta prior, from running sums of
// logs rather than differences of log-gammas, which cancel.
type segmentMarginal struct{ hits, misses, tries []float64 }

func newMarginal(most int, prior Beta) segmentMarginal {
	return segmentMarginal{logSums(prior.A, most), logSums(prior.B, most), logSums(prior.A+prior.B, most)}
}

func (m segmentMarginal) log(hits, tries float64) float64 {
	return m.hits[int(hits)] + m.misses[int(tries-hits)] - m.tries[int(tries)]
}

// logSums gives the sums of log(from), log(from+1) ... of none, one, two of them and so on.
func logSums(from float64, most int) []float64 {
	sums := make([]float64, most+1)
	for j := range most {
		sums[j+1] = sums[j] + math.Log(from+float64(j))
	}
	return sums
}

// CurrentForm forgets older weeks: each week back counts half as much after halfLife weeks, and what is forgotten is
// replaced by the prior. It draws a line through weekly counts; it decides nothing.
// Source: West and Harrison 1997, Bayesian Forecasting and Dynamic Models, chapter 6.
func CurrentForm(hits, tries []int, prior Beta, halfLife float64) Beta {
	keep, now := math.Exp2(-1/halfLife), prior
	for i := range tries {
		now.A = keep*now.A + (1-keep)*prior.A + float64(hits[i])
		now.B = keep*now.B + (1-keep)*prior.B + float64(tries[i]-hits[i])
	}
	return now
}
