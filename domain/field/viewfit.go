package field

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// fit is a projection fitted to marks.
type fit struct {
	plane, picture scaling
	projection     projection
	sightings      []sighting
	misfit         float64
}

func fitMarks(marks []ViewMark, errorPx float64) (fit, *ViewError) {
	places, pictures := make([][2]float64, len(marks)), make([][2]float64, len(marks))
	for i, m := range marks {
		places[i], pictures[i] = [2]float64{m.Place.X, m.Place.Y}, [2]float64{m.Picture.U, m.Picture.V}
	}
	var f fit
	f.plane, _ = scalingOf(places) // marks that are not refused do not coincide
	f.picture, _ = scalingOf(pictures)
	for i, m := range marks {
		s := sighting{placeVar: square(m.PlaceErrorM * f.plane.factor)}
		s.x, s.y = f.plane.apply(places[i][0], places[i][1])
		s.u, s.v = f.picture.apply(pictures[i][0], pictures[i][1])
		s.pixelVar = square(errorPx * f.picture.factor)
		if m.PixelErrorPx > 0 {
			s.pixelVar = square(m.PixelErrorPx * f.picture.factor)
		}
		f.sightings = append(f.sightings, s)
	}
	h, ok := directTransform(f.plane.all(places), f.picture.all(pictures))
	if !ok {
		return f, tooFlat(marks)
	}
	if e := refuseOpposite(marks, &h, f.sightings); e != nil {
		return f, e
	}
	for k := range f.projection {
		f.projection[k] = h[k] / h[8]
	}
	if f.projection, f.misfit, ok = refine(f.projection, f.sightings); !ok {
		return f, tooFlat(marks)
	}
	return f, nil
}

func square(v float64) float64 { return v * v }

// projection is a homography from the plane to the picture, both scaled, as eight numbers; the ninth is 1. That leaves
// none out: the origin is the middle of the marks, which lies on their side of the horizon, so the ninth is never 0.
type projection [8]float64

// at gives the picture of a point of the plane and the w that it was divided by.
func (p *projection) at(x, y float64) (u, v, w float64) {
	w = p[6]*x + p[7]*y + 1
	return (p[0]*x + p[1]*y + p[2]) / w, (p[3]*x + p[4]*y + p[5]) / w, w
}

// slopes gives how the picture (u, v) of a point moves with the point: du/dx, du/dy, dv/dx, dv/dy.
func (p *projection) slopes(u, v, w float64) [4]float64 {
	return [4]float64{(p[0] - u*p[6]) / w, (p[1] - u*p[7]) / w, (p[3] - v*p[6]) / w, (p[4] - v*p[7]) / w}
}

// byNumbers gives how the picture (u, v) of (x, y) moves with the eight numbers.
func byNumbers(x, y, u, v, w float64) (du, dv [8]float64) {
	x, y, one := x/w, y/w, 1/w
	return [8]float64{x, y, one, 0, 0, 0, -u * x, -u * y}, [8]float64{0, 0, 0, x, y, one, -v * x, -v * y}
}

// sighting is a mark in scaled coordinates with what is known of its errors: the variance of each picture coordinate
// and of each place coordinate.
type sighting struct {
	x, y, u, v         float64
	pixelVar, placeVar float64
}

// weight is the inverse of the covariance of a sighting's residual in the picture.
type weight struct{ uu, uv, vv float64 }

// weights gives each sighting's weight where the projection stands: an error of the place shows in the picture as far
// as the picture moves with the place (the effective variance; Orear, American Journal of Physics 50, 1982).
func weights(p *projection, all []sighting) []weight {
	out := make([]weight, len(all))
	for i, s := range all {
		u, v, w := p.at(s.x, s.y)
		a := p.slopes(u, v, w)
		uu := s.pixelVar + s.placeVar*(a[0]*a[0]+a[1]*a[1])
		vv := s.pixelVar + s.placeVar*(a[2]*a[2]+a[3]*a[3])
		uv := s.placeVar * (a[0]*a[2] + a[1]*a[3])
		det := uu*vv - uv*uv
		out[i] = weight{vv / det, -uv / det, uu / det}
	}
	return out
}

// misfit gives the weighted sum of squared residuals; infinite when a mark would lie beyond the horizon.
func misfit(p *projection, all []sighting, weights []weight) float64 {
	var sum float64
	for i, s := range all {
		u, v, w := p.at(s.x, s.y)
		if !(w > 0) {
			return math.Inf(1)
		}
		du, dv, k := s.u-u, s.v-v, weights[i]
		sum += k.uu*du*du + 2*k.uv*du*dv + k.vv*dv*dv
	}
	return sum
}

