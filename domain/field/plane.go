package field

import "math"

// PlaneChange is how far a ball changed its height between the release and the finish.
type PlaneChange string

// PlaneChanges are the changes.
var PlaneChanges = []PlaneChange{FullChange, PartChange, NoChange}

// The changes.
const (
	FullChange PlaneChange = "full" // from high to low or low to high
	PartChange PlaneChange = "part" // by one level
	NoChange   PlaneChange = "none"
)

// ChangeOfPlane compares the level of a release, against the shooter's body, with the third of the opening's height in
// which the ball finished; both count from the ground: 0 low, 1 mid, 2 high.
func ChangeOfPlane(release, finish int) PlaneChange {
	switch release - finish {
	case 0:
		return NoChange
	case 1, -1:
		return PartChange
	}
	return FullChange
}

// VerticalAngleDeg gives the degrees by which the straight line from a ball, released releaseUpM metres above its spot, to
// where it crossed the goal's plane rises above the level; it is negative for a ball that comes down. A bounce lies on no
// straight line: do not ask for one. Two points that are the same give 0.
func VerticalAngleDeg(ball Spot, releaseUpM float64, finish Finish) float64 {
	return math.Atan2(finish.UpM-releaseUpM, math.Hypot(ball.XM-finish.XM, ball.YM)) / radian
}
