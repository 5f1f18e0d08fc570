package field

import "math"

// Covariance is the covariance of a point of a plane, in square metres.
type Covariance struct{ XX, XY, YY float64 }

// ErrorEllipse is where a point lies with a probability of 90 %, about the point: its half-axes in metres and the
// degrees from the x axis to the longer one, turning toward y, from -90 to 90.
type ErrorEllipse struct{ HalfMajorM, HalfMinorM, AngleDeg float64 }

// chiSquared90 is the 90 % point of the chi-squared distribution with two degrees of freedom, -2 ln 0.1.
var chiSquared90 = -2 * math.Log(.1)

// Ellipse90 gives the ellipse that holds 90 % of a normal distribution with this covariance.
func (c Covariance) Ellipse90() ErrorEllipse {
	middle, half := (c.XX+c.YY)/2, math.Hypot((c.XX-c.YY)/2, c.XY)
	return ErrorEllipse{
		HalfMajorM: math.Sqrt(chiSquared90 * (middle + half)),
		HalfMinorM: math.Sqrt(chiSquared90 * math.Max(0, middle-half)),
		AngleDeg:   math.Atan2(2*c.XY, c.XX-c.YY) / 2 * 180 / math.Pi,
	}
}

// Distance gives how many standard deviations an offset of (x, y) metres is off: the Mahalanobis distance. With two
// dimensions an offset lies in the 90 % ellipse when its square is no more than 4.605.
func (c Covariance) Distance(x, y float64) float64 {
	return math.Sqrt((c.YY*x*x - 2*c.XY*x*y + c.XX*y*y) / (c.XX*c.YY - c.XY*c.XY))
}
