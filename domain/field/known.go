package field

import "math"

// KnownWithinM is how long, in metres, the longer half axis of a spot's 90 % ellipse may be before a habit that follows from
// spots is no longer told from it. Common practice.
const KnownWithinM = 0.10

// Told is what spots tell of a habit: yes, no, or nothing.
type Told int

// What spots tell. NotTold means that the eye has to say.
const (
	NotTold Told = iota
	ToldNo
	ToldYes
)

func told(yes bool) Told {
	if yes {
		return ToldYes
	}
	return ToldNo
}

// SpotsKnown tells whether spots whose 90 % ellipses have these longer half axes, in metres, are known well enough for a
// habit to follow from them. Without any they are not: a spot that says nothing of its error is a tap.
func SpotsKnown(halfAxes ...float64) bool {
	for _, a := range halfAxes {
		if !(a >= 0 && a <= KnownWithinM) {
			return false
		}
	}
	return len(halfAxes) > 0
}

// OnAngle tells whether a goalkeeper stood on the angle: no further off the bisector, or the shaded line beside it, than
// the code of play's tolerance. Where this tells, it wins over the eye. known is that of [SpotsKnown].
func (g *Ground) OnAngle(st Stance, known bool) Told {
	if !known || !st.OffKnown {
		return NotTold
	}
	return told(math.Abs(st.OffCM) <= 100*g.OnAngleToleranceM)
}

// DepthHeld tells whether a goalkeeper stood as far off the goal line as the program's arc has them for this ball, within
// the code of play's tolerance. For a ball behind the goal line the arc says nothing.
func (g *Ground) DepthHeld(st Stance, post Post, known bool) Told {
	if !known || post.How == BallBehind || post.How == "" {
		return NotTold
	}
	return told(math.Abs(st.DepthM-post.Spot.YM) <= g.DepthToleranceM)
}

// AcrossInTime tells whether a goalkeeper was across in time: set before the release, which only the eye can see, and on the
// angle. A no of either is a no.
func AcrossInTime(set, onAngle Told) Told {
	switch {
	case set == ToldNo || onAngle == ToldNo:
		return ToldNo
	case set == ToldYes && onAngle == ToldYes:
		return ToldYes
	}
	return NotTold
}