// normalEquations gives the matrix and the right side of the least-squares step.
func normalEquations(p *projection, all []sighting, weights []weight) (*mat.SymDense, *mat.VecDense) {
	var square [8][8]float64
	var side [8]float64
	for i, s := range all {
		u, v, w := p.at(s.x, s.y)
		du, dv := byNumbers(s.x, s.y, u, v, w)
		k, ru, rv := weights[i], s.u-u, s.v-v
		for a := range 8 {
			ku, kv := k.uu*du[a]+k.uv*dv[a], k.uv*du[a]+k.vv*dv[a]
			side[a] += ku*ru + kv*rv
			for b := a; b < 8; b++ {
				square[a][b] += ku*du[b] + kv*dv[b]
			}
		}
	}
	m := mat.NewSymDense(8, nil)
	for a := range 8 {
		for b := a; b < 8; b++ {
			m.SetSym(a, b, square[a][b])
		}
	}
	return m, mat.NewVecDense(8, side[:])
}

const (
	mostSteps      = 100
	mostReweights  = 10
	smallStep      = 1e-11 // of the numbers, which are of the order of 1
	firstDamping   = 1e-4
	dampingChange  = 10
	mostDamping    = 1e12
	illConditioned = 1e15
)

// refine moves a projection to the least sum of squared errors in the picture by the method of Levenberg and Marquardt,
// and gives the sum. Where places have errors the weights follow the projection.
func refine(p projection, all []sighting) (projection, float64, bool) {
	placesExact := true
	for _, s := range all {
		placesExact = placesExact && s.placeVar == 0
	}
	for range mostReweights {
		before, k := p, weights(&p, all)
		var sum float64
		var ok bool
		if p, sum, ok = descend(p, all, k); !ok || placesExact || moved(&before, &p) < smallStep {
			return p, sum, ok
		}
	}
	return p, misfit(&p, all, weights(&p, all)), true
}

func moved(a, b *projection) float64 {
	var most float64
	for k := range a {
		most = max(most, math.Abs(a[k]-b[k]))
	}
	return most
}

// descend does the steps of refine under fixed weights.
func descend(p projection, all []sighting, k []weight) (projection, float64, bool) {
	sum, damping := misfit(&p, all, k), firstDamping
	for range mostSteps {
		m, side := normalEquations(&p, all, k)
		next, ok := step(&p, m, side, damping)
		if !ok {
			return p, sum, false
		}
		got := misfit(&next, all, k)
		size := moved(&p, &next)
		if got <= sum {
			p, sum, damping = next, got, damping/dampingChange
		} else {
			damping *= dampingChange
		}
		if size < smallStep || damping > mostDamping {
			break
		}
	}
	return p, sum, !math.IsInf(sum, 1)
}

func step(p *projection, m *mat.SymDense, side *mat.VecDense, damping float64) (projection, bool) {
	damped := mat.NewSymDense(8, nil)
	damped.CopySym(m)
	for a := range 8 {
		damped.SetSym(a, a, m.At(a, a)*(1+damping))
	}
	var chol mat.Cholesky
	var change mat.VecDense
	if !chol.Factorize(damped) || chol.SolveVecTo(&change, side) != nil {
		return *p, false
	}
	next := *p
	for a := range 8 {
		next[a] += change.AtVec(a)
	}
	return next, true
}

// shiftsOf gives the columns of a root of the covariance of the eight numbers, times a factor; false when the marks leave
// the numbers open.
func shiftsOf(p *projection, all []sighting, factor float64) (shifts [8]projection, ok bool) {
	m, _ := normalEquations(p, all, weights(p, all))
	var chol, root mat.Cholesky
	var covariance mat.SymDense
	if !chol.Factorize(m) || chol.Cond() > illConditioned || chol.InverseTo(&covariance) != nil || !root.Factorize(&covariance) {
		return shifts, false
	}
	var lower mat.TriDense
	root.LTo(&lower)
	for column := range 8 {
		for row := column; row < 8; row++ {
			shifts[column][row] = factor * lower.At(row, column)
		}
	}
	return shifts, true
}

// back gives the homography from the picture to the plane, both scaled, with a c that is positive for what lies before
// the horizon.
func (p *projection) back() Homography {
	h := Homography{p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], 1}
	back := h.Inverse()
	if h.determinant() < 0 {
		for k := range back {
			back[k] = -back[k]
		}
	}
	return back
}
