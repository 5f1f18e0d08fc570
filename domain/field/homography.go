package field

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Pixel is a point of a picture, in pixels: u to the right and v down from its upper left corner. It may lie between
// two pixels.
type Pixel struct{ U, V float64 }

// PlanePoint is a point of a plane of the field, in metres. On the ground X and Y are x_m and y_m; in the goal's plane
// they are x_m and up_m.
type PlanePoint struct{ X, Y float64 }

// Homography is a plane-to-plane map, a 3 by 3 matrix in row order that means the same whatever it is multiplied by:
// (x, y) goes to (a/c, b/c), where (a, b, c) is the matrix times (x, y, 1).
type Homography [9]float64

// apply gives the image of (x, y) and the c it was divided by. Points on the two sides of the line c = 0, which goes to
// infinity, have a c of opposite sign.
func (h *Homography) apply(x, y float64) (a, b, c float64) {
	c = h[6]*x + h[7]*y + h[8]
	return (h[0]*x + h[1]*y + h[2]) / c, (h[3]*x + h[4]*y + h[5]) / c, c
}

// Apply gives the image of (x, y). It is not finite for a point that goes to infinity.
func (h *Homography) Apply(x, y float64) (float64, float64) {
	a, b, _ := h.apply(x, y)
	return a, b
}

// Then gives the map that does h first and next after it.
func (h *Homography) Then(next *Homography) Homography {
	var out Homography
	for i := range 3 {
		for j := range 3 {
			out[3*i+j] = next[3*i]*h[j] + next[3*i+1]*h[3+j] + next[3*i+2]*h[6+j]
		}
	}
	return out
}

// Inverse gives the map back: the adjugate, which is the inverse up to a factor whose sign is the determinant's. A
// matrix without an inverse gives one that maps nothing to anything finite.
func (h *Homography) Inverse() Homography {
	return Homography{
		h[4]*h[8] - h[5]*h[7], h[2]*h[7] - h[1]*h[8], h[1]*h[5] - h[2]*h[4],
		h[5]*h[6] - h[3]*h[8], h[0]*h[8] - h[2]*h[6], h[2]*h[3] - h[0]*h[5],
		h[3]*h[7] - h[4]*h[6], h[1]*h[6] - h[0]*h[7], h[0]*h[4] - h[1]*h[3],
	}
}

func (h *Homography) determinant() float64 {
	return h[0]*(h[4]*h[8]-h[5]*h[7]) - h[1]*(h[3]*h[8]-h[5]*h[6]) + h[2]*(h[3]*h[7]-h[4]*h[6])
}

// scaling moves points so that their centroid is the origin and their mean distance from it the root of 2.
type scaling struct{ factor, centreX, centreY float64 }

// scalingOf gives the scaling of points; false when they all coincide.
func scalingOf(points [][2]float64) (scaling, bool) {
	n := float64(len(points))
	var s scaling
	for _, p := range points {
		s.centreX += p[0] / n
		s.centreY += p[1] / n
	}
	var mean float64
	for _, p := range points {
		mean += math.Hypot(p[0]-s.centreX, p[1]-s.centreY) / n
	}
	if mean == 0 || math.IsInf(mean, 0) || math.IsNaN(mean) {
		return s, false
	}
	s.factor = math.Sqrt2 / mean
	return s, true
}

func (s scaling) apply(x, y float64) (float64, float64) {
	return s.factor * (x - s.centreX), s.factor * (y - s.centreY)
}

func (s scaling) back(x, y float64) (float64, float64) {
	return x/s.factor + s.centreX, y/s.factor + s.centreY
}

func (s scaling) all(points [][2]float64) [][2]float64 {
	out := make([][2]float64, len(points))
	for i, p := range points {
		out[i][0], out[i][1] = s.apply(p[0], p[1])
	}
	return out
}

func (s scaling) homography() Homography {
	return Homography{s.factor, 0, -s.factor * s.centreX, 0, s.factor, -s.factor * s.centreY, 0, 0, 1}
}

func (s scaling) inverse() Homography {
	return Homography{1 / s.factor, 0, s.centreX, 0, 1 / s.factor, s.centreY, 0, 0, 1}
}

// linearHomography gives the homography from one set of points to another by the normalised direct linear transform
// (Hartley & Zisserman, Multiple View Geometry, 2nd ed., algorithm 4.2). There must be at least four points. ok is false
// when no homography can be told.
func linearHomography(from, to [][2]float64) (h Homography, ok bool) {
	s, okFrom := scalingOf(from)
	t, okTo := scalingOf(to)
	if !okFrom || !okTo {
		return h, false
	}
	middle, ok := directTransform(s.all(from), t.all(to))
	first, last := s.homography(), t.inverse()
	first = first.Then(&middle)
	return first.Then(&last), ok
}

// directTransform solves the two linear equations that each pair of points gives for the nine numbers of the matrix:
// the right singular vector of the least singular value (the same book's algorithm 4.1).
func directTransform(from, to [][2]float64) (h Homography, ok bool) {
	rows := mat.NewDense(max(2*len(from), 9), 9, nil) // with four points one row stays 0, so that there are nine vectors
	for i, p := range from {
		x, y, u, v := p[0], p[1], to[i][0], to[i][1]
		rows.SetRow(2*i, []float64{0, 0, 0, -x, -y, -1, v * x, v * y, v})
		rows.SetRow(2*i+1, []float64{x, y, 1, 0, 0, 0, -u * x, -u * y, -u})
	}
	var svd mat.SVD
	if !svd.Factorize(rows, mat.SVDThinV) {
		return h, false
	}
	var right mat.Dense
	svd.VTo(&right)
	for k := range h {
		h[k] = right.At(k, 8)
	}
	return h, true
}
