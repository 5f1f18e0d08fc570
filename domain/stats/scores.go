package stats

import (
	"cmp"
	"math"
	"slices"
)

// leastChance keeps the logarithm of a chance finite.
const leastChance = 1e-12

// LogLoss gives the mean of −log of the chance that was given to what happened; less is better. NaN without any.
func LogLoss(chances []float64, hit []bool) float64 {
	sum := 0.0
	for i, p := range chances {
		p = min(max(p, leastChance), 1-leastChance)
		if hit[i] {
			sum -= math.Log(p)
		} else {
			sum -= math.Log1p(-p)
		}
	}
	return sum / float64(len(chances))
}

// Brier gives the mean of (chance − outcome)²; less is better. NaN without any.
// Source: Brier 1950, Monthly Weather Review 78:1-3.
func Brier(chances []float64, hit []bool) float64 {
	sum := 0.0
	for i, p := range chances {
		sum += (p - number(hit[i])) * (p - number(hit[i]))
	}
	return sum / float64(len(chances))
}

func number(hit bool) float64 {
	if hit {
		return 1
	}
	return 0
}

// Decomposition splits the Brier score: reliability − resolution + uncertainty.
type Decomposition struct{ Reliability, Resolution, Uncertainty float64 }

// Decompose splits the Brier score of chances that take few values: n of each, of which events came true. It adds up to
// the score exactly when all chances of a value are equal. Source: Murphy 1973, J Appl Meteorol 12:595-600.
func Decompose(chance []float64, n, events []int) Decomposition {
	var total, happened float64
	for k := range n {
		total, happened = total+float64(n[k]), happened+float64(events[k])
	}
	base := happened / total
	d := Decomposition{Uncertainty: base * (1 - base)}
	for k := range n {
		if n[k] == 0 {
			continue
		}
		share, rate := float64(n[k])/total, float64(events[k])/float64(n[k])
		d.Reliability += share * (chance[k] - rate) * (chance[k] - rate)
		d.Resolution += share * (rate - base) * (rate - base)
	}
	return d
}

// AUC gives the chance that a hit was given a higher chance than a miss (a tie counts half) with its standard error.
// NaN when all or none are hits. Source of the error: Hanley and McNeil 1982, Radiology 143:29-36.
func AUC(chances []float64, hit []bool) (area, se float64) {
	order := make([]int, len(chances))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(chances[a], chances[b]) })
	var hits, misses, wins float64
	for from := 0; from < len(order); {
		to, h, m := from, 0.0, 0.0
		for ; to < len(order) && chances[order[to]] == chances[order[from]]; to++ {
			h, m = h+number(hit[order[to]]), m+number(!hit[order[to]])
		}
		wins += h * (misses + m/2)
		hits, misses, from = hits+h, misses+m, to
	}
	a := wins / (hits * misses)
	q1, q2 := a/(2-a), 2*a*a/(1+a)
	return a, math.Sqrt((a*(1-a) + (hits-1)*(q1-a*a) + (misses-1)*(q2-a*a)) / (hits * misses))
}

// Calibrate fits log-odds of the outcome = intercept + slope · log-odds of the chance; 0 and 1 are ideal, a slope below
// 1 means chances too far from the middle. Errors: those of [FitLogistic].
// Source: Cox 1958, Biometrika 45:562-565.
func Calibrate(chances []float64, hit []bool) (intercept, slope float64, err error) {
	rows := func(yield func(Row) bool) {
		x := []float64{1, 0}
		for i, p := range chances {
			x[1] = Logit(min(max(p, leastChance), 1-leastChance))
			if !yield(Row{X: x, Hits: number(hit[i]), Tries: 1}) {
				return
			}
		}
	}
	fit, err := FitLogistic(rows, LogisticPrior{Precision: []float64{0, 0}}, nil)
	if err != nil {
		return 0, 0, err
	}
	return fit.Coefficients[0], fit.Coefficients[1], nil
}

// SpiegelhalterZ gives how far the Brier score lies from what the chances themselves foretell, in standard errors.
// Source: Spiegelhalter 1986, Statistics in Medicine 5:421-433.
func SpiegelhalterZ(chances []float64, hit []bool) float64 {
	var sum, variance float64
	for i, p := range chances {
		sum += (number(hit[i]) - p) * (1 - 2*p)
		variance += (1 - 2*p) * (1 - 2*p) * p * (1 - p)
	}
	return sum / math.Sqrt(variance)
}

// CalibrationBin is one line of a calibration table: what was foretold and what came, with a 95 % Wilson interval.
type CalibrationBin struct {
	Rows      int     `json:"rows"`
	Hits      int     `json:"hits"`
	Foretold  float64 `json:"foretold"` // mean chance
	Rate      float64 `json:"rate"`
	Low, High float64 `json:"-"`
}

// CalibrationTable sorts the chances into at most bins parts of equal count.
func CalibrationTable(chances []float64, hit []bool, bins int) []CalibrationBin {
	order := make([]int, len(chances))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(chances[a], chances[b]) })
	bins = min(bins, len(order))
	table := make([]CalibrationBin, bins)
	for k := range table {
		b := &table[k]
		for _, i := range order[k*len(order)/bins : (k+1)*len(order)/bins] {
			b.Rows++
			b.Foretold += chances[i]
			if hit[i] {
				b.Hits++
			}
		}
		b.Foretold /= float64(b.Rows)
		b.Rate = float64(b.Hits) / float64(b.Rows)
		b.Low, b.High = Wilson(b.Hits, b.Rows, 0.95)
	}
	return table
}
