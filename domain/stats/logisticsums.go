package stats

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// blockRows is how many rows are gathered before they are multiplied: enough for the matrix kernels to pay, few enough
// to stay in the processor's nearest memory.
const blockRows = 256

// sums are what one walk over the rows leaves: the log-likelihood, its gradient, and XᵀWX. Everything is added up in the
// order of the rows, so the same rows give the same sums to the last bit.
type sums struct {
	logLikelihood, tries float64
	gradient             *mat.VecDense
	hessian              *mat.SymDense

	cross                      *mat.Dense // a row a group: the sum of w·x
	groupWeight, groupResidual []float64

	block            blas64.General // the rows gathered
	eta, residual    []float64
	hits, blockTries []float64
	group            []int
}

func newSums(d, groups int) sums {
	s := sums{
		gradient: mat.NewVecDense(d, nil), hessian: mat.NewSymDense(d, nil),
		groupWeight: make([]float64, groups), groupResidual: make([]float64, groups),
		block: blas64.General{Cols: d, Stride: d, Data: make([]float64, blockRows*d)},
		eta:   make([]float64, blockRows), residual: make([]float64, blockRows),
		hits: make([]float64, blockRows), blockTries: make([]float64, blockRows), group: make([]int, blockRows),
	}
	if groups > 0 {
		s.cross = mat.NewDense(groups, d, nil)
	}
	return s
}

func (s *sums) reset() {
	s.logLikelihood, s.tries = 0, 0
	s.gradient.Zero()
	s.hessian.Zero()
	if s.cross != nil {
		s.cross.Zero()
	}
	clear(s.groupWeight)
	clear(s.groupResidual)
}

func (s *sums) add(rows Rows, beta, effects []float64) {
	s.block.Rows = 0
	for row := range rows {
		i := s.block.Rows
		copy(s.block.Data[i*s.block.Stride:(i+1)*s.block.Stride], row.X)
		s.hits[i], s.blockTries[i], s.group[i] = row.Hits, row.Tries, row.Group
		if s.block.Rows++; s.block.Rows == blockRows {
			s.multiply(beta, effects)
		}
	}
	s.multiply(beta, effects)
}

// multiply adds the block's part to the sums and empties it.
func (s *sums) multiply(beta, effects []float64) {
	n := s.block.Rows
	if n == 0 {
		return
	}
	eta := blas64.Vector{N: n, Inc: 1, Data: s.eta}
	blas64.Gemv(blas.NoTrans, 1, s.block, blas64.Vector{N: len(beta), Inc: 1, Data: beta}, 0, eta)
	for i := range n {
		if s.cross != nil {
			s.eta[i] += effects[s.group[i]]
		}
		s.residual[i], s.eta[i] = s.chance(i)
	}
	blas64.Gemv(blas.Trans, 1, s.block, blas64.Vector{N: n, Inc: 1, Data: s.residual}, 1, s.gradient.RawVector())
	if s.cross != nil {
		s.addGroups()
	}
	d := s.block.Stride
	for i := range n {
		root := math.Sqrt(s.eta[i]) // holds the weight by now
		row := s.block.Data[i*d : (i+1)*d]
		for j := range row {
			row[j] *= root
		}
	}
	blas64.Syrk(blas.Trans, 1, s.block, 1, s.hessian.RawSymmetric())
	s.block.Rows = 0
}

// chance gives a gathered row's residual and weight at its log-odds, and adds its part to the likelihood.
func (s *sums) chance(i int) (residual, weight float64) {
	eta, hits, tries := s.eta[i], s.hits[i], s.blockTries[i]
	small := math.Exp(-math.Abs(eta)) // never overflows
	p := 1 / (1 + small)
	if eta < 0 {
		p = small / (1 + small)
	}
	s.tries += tries
	s.logLikelihood += hits*eta - tries*(math.Max(eta, 0)+math.Log1p(small))
	return hits - tries*p, tries * small / ((1 + small) * (1 + small))
}

func (s *sums) addGroups() {
	d := s.block.Stride
	for i := range s.block.Rows {
		g, w := s.group[i], s.eta[i]
		s.groupWeight[g] += w
		s.groupResidual[g] += s.residual[i]
		blas64.Axpy(w, blas64.Vector{N: d, Inc: 1, Data: s.block.Data[i*d : (i+1)*d]},
			blas64.Vector{N: d, Inc: 1, Data: s.cross.RawRowView(g)})
	}
}
