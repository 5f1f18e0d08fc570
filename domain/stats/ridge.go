package stats

import (
	"cmp"
	"math"
	"slices"
)

// Ridge is how strongly a fit is held back: Scale is the standard deviation of a scaled column's coefficient before the
// data, Spread that of the groups' effects on the log-odds (0: no groups' effects). The constant is free. Widths, where
// given, holds a standard deviation for columns that are to have one of their own; 0 there means Scale.
type Ridge struct {
	Scale, Spread float64
	Widths        []float64
}

// ScaledFit is a logistic fit of a table with the scaling that it was made with.
type ScaledFit struct {
	Scaling
	Logistic
}

// FitTable fits the rows that are kept. start may be nil. Errors: those of [FitLogistic].
func FitTable(t Table, ridge Ridge, keep func(row int) bool, start *Logistic) (ScaledFit, error) {
	prior := LogisticPrior{Precision: make([]float64, t.Columns+1)}
	for j := range t.Columns {
		width := ridge.Scale
		if ridge.Widths != nil && ridge.Widths[j] > 0 {
			width = ridge.Widths[j]
		}
		prior.Precision[j+1] = 1 / (width * width)
	}
	if ridge.Spread > 0 {
		prior.Groups, prior.GroupPrecision = t.Groups, 1/(ridge.Spread*ridge.Spread)
	}
	scaling := t.Scale(keep)
	fit, err := FitLogistic(t.Rows(scaling, keep), prior, start)
	return ScaledFit{scaling, fit}, err
}

// Chance gives the fitted chance of a hit for a row of a table, for a group of average effect.
func (f ScaledFit) Chance(row []float64) float64 {
	x := make([]float64, len(row)+1)
	f.Into(row, x)
	return Sigmoid(f.LogOdds(x))
}

// Folds deals groups into k parts so that no group is in two and the parts have about as many rows: the largest group
// first, each to the smallest part so far. It gives each row's part. Fewer groups than k make as many parts as groups;
// one group alone is dealt row by row, for there is nothing else to hold out.
func Folds(t Table, k int) (fold []int, parts int) {
	size := make([]int, t.Groups)
	for _, g := range t.Group {
		size[g]++
	}
	var order []int
	for g, n := range size {
		if n > 0 {
			order = append(order, g)
		}
	}
	fold = make([]int, t.Len())
	if len(order) < 2 {
		for i := range fold {
			fold[i] = i % k
		}
		return fold, min(k, t.Len())
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(size[b], size[a]) })
	k = min(k, len(order))
	part, rows := make([]int, t.Groups), make([]int, k)
	for _, g := range order {
		smallest := 0
		for p := range k {
			if rows[p] < rows[smallest] {
				smallest = p
			}
		}
		part[g] = smallest
		rows[smallest] += size[g]
	}
	for i, g := range t.Group {
		fold[i] = part[g]
	}
	return fold, k
}

// CrossFit gives the fit of all rows but those of each part, and for each row the chance by the fit that did not see
// its part. near, where there is any, are the same fits under another ridge, to begin from. Errors: those of
// [FitLogistic].
func CrossFit(t Table, ridge Ridge, fold []int, parts int, near []ScaledFit) (fits []ScaledFit, chances []float64, err error) {
	fits, chances = make([]ScaledFit, parts), make([]float64, t.Len())
	for p := range parts {
		var start *Logistic
		if near != nil {
			start = &near[p].Logistic
		}
		if fits[p], err = FitTable(t, ridge, func(i int) bool { return fold[i] != p }, start); err != nil {
			return nil, nil, err
		}
	}
	x := make([]float64, t.Columns+1)
	for i, p := range fold {
		fits[p].Into(t.Row(i), x)
		chances[i] = Sigmoid(fits[p].LogOdds(x))
	}
	return fits, chances, nil
}

// Scales are the prior scales that [ChooseScale] tries, in the order of their looseness.
var Scales = []float64{0.1, 0.2, 0.35, 0.5, 0.7, 1, 1.5, 2.5}

// ChooseScale gives the scale whose fits best foretell the parts that they did not see: least log loss, the tighter of
// like ones. Errors: those of [FitLogistic].
func ChooseScale(t Table, spread float64, fold []int, parts int) (scale float64, err error) {
	least := math.Inf(1)
	var fits []ScaledFit
	for p := len(Scales) - 1; p >= 0; p-- {
		var chances []float64
		if fits, chances, err = CrossFit(t, Ridge{Scale: Scales[p], Spread: spread}, fold, parts, fits); err != nil {
			return 0, err
		}
		if loss := LogLoss(chances, t.Hit); loss <= least {
			least, scale = loss, Scales[p]
		}
	}
	return scale, nil
}

// Spreads are the standard deviations of the groups' effects over which [GroupSpread] averages.
var Spreads = []float64{0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6}

// GroupSpread gives the standard deviation of the groups' effects: the mean over Spreads, each weighted by the
// probability of the data under it. With few groups the data say little and it stays near the middle. Errors: those of
// [FitLogistic].
func GroupSpread(t Table, scale float64) (float64, error) {
	evidence := make([]float64, len(Spreads))
	var start *Logistic
	for k, spread := range Spreads {
		fit, err := FitTable(t, Ridge{Scale: scale, Spread: spread}, Everything, start)
		if err != nil {
			return 0, err
		}
		evidence[k], start = fit.Evidence, &fit.Logistic
	}
	most, sum, mean := slices.Max(evidence), 0.0, 0.0
	for k, e := range evidence {
		w := math.Exp(e - most)
		sum, mean = sum+w, mean+w*Spreads[k]
	}
	return mean / sum, nil
}
