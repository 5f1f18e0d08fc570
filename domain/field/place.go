package field

import "math"

// Bearing gives the degrees, at the middle of the goal line, from straight out to a spot, to either side: 0 straight
// out, 90 on the goal line extended, 180 straight behind. x is metres to a side, y metres up-field. ok is false for the
// middle of the goal line itself, which lies in no direction.
func Bearing(x, y float64) (degrees float64, ok bool) {
	if x == 0 && y == 0 {
		return 0, false
	}
	return math.Atan2(math.Abs(x), y) * 180 / math.Pi, true
}

// Area is a named part of the ground round a goal.
type Area string

// Areas are the parts of the ground. They neither overlap nor leave a gap, but for the middle of the goal line, which
// is inside.
var Areas = []Area{Inside, Top, Alley, Wing, GoalLineExtended, Behind, X}

// The parts of the ground.
const (
	Inside           Area = "inside"
	Top              Area = "top"
	Alley            Area = "alley"
	Wing             Area = "wing"
	GoalLineExtended Area = "goal_line_extended"
	Behind           Area = "behind"
	X                Area = "x"
)

// The bearings, in degrees, at which one part ends and the next begins. What lies on one belongs to the part further out
// front, but for the 80th degree, which belongs to goal-line extended. There are no such lines in any rule book: these are
// our own, close to how coaches speak, and the same in every code of play; how far the inside reaches is the ground's.
const (
	topEnds   = 30
	alleyEnds = 60
	wingEnds  = 80
	gleEnds   = 100
	xBegins   = 160
)

// Area gives the part in which a spot lies.
func (g *Ground) Area(s Spot) Area {
	bearing, _ := Bearing(s.XM, s.YM)
	return areaAt(bearing, math.Hypot(s.XM, s.YM), g.InsideM)
}

// areaAt gives the part at a bearing in degrees and a distance in metres from the middle of the goal line.
func areaAt(bearing, distance, insideM float64) Area {
	switch {
	case bearing > xBegins:
		return X
	case bearing > gleEnds:
		return Behind
	case bearing >= wingEnds:
		return GoalLineExtended
	case distance <= insideM:
		return Inside
	case bearing <= topEnds:
		return Top
	case bearing <= alleyEnds:
		return Alley
	}
	return Wing
}

// Estimate is a spot that nobody marked. Coarse says that it stands for a whole part of the ground: it may feed only what
// coarse spots may feed.
type Estimate struct {
	Spot   Spot
	Coarse bool
}

// ReferenceSpot gives the spot that stands for a part of the ground when only the part is known, on the side named; it is
// always coarse. Top and X lie in the middle, whatever the side; any other part needs one. ok is false for an unknown code
// of play or part, or a part whose side is not known. The spots are our own: about the middle of each part.
func ReferenceSpot(codeOfPlay string, area Area, side BallSide) (e Estimate, ok bool) {
	at, ok := grounds()[codeOfPlay].ReferenceSpots[area]
	if !ok {
		return Estimate{}, false
	}
	sin, cos := math.Sincos(at.BearingDeg * radian)
	spot := Spot{at.DistanceM * sin, at.DistanceM * cos}
	switch {
	case at.BearingDeg == 0 || at.BearingDeg == 180:
		spot.XM = 0
	case side == BallLeft:
		spot.XM = -spot.XM
	case side != BallRight:
		return Estimate{}, false
	}
	return Estimate{Spot: spot, Coarse: true}, true
}

// PipePlace is a third of the opening's width, seen from the ball's side.
type PipePlace string

// PipePlaces are the thirds.
var PipePlaces = []PipePlace{Near, MiddlePipe, Far}

// The thirds of the opening.
const (
	Near       PipePlace = "near"
	MiddlePipe PipePlace = "middle"
	Far        PipePlace = "far"
)

// NearFromDegrees is the least bearing of a ball that has a near pipe: one shot from further out front is about as far
// from both. Our own line.
const NearFromDegrees = 30

// Pipe gives the third in which a ball from (ballX, ballY) finished. finishX is metres to the same side as x. A finish
// on the line between two thirds belongs to the middle. ok is false for an outer third of a ball too far out front to
// have a near pipe.
func (o Opening) Pipe(ballX, ballY, finishX float64) (p PipePlace, ok bool) {
	if math.Abs(finishX) <= o.WidthM/6 {
		return MiddlePipe, true
	}
	bearing, ok := Bearing(ballX, ballY)
	if !ok || bearing < NearFromDegrees || ballX == 0 {
		return "", false
	}
	if (ballX > 0) == (finishX > 0) {
		return Near, true
	}
	return Far, true
}
