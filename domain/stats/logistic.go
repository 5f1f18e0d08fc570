package stats

import (
	"errors"
	"iter"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Row is one observation, or several that are alike: how many of Tries were hits.
type Row struct {
	X           []float64 // one value a coefficient, a constant included; it may change with the next row
	Hits, Tries float64
	Group       int // from 0; used only when the prior has groups
}

// Rows walks the observations. A fit walks them once a step, so each walk must give the same rows in the same order.
// Nothing is kept of a row but its part in the sums, so the memory of a fit does not grow with the rows.
type Rows = iter.Seq[Row]

// LogisticPrior says what is thought of the coefficients before the data: each is normal around 0 with its own
// precision (1 over the variance; 0 says nothing). Groups, where there are any, have an effect each on the log-odds,
// normal around 0 with a common precision, which must be above 0.
type LogisticPrior struct {
	Precision      []float64 // one a coefficient
	Groups         int
	GroupPrecision float64
}

// Logistic is a fit of the log-odds of a hit.
type Logistic struct {
	Coefficients []float64
	Covariance   *mat.SymDense // of the coefficients, by Laplace's method, the groups' effects taken as unknown
	Groups       []float64     // effects of the groups on the log-odds

	LogLikelihood float64 // at the coefficients, without the constants of the counts
	Effective     float64 // effective number of coefficients: trace of H⁻¹ XᵀWX
	Evidence      float64 // log of the probability of the data under the prior, by Laplace's method, up to a constant
	Steps         int
}

// What a fit may answer with instead.
var (
	ErrNoRows    = errors.New("there is nothing to fit")
	ErrNoOptimum = errors.New("the likelihood has no finite maximum; a prior would give it one")
)

const (
	maxSteps = 50
	maxHalve = 30
	// stepDone ends the fit: Newton's steps square, so the error that is left is about its square.
	stepDone = 1e-7
	// perfect is a log-likelihood that no rows of both outcomes have at finite coefficients.
	perfect = 1e-7
)

// FitLogistic gives the coefficients of greatest posterior probability (with no precision: of greatest likelihood) by
// Newton's method with halved steps. start may be nil. It holds sums of the square of the number of coefficients, and
// one row of them for each group; it walks the rows about six times.
//
// Errors: ErrNoRows; ErrNoOptimum when coefficients without a prior run off, as they do on separated data.
//
// Sources: Hastie, Tibshirani and Friedman, The Elements of Statistical Learning, section 4.4; Laplace's method:
// MacKay 1992, Neural Computation 4:720-736.
func FitLogistic(rows Rows, prior LogisticPrior, start *Logistic) (Logistic, error) {
	at := newNewton(prior)
	if start != nil {
		copy(at.beta, start.Coefficients)
		copy(at.effects, start.Groups)
	}
	if at.sum(rows); at.tries == 0 {
		return Logistic{}, ErrNoRows
	}
	for step := 1; step <= maxSteps; step++ {
		if err := at.direction(); err != nil {
			return Logistic{}, err
		}
		moved := at.move(rows)
		if moved < stepDone {
			return at.result(step)
		}
	}
	return Logistic{}, ErrNoOptimum
}

// newton is the state of a fit: where it stands, the sums there, and the step it would take.
type newton struct {
	prior         LogisticPrior
	beta, effects []float64
	sums
	chol              mat.Cholesky  // of the Schur complement of the groups
	stepB             *mat.VecDense // of the coefficients
	stepU             []float64     // of the groups' effects
	oldBeta, oldGroup []float64
}

func newNewton(prior LogisticPrior) *newton {
	d := len(prior.Precision)
	return &newton{
		prior: prior, beta: make([]float64, d), effects: make([]float64, prior.Groups),
		sums: newSums(d, prior.Groups), stepB: mat.NewVecDense(d, nil), stepU: make([]float64, prior.Groups),
		oldBeta: make([]float64, d), oldGroup: make([]float64, prior.Groups),
	}
}

// sum walks the rows at the present coefficients.
func (f *newton) sum(rows Rows) {
	f.sums.reset()
	f.sums.add(rows, f.beta, f.effects)
}

// posterior gives the log of the posterior density, up to a constant.
func (f *newton) posterior() float64 {
	p := f.logLikelihood
	for j, b := range f.beta {
		p -= f.prior.Precision[j] * b * b / 2
	}
	for _, u := range f.effects {
		p -= f.prior.GroupPrecision * u * u / 2
	}
	return p
}

// direction solves for Newton's step. The groups' part of the Hessian is diagonal, so they are eliminated one by one
// (Schur complement) and what is left is as large as the coefficients alone.
func (f *newton) direction() error {
	d := len(f.beta)
	schur := mat.NewSymDense(d, nil)
	schur.CopySym(f.hessian)
	gradient := mat.NewVecDense(d, nil)
	for j := range d {
		schur.SetSym(j, j, schur.At(j, j)+f.prior.Precision[j])
		gradient.SetVec(j, f.gradient.AtVec(j)-f.prior.Precision[j]*f.beta[j])
	}
	for g := range f.effects {
		row := f.cross.RowView(g)
		weight := f.groupWeight[g] + f.prior.GroupPrecision
		schur.SymRankOne(schur, -1/weight, row)
		gradient.AddScaledVec(gradient, -f.groupGradient(g)/weight, row)
	}
	if !f.chol.Factorize(schur) {
		return ErrNoOptimum
	}
	if err := f.chol.SolveVecTo(f.stepB, gradient); err != nil {
		return ErrNoOptimum // as good as singular
	}
	for g := range f.effects {
		f.stepU[g] = (f.groupGradient(g) - mat.Dot(f.cross.RowView(g), f.stepB)) / (f.groupWeight[g] + f.prior.GroupPrecision)
	}
	return nil
}

func (f *newton) groupGradient(g int) float64 {
	return f.groupResidual[g] - f.prior.GroupPrecision*f.effects[g]
}

// move takes the step, halved until the posterior does not fall, and gives the largest change of a coefficient.
func (f *newton) move(rows Rows) float64 {
	before := f.posterior()
	copy(f.oldBeta, f.beta)
	copy(f.oldGroup, f.effects)
	scale := 1.0
	for range maxHalve {
		largest := 0.0
		for j := range f.beta {
			f.beta[j] = f.oldBeta[j] + scale*f.stepB.AtVec(j)
			largest = math.Max(largest, math.Abs(f.beta[j]-f.oldBeta[j]))
		}
		for g := range f.effects {
			f.effects[g] = f.oldGroup[g] + scale*f.stepU[g]
			largest = math.Max(largest, math.Abs(f.effects[g]-f.oldGroup[g]))
		}
		f.sum(rows)
		// Near the top the gain is below what the sum can resolve, and the step is right all the same.
		if f.posterior() >= before-1e-12*math.Abs(before) {
			return largest
		}
		scale /= 2
	}
	return 0
}

// result reads the fit off at the optimum.
func (f *newton) result(steps int) (Logistic, error) {
	if slices.Contains(f.prior.Precision, 0) && f.logLikelihood > -perfect {
		return Logistic{}, ErrNoOptimum // everything is foretold without doubt: a free coefficient ran off
	}
	if err := f.direction(); err != nil { // the Hessian at the very optimum
		return Logistic{}, err
	}
	d := len(f.beta)
	covariance := mat.NewSymDense(d, nil)
	if err := f.chol.InverseTo(covariance); err != nil {
		return Logistic{}, ErrNoOptimum
	}
	out := Logistic{
		Coefficients: f.beta, Covariance: covariance, Groups: f.effects, LogLikelihood: f.logLikelihood,
		Effective: float64(d), Evidence: f.posterior() - f.chol.LogDet()/2, Steps: steps,
	}
	for j, precision := range f.prior.Precision {
		out.Effective -= precision * covariance.At(j, j)
		if precision > 0 {
			out.Evidence += math.Log(precision) / 2
		}
	}
	for g := range f.effects {
		out.Evidence += math.Log(f.prior.GroupPrecision/(f.groupWeight[g]+f.prior.GroupPrecision)) / 2
	}
	return out, nil
}

// LogOdds gives the fitted log-odds of a row of a group that the fit does not know.
func (l Logistic) LogOdds(x []float64) float64 {
	sum := 0.0
	for j, b := range l.Coefficients {
		sum += b * x[j]
	}
	return sum
}

// Error gives the standard error of a coefficient.
func (l Logistic) Error(j int) float64 { return math.Sqrt(l.Covariance.At(j, j)) }

// Logit gives the log-odds of a probability, and Sigmoid the probability of log-odds.
func Logit(p float64) float64 { return math.Log(p) - math.Log1p(-p) }

// Sigmoid gives the probability of log-odds.
func Sigmoid(x float64) float64 { return 1 / (1 + math.Exp(-x)) }
