package field

import "math"

// BisectorToDeg is the bearing of the ball, in degrees, from which on standing off the bisector is no longer told: near the
// goal line's extension the bisector runs along the goal line, and the offset only says how far off that line somebody
// stands. Common practice.
const BisectorToDeg = 80

// Bisector is the line from the ball that halves the angle between the posts, in plan: from there each side of whoever
// stands square on it shows as much net as the other.
type Bisector struct {
	Ball Spot
	Foot Spot // where it crosses the goal line
	// (inX, inY) is its direction from the ball to the goal, and (rightX, rightY) the direction at right angles to it
	// that points to the goalkeeper's right post; both have length 1.
	inX, inY, rightX, rightY float64
}

// BisectorFrom gives the bisector from a ball in front of the goal line or on its extension. It crosses the goal line where
// it divides the opening as the distances to the posts (the angle bisector theorem, Euclid VI.3). ok is false for a ball
// behind the goal line, which sees no goal, and for one on the goal line between the posts.
func BisectorFrom(o Opening, ball Spot) (b Bisector, ok bool) {
	half := o.WidthM / 2
	if ball.YM < 0 || ball.YM == 0 && math.Abs(ball.XM) <= half {
		return Bisector{}, false
	}
	left, right := math.Hypot(ball.XM+half, ball.YM), math.Hypot(ball.XM-half, ball.YM)
	b = Bisector{Ball: ball, Foot: Spot{XM: half * (left - right) / (left + right)}}
	run := math.Hypot(ball.XM-b.Foot.XM, ball.YM)
	b.inX, b.inY = (b.Foot.XM-ball.XM)/run, -ball.YM/run
	b.rightX, b.rightY = -b.inY, b.inX
	return b, true
}

// At gives the spot on the bisector that lies outM metres from the goal line along it, toward the ball.
func (b Bisector) At(outM float64) Spot {
	return Spot{b.Foot.XM - outM*b.inX, b.Foot.YM - outM*b.inY}
}

// Shifted gives the spot moved by some metres at right angles to the bisector, toward the goalkeeper's right post when
// positive.
func (b Bisector) Shifted(s Spot, rightM float64) Spot {
	return Spot{s.XM + rightM*b.rightX, s.YM + rightM*b.rightY}
}

// Stance is where a goalkeeper's spot, the point midway between the feet, lies against the bisector.
type Stance struct {
	// DepthM is the distance off the goal line at right angles, negative behind it.
	DepthM float64
	// OutAlongBisectorM is the distance from the goal line along the bisector to the point of it nearest to the spot.
	OutAlongBisectorM float64
	// OffCM is the distance from the bisector, or from the shaded line beside it, in centimetres at right angles;
	// positive toward the goalkeeper's right post.
	OffCM float64
	// OffDeg is the same seen from the ball, in degrees.
	OffDeg float64
	// OffKnown is false for a ball at a bearing of [BisectorToDeg] or more, and for a goalkeeper no nearer to the goal
	// than the ball: then OffCM and OffDeg are 0 and say nothing.
	OffKnown bool
}

// Stance measures a goalkeeper's spot against the bisector. shadeM is by how much the program has its goalkeepers stand off
// the bisector on purpose for such a ball, in metres toward the goalkeeper's right post; see [ShadeToRight]. What is off is
// then measured from there.
func (b Bisector) Stance(keeper Spot, shadeM float64) Stance {
	dx, dy := keeper.XM-b.Ball.XM, keeper.YM-b.Ball.YM
	along := dx*b.inX + dy*b.inY
	st := Stance{
		DepthM:            keeper.YM,
		OutAlongBisectorM: (b.Foot.XM-keeper.XM)*b.inX + (b.Foot.YM-keeper.YM)*b.inY,
	}
	if along <= 0 || math.Abs(b.Ball.XM) >= b.Ball.YM*tanBisectorTo {
		return st
	}
	off := dx*b.rightX + dy*b.rightY - shadeM
	st.OffCM, st.OffDeg, st.OffKnown = 100*off, math.Atan2(off, along)/radian, true
	return st
}

// A spot in front of the goal line stands at a bearing of b degrees or more when |x| >= y tan b.
var tanBisectorTo, tanNearFrom = math.Tan(BisectorToDeg * radian), math.Tan(NearFromDegrees * radian)

// ShadeToRight turns a shade toward the near pipe (negative: toward the far one), in metres, into metres toward the
// goalkeeper's right post, for a ball. A ball less than [NearFromDegrees] from straight out has no near pipe, so nobody
// shades against it.
func ShadeToRight(ball Spot, towardNearM float64) float64 {
	switch {
	case towardNearM == 0 || ball.XM == 0 || math.Abs(ball.XM) < ball.YM*tanNearFrom:
		return 0
	case ball.XM < 0:
		return -towardNearM
	}
	return towardNearM
}

// SquareToleranceDeg is how far the hips may turn from the ball and still be square to it. Common practice.
const SquareToleranceDeg = 20

// Square tells whether hips that face away from the ball by so many degrees are square to it.
func Square(offSquareDeg float64) bool { return offSquareDeg <= SquareToleranceDeg }

// OffSquareDeg gives by how many degrees (0 to 180) a goalkeeper's hips face away from the ball. facingDeg is where they
// face: 0 straight out, positive to the goalkeeper's right, as somebody read it by eye or measured it. It cannot be worked
// out from clicks on the feet: at a stance of 0.4 m an error of 5 cm at either foot already turns the line through them by
// some ten degrees.
func OffSquareDeg(keeper, ball Spot, facingDeg float64) float64 {
	toBall := math.Atan2(ball.XM-keeper.XM, ball.YM-keeper.YM) / radian
	return math.Abs(math.Remainder(facingDeg-toBall, 360))
}
