package field

import "math"

// BallDiameterM is the diameter of a lacrosse ball in metres: the middle of 62.66 and 64.68 mm, from the
// circumference of 7 3/4 to 8 inches in the NCAA rules of 2015 and 2016.
const BallDiameterM = 0.06367

// Opening is a goal's opening: the inside width between the posts and the height under the bar, in metres.
type Opening struct{ WidthM, HeightM float64 }

// Third gives from where to where the n-th third (0, 1, 2) of a length lies.
func (o Opening) Third(n int, length float64) (from, to float64) {
	return float64(n) * length / 3, float64(n+1) * length / 3
}

// Outside gives how far a point of the goal's plane lies outside the opening, in metres; 0 inside or on its edge.
// x is metres to the goalkeeper's right of the middle, up is metres above the ground.
func (o Opening) Outside(x, up float64) float64 {
	return math.Hypot(math.Max(0, math.Abs(x)-o.WidthM/2), math.Max(0, math.Max(up-o.HeightM, -up)))
}
