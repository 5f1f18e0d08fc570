package field

import "math"

// ViewMark is a point whose place in a plane is known and that was clicked in a picture. Its name, where it has one, is
// its own among the marks of a view. Errors are standard deviations along each axis: PixelErrorPx of the click (0: the
// view's), PlaceErrorM of the place in metres (0: exact).
type ViewMark struct {
	Name         string
	Picture      Pixel
	Place        PlanePoint
	PixelErrorPx float64
	PlaceErrorM  float64
}

// View ties the picture of one camera position to a plane of the field: the ground, or the plane of the goal. It is a
// homography, which is exact for a camera without lens distortion. It is made once by [NewView]; mapping a click then
// takes the same few operations however many marks there were. A View is not changed by use, so goroutines may share it.
type View struct {
	// Residuals are how far each mark lies from where the view shows its place, in pixels, in the order of the marks. With
	// four marks all are 0: four fit whatever they are.
	Residuals []float64
	// Warnings are what is odd about the marks, but may be right.
	Warnings []ViewWarning

	plane, picture scaling
	toPicture      projection
	back           Homography                     // from the scaled picture to the scaled plane; its c is positive before the horizon
	shifted        [2 * (unknowns - 2)]Homography // back, shifted along each of the ways in which the marks leave it open
	shifts         [unknowns - 2]projection       // those ways, spreadFactor standard deviations long
	errorPx        float64
}

// NewView fits a view to its marks: the normalised direct linear transform (Hartley & Zisserman, Multiple View Geometry,
// 2nd ed., algorithm 4.2), then the least sum of squared errors in the picture, each weighed by its own error. errorPx is
// the standard deviation of a click along each axis, in pixels, and must be positive. Errors are of type *[ViewError].
func NewView(marks []ViewMark, errorPx float64) (*View, error) {
	if notFinite(errorPx) || errorPx <= 0 {
		return nil, &ViewError{ViewNotFinite, nil, "the error of a click must be a positive number of pixels"}
	}
	if e := refuseMarks(marks); e != nil {
		return nil, e
	}
	f, e := fitMarks(marks, errorPx)
	if e != nil {
		return nil, e
	}
	v := &View{plane: f.plane, picture: f.picture, toPicture: f.projection, back: f.projection.back(), errorPx: errorPx}
	v.Residuals = f.residuals()
	var widen float64
	v.Warnings, widen = judge(marks, errorPx, f)
	var ok bool
	if v.shifts, ok = shiftsOf(&f.projection, f.sightings, spreadFactor*widen); !ok {
		return nil, tooFlat(marks)
	}
	for i, shift := range v.shifts {
		more, less := f.projection, f.projection
		for k := range shift {
			more[k] += shift[k]
			less[k] -= shift[k]
		}
		v.shifted[2*i], v.shifted[2*i+1] = more.back(), less.back()
	}
	return v, nil
}

// CoarseFromM is the half-axis, in metres, beyond which a spot is coarse.
const CoarseFromM = 1

// MappedSpot is where a click lies in the view's plane, how well that is known, and whether it is coarse: its 90 %
// ellipse reaches further than [CoarseFromM].
type MappedSpot struct {
	At         PlanePoint
	Covariance Covariance
	Ellipse    ErrorEllipse
	Coarse     bool
}

// Map gives the spot of a click. errorPx is the standard deviation of the click along each axis, in pixels; 0 stands for
// the view's. The error is of type *[ViewError]: the click is not finite, lies on or beyond the horizon, or is so unsure
// that it may.
//
// The covariance is found by mapping shifted clicks through shifted homographies (the unscented transform; Julier &
// Uhlmann, Proceedings of the IEEE 92, 2004, with twenty points of one weight for eight numbers of the homography and two
// of the click), taken about the spot. To the first order it is the usual J S J'; where few or crowded marks make the map
// bend within its own error it keeps what it promises and the first order does not.
func (v *View) Map(click Pixel, errorPx float64) (MappedSpot, error) {
	if errorPx == 0 {
		errorPx = v.errorPx
	}
	if notFinite(click.U) || notFinite(click.V) || notFinite(errorPx) || errorPx < 0 {
		return MappedSpot{}, errNotFinite
	}
	cu, cv := v.picture.apply(click.U, click.V)
	x, y, ahead := v.back.apply(cu, cv)
	if !(ahead > 0) {
		return MappedSpot{}, errBeyond
	}
	moment, ok := v.moment(cu, cv, x, y, errorPx*v.picture.factor*spreadFactor)
	if !ok {
		return MappedSpot{}, errUnsure
	}
	var out MappedSpot
	out.At.X, out.At.Y = v.plane.back(x, y)
	weight := 1 / (2 * unknowns * square(v.plane.factor))
	out.Covariance = Covariance{moment.XX * weight, moment.XY * weight, moment.YY * weight}
	out.Ellipse = out.Covariance.Ellipse90()
	out.Coarse = out.Ellipse.HalfMajorM > CoarseFromM
	return out, nil
}

// unknowns are the eight numbers of a homography and the two of a click; spreadFactor is how many standard deviations
// each is shifted, so that points of weight 1/(2 unknowns) have their covariance.
const unknowns = 10

var spreadFactor = math.Sqrt(unknowns)

// moment gives the sums of squares and products of how far the shifted clicks and homographies land from (x, y), in the
// scaled plane; false when one lands beyond the horizon.
func (v *View) moment(cu, cv, x, y, shift float64) (c Covariance, ok bool) {
	ok = true
	add := func(h *Homography, u, v float64) {
		a, b, ahead := h.apply(u, v)
		ok = ok && ahead > 0
		a, b = a-x, b-y
		c.XX += a * a
		c.XY += a * b
		c.YY += b * b
	}
	for i := range v.shifted {
		add(&v.shifted[i], cu, cv)
	}
	add(&v.back, cu+shift, cv)
	add(&v.back, cu-shift, cv)
	add(&v.back, cu, cv+shift)
	add(&v.back, cu, cv-shift)
	return c, ok
}

var (
	errNotFinite = &ViewError{ViewNotFinite, nil, "the click's numbers must be finite, its error not negative"}
	errBeyond    = &ViewError{ViewClickHorizon, nil, "the click lies on the horizon or beyond it"}
	errUnsure    = &ViewError{ViewClickUnsure, nil,
		"the click cannot be told from the horizon: it is too near to it, or the marks are too few, too crowded or too rough"}
)

// Mirrored tells whether the view shows the plane's first axis turned toward its second the other way than the eye sees
// it that looks at the plane with the second axis up and the first to the right. No camera above the ground does that to
// the ground: left and right are exchanged in the marks, or the film is mirrored. The goal's plane is mirrored from
// the field and not from behind.
func (v *View) Mirrored() bool {
	a := v.toPicture.slopes(v.toPicture[2], v.toPicture[5], 1) // at the middle of the marks
	return a[0]*a[3]-a[1]*a[2] > 0
}
