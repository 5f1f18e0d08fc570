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

// ThirdAt gives the third (0, 1, 2) of a length in which a point lies, measured from the beginning of the length. A point
// on the line between two belongs to the middle one, and what lies beyond an end to the third at that end.
func ThirdAt(at, length float64) int {
	switch {
	case at < length/3:
		return 0
	case at <= 2*length/3:
		return 1
	}
	return 2
}

// BandAt gives the third of the opening's height, counted from the ground, at which a ball crosses the goal's plane.
func (o Opening) BandAt(upM float64) int { return ThirdAt(upM, o.HeightM) }

// SideAt gives the third of the opening's width at which a ball crosses the goal's plane, counted from the side off the
// stick: 0 off side, 1 middle, 2 stick side. xM is metres to the goalkeeper's right; stickRight says that they hold the
// head of the stick on that side.
func (o Opening) SideAt(xM float64, stickRight bool) int {
	if !stickRight {
		xM = -xM
	}
	return ThirdAt(xM+o.WidthM/2, o.WidthM)
}

// Passage is what becomes of a ball by where its middle crosses the goal's plane.
type Passage string

// Passages are the ways.
var Passages = []Passage{PassesIn, MeetsFrame, PassesOut}

// The ways.
const (
	PassesIn   Passage = "in"    // wholly between the posts and under the bar
	MeetsFrame Passage = "frame" // it touches a post or the bar
	PassesOut  Passage = "out"   // it misses the goal
)

// PassageAt gives what becomes of a ball whose middle crosses the goal's plane at a point, by [Opening.FrameGapM].
func (o Opening) PassageAt(at Finish, postM float64) Passage {
	switch {
	case o.FrameGapM(at, postM) < 0:
		return MeetsFrame
	case math.Abs(at.XM) < o.WidthM/2+postM/2 && at.UpM < o.HeightM+postM/2:
		return PassesIn
	}
	return PassesOut
}

// FrameGapM gives how many metres there are between a ball whose middle crosses the goal's plane at a point and the nearest
// pipe, whose outside diameter is postM: below 0 it touches the frame, for its middle is nearer to the pipe than its radius.
func (o Opening) FrameGapM(at Finish, postM float64) float64 {
	side, pipe := math.Abs(at.XM), o.WidthM/2+postM/2
	bar := o.HeightM + postM/2
	toPost := math.Hypot(side-pipe, math.Max(0, at.UpM-bar))
	toBar := math.Hypot(math.Max(0, side-pipe), at.UpM-bar)
	return math.Min(toPost, toBar) - postM/2 - BallDiameterM/2
}
