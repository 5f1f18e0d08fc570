package field

import "math"

// Swing gives the degrees, at the middle of the goal line, through which the ball went from one spot to another by the
// shorter way, 0 to 180. ok is false when one of them is the middle of the goal line itself.
func Swing(from, to Spot) (deg float64, ok bool) {
	if from == (Spot{}) || to == (Spot{}) {
		return 0, false
	}
	cross, dot := from.XM*to.YM-from.YM*to.XM, from.XM*to.XM+from.YM*to.YM
	return math.Atan2(math.Abs(cross), dot) / radian, true
}

// AcrossFromDeg is the swing, in degrees, from which on a ball went across the cage whichever way it came. Common practice.
const AcrossFromDeg = 60

// CrossedMiddle tells whether the straight line from one spot to another crosses the middle line of the cage, in front of
// the goal or behind it. A spot on the line has not crossed it.
func CrossedMiddle(from, to Spot) bool { return from.XM < 0 && to.XM > 0 || from.XM > 0 && to.XM < 0 }

// WentBehind tells whether any of the straight line from one spot to another lies behind the goal line.
func WentBehind(from, to Spot) bool { return from.YM < 0 || to.YM < 0 }

// Travel is how far a goalkeeper has to go from the spot where they stood for one ball to that for another.
type Travel struct {
	From, To  Post
	StraightM float64 // by the straight line, which is what a goalkeeper does
	AroundM   float64 // by the way round the arc
}

// Travel gives the way between the set spots of two balls. shadeM gives the shade of each, as in [Arc.PostFor]. ok is
// false when there is no set spot for one of them.
func (a Arc) Travel(o Opening, from, to Spot, fromShadeM, toShadeM float64) (t Travel, ok bool) {
	var known bool
	if t.From, known = a.PostFor(o, from, fromShadeM); !known {
		return Travel{}, false
	}
	if t.To, known = a.PostFor(o, to, toShadeM); !known {
		return Travel{}, false
	}
	t.StraightM = distance(t.From.Spot, t.To.Spot)
	t.AroundM = a.AroundM(o, t.From, t.To)
	return t, true
}

// SpeedMS gives the mean speed, in metres a second, that the straight way demands in the seconds from the catch to the
// release: the least at which whoever was set for the one ball is set for the other. ok is false for a time that is not
// above 0.
func (t Travel) SpeedMS(catchToReleaseS float64) (speed float64, ok bool) {
	if !(catchToReleaseS > 0) {
		return 0, false
	}
	return t.StraightM / catchToReleaseS, true
}
