package stats

import (
	"math"
	"runtime"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"
)

// BenchmarkFit fits 100,000 rows of 25 columns and compares it with the matrix products that its steps need, made by
// gonum on the same rows: the log-odds Xβ, the gradient Xᵀr and the Hessian XᵀWX once a walk. "products" is the ratio
// of the two times, "bytes-kept" what the fit holds beside the table.
func BenchmarkFit(b *testing.B) {
	const n, columns = 100_000, 25
	table, _ := drawn(n, columns, 40, .15, .2)
	fit := Logistic{}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for b.Loop() {
		var err error
		if fit, err = fitOnce(table); err != nil {
			b.Fatal(err)
		}
	}
	runtime.ReadMemStats(&after)
	ours := b.Elapsed().Seconds() / float64(b.N)
	b.ReportMetric(float64(after.TotalAlloc-before.TotalAlloc)/float64(b.N), "bytes/fit")
	walks := float64(fit.Steps + 1)
	b.ReportMetric(ours/(walks*products(table, fit)), "products")
	b.ReportMetric(walks, "walks")
}

func fitOnce(table Table) (Logistic, error) {
	fit, err := FitTable(table, Ridge{Scale: 1, Spread: .2}, Everything, nil)
	return fit.Logistic, err
}

// products gives the seconds of one walk's products on scaled rows that lie ready, the weighted rows included: the
// least of some tries.
func products(table Table, fit Logistic) float64 {
	d := table.Columns + 1
	x, weighted := mat.NewDense(table.Len(), d, nil), mat.NewDense(table.Len(), d, nil)
	scaling := table.Scale(Everything)
	for i := range table.Len() {
		scaling.Into(table.Row(i), x.RawRowView(i))
		scaling.Into(table.Row(i), weighted.RawRowView(i))
	}
	beta, eta, gradient := mat.NewVecDense(d, fit.Coefficients), mat.NewVecDense(table.Len(), nil), mat.NewVecDense(d, nil)
	hessian := mat.NewSymDense(d, nil)
	return least(func() {
		eta.MulVec(x, beta)
		gradient.MulVec(x.T(), eta)
		hessian.SymOuterK(1, weighted.T())
	})
}

// least gives the seconds that the quickest of some runs takes.
func least(run func()) float64 {
	seconds := math.Inf(1)
	for range 7 {
		start := time.Now()
		run()
		seconds = min(seconds, time.Since(start).Seconds())
	}
	return seconds
}
