package simulation

import (
	"fmt"
	"math"
	"math/rand/v2"

	"cagework/domain/stats"
)

// The world of the fits: columns of this spread, coefficients such that the log-odds have this one.
const (
	columnSpread = .5
	oddsSpread   = .8
	fitGoalies   = 20
	testRows     = 4000
)

// fitSize is one setting: so many columns and shots, how many fits are made, and how far from 1 the slope of one fit may
// lie (0: not asked).
type fitSize struct {
	columns, shots, fits int
	slope                float64
}

// largeFits is how many fits of larger data are enough to tell their aims by: they differ less.
const largeFits = 30

// Difficulty measures fits with the prior scale chosen by cross-validation against the truth that made their shots: the
// log loss in excess of the truth's own, and the slope of the truth on what was foretold. fits is the number of worlds a
// setting; 80 are enough. Larger data are measured too when large is set.
func Difficulty(fits int, large bool, seed uint64) []Figure {
	sizes := []fitSize{{10, 2000, fits, .15}, {25, 2000, fits, .15}}
	if large {
		n := min(fits, largeFits)
		sizes = append(sizes, fitSize{10, 8000, n, 0}, fitSize{25, 8000, n, 0}, fitSize{10, 20000, n, .05}, fitSize{25, 20000, n, .05})
	}
	var out []Figure
	for _, size := range sizes {
		out = append(out, fitFigures(size, seed)...)
	}
	return out
}

// contender is a way to foretell saves from a table.
type contender struct {
	name string
	fit  func(stats.Table) (stats.ScaledFit, error)
}

var contenders = []contender{
	{Ours, chosenScale},
	{"scale of 1, not chosen", func(t stats.Table) (stats.ScaledFit, error) { return fixedScale(t, 1) }},
	{"pooled rate", func(t stats.Table) (stats.ScaledFit, error) { return fixedScale(t, 1e-6) }},
}

func fixedScale(t stats.Table, scale float64) (stats.ScaledFit, error) {
	return stats.FitTable(t, stats.Ridge{Scale: scale}, stats.Everything, nil)
}

func chosenScale(t stats.Table) (stats.ScaledFit, error) {
	spread, err := stats.GroupSpread(t, .5)
	if err != nil {
		return stats.ScaledFit{}, err
	}
	fold, parts := stats.Folds(t, 10)
	scale, err := stats.ChooseScale(t, spread, fold, parts)
	if err != nil {
		return stats.ScaledFit{}, err
	}
	return stats.FitTable(t, stats.Ridge{Scale: scale, Spread: spread}, stats.Everything, nil)
}

func fitFigures(size fitSize, seed uint64) []Figure {
	excess, slopes := make([][]float64, len(contenders)), make([][]float64, len(contenders))
	for n := range size.fits {
		w := newFitWorld(seeded(seed, n), size.columns)
		shots, test := w.draw(size.shots), w.draw(testRows)
		for c, contender := range contenders {
			e, s := math.NaN(), math.NaN()
			if fit, err := contender.fit(shots.Table); err == nil {
				e, s = test.judge(fit)
			}
			excess[c], slopes[c] = append(excess[c], e), append(slopes[c], s)
		}
	}
	aim := 1.25 * float64(size.columns+1) / (2 * float64(size.shots))
	var out []Figure
	for c, contender := range contenders {
		where := fmt.Sprintf(", %d columns, %d shots", size.columns, size.shots)
		loss := Figure{Section: "difficulty:", Name: "log loss above the truth's" + where, Method: contender.name, Aim: aim, Cap: aim / 10}
		loss.Measured, loss.SE = meanOf(excess[c])
		low := Figure{Section: "difficulty:", Name: "calibration slope, least" + where, Method: contender.name, Aim: .95, AtLeast: true, Cap: .01}
		low.Measured, low.SE = meanOf(slopes[c])
		high := low
		high.Name, high.Aim, high.AtLeast = "calibration slope, most"+where, 1.05, false
		out = append(out, loss)
		if contender.name != "pooled rate" { // chances that are all alike have no slope
			out = append(out, low, high)
			if size.slope > 0 {
				out = append(out, slopesInside(size, where, contender.name, slopes[c]))
			}
		}
	}
	return out
}

// slopesInside is how many single fits have a slope about 1: nobody who makes one fit is served by the mean of many.
func slopesInside(size fitSize, where, method string, slopes []float64) Figure {
	inside := 0
	for _, s := range slopes {
		if math.Abs(s-1) <= size.slope {
			inside++
		}
	}
	f := Figure{
		Section: "difficulty:", Name: fmt.Sprintf("fits whose slope lies within %v of 1%s", size.slope, where), Method: method,
		Aim: .95, AtLeast: true, Cap: .05,
	}
	f.Measured, f.SE = share(inside, len(slopes))
	return f
}

// fitWorld makes shots whose chance of a save follows known coefficients.
type fitWorld struct {
	r    *rand.Rand
	beta []float64
}

func newFitWorld(r *rand.Rand, columns int) fitWorld {
	w := fitWorld{r, make([]float64, columns)}
	length := 0.0
	for j := range w.beta {
		w.beta[j] = r.NormFloat64()
		length += w.beta[j] * w.beta[j]
	}
	for j := range w.beta {
		w.beta[j] *= oddsSpread / columnSpread / math.Sqrt(length)
	}
	return w
}

// fitShots are shots with the truth about each.
type fitShots struct {
	stats.Table
	truth []float64
}

func (w fitWorld) draw(n int) fitShots {
	d := fitShots{Table: stats.Table{Columns: len(w.beta), Groups: fitGoalies}}
	for i := range n {
		odds := .2
		for _, b := range w.beta {
			x := columnSpread * w.r.NormFloat64()
			odds += b * x
			d.X = append(d.X, x)
		}
		p := stats.Sigmoid(odds)
		d.truth, d.Hit, d.Group = append(d.truth, p), append(d.Hit, w.r.Float64() < p), append(d.Group, i%fitGoalies)
	}
	return d
}

// judge gives the expected log loss of a fit in excess of the truth's, and the slope of the truth's log-odds on the
// fit's; both without the noise of outcomes, as each shot counts as saved by its true share.
func (d fitShots) judge(fit stats.ScaledFit) (excess, slope float64) {
	odds := make([]float64, len(d.truth))
	for i, p := range d.truth {
		q := fit.Chance(d.Row(i))
		odds[i] = stats.Logit(q)
		excess += (p*math.Log(p/q) + (1-p)*math.Log((1-p)/(1-q))) / float64(len(d.truth))
	}
	rows := func(yield func(stats.Row) bool) {
		x := []float64{1, 0}
		for i, p := range d.truth {
			x[1] = odds[i]
			if !yield(stats.Row{X: x, Hits: p, Tries: 1}) {
				return
			}
		}
	}
	line, err := stats.FitLogistic(rows, stats.LogisticPrior{Precision: []float64{0, 0}}, nil)
	if err != nil {
		return excess, math.NaN()
	}
	return excess, line.Coefficients[1]
}
