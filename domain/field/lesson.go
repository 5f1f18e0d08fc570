package field

import (
	"fmt"
	"math"
)

// Question is what somebody asks who wants to see what coming out does: ball here, goalkeeper this tall, this far out.
type Question struct {
	Ball       Spot
	ReleaseUpM float64 // of the ball above the ground at release
	SpeedMS    float64
	Keeper     Silhouette
	Arc        Arc
	ShadeM     float64   // see [Bisector.Stance]
	OutsM      []float64 // distances from the goal line along the bisector, each its own line of the answer
}

// MostOuts is how many distances a question may have.
const MostOuts = 20

// Lesson answers a [Question]. It holds what each distance shows and what it costs; which is worth more depends on the
// speed of the ball and of the goalkeeper, so it recommends none.
type Lesson struct {
	Sight   Sight
	Foot    Spot    // where the bisector crosses the goal line
	Post    Post    // where the program's arc meets it
	ToLineS float64 // from the release until the ball is at the goal line, without drag
	// DragToLineS is the same with the estimate of drag, which is from memory.
	DragToLineS float64
	AtArc       Depth   // what shows from the program's arc
	Depths      []Depth // in the order of the question
	Says        []string
}

// Depth is one distance out: what shows from there, and how much time is left.
type Depth struct {
	OutAlongBisectorM float64
	Spot              Spot
	DepthM            float64 // off the goal line at right angles
	Net               NetLeft
	TimeS             float64 // from the release until the ball is at the goalkeeper, without drag
	DragTimeS         float64 // with the estimate of drag, which is from memory
	CostS             float64 // by how much TimeS is shorter than on the goal line
}

// Teach works out a lesson. The error is a [*Fault] that names the number: a ball that shows no goal or stands at a bearing
// of [BisectorToDeg] or more, a release above 4 m, a speed that is not above 0 or is above 70 m/s, and a distance that is
// below 0 or not short of the ball.
func Teach(g *Ground, q Question) (Lesson, error) {
	sight, err := g.See(q.Ball)
	if err != nil {
		return Lesson{}, err
	}
	if err := q.check(g, sight); err != nil {
		return Lesson{}, err
	}
	o := g.Opening()
	b, _ := BisectorFrom(o, q.Ball) // the ball is in front of the goal line: check saw to it
	post, ok := q.Arc.PostFor(o, q.Ball, q.ShadeM)
	if !ok {
		return Lesson{}, faultf("y_m", "lies inside the arc: nobody can stand between the ball and the goal on it")
	}
	l := Lesson{Sight: sight, Foot: b.Foot, Post: post}
	toLine := distance(q.Ball, b.Foot)
	l.ToLineS, _ = FlightS(q.SpeedMS, toLine)
	l.DragToLineS, _ = DragFlightS(q.SpeedMS, toLine)
	l.AtArc = q.depth(o, b, post.Spot)
	for i, out := range q.OutsM {
		spot := b.Shifted(b.At(out), q.ShadeM)
		if !(out >= 0) || spot.YM >= q.Ball.YM || distance(q.Ball, b.Foot)-out < nearestToBallM {
			return Lesson{}, faultf(fmt.Sprintf("out_along_bisector_m/%d", i), "must be at least 0 and %.1f m short of the ball", nearestToBallM)
		}
		d := q.depth(o, b, spot)
		d.OutAlongBisectorM = out // what the spot gives back differs in the last digits
		l.Depths = append(l.Depths, d)
	}
	l.Says = q.says(o, l)
	return l, nil
}

// nearestToBallM is how near to a ball a goalkeeper may come in a lesson: nearer, a silhouette says nothing.
const nearestToBallM = 0.5

func (q Question) check(g *Ground, sight Sight) error {
	switch {
	case sight.BearingDeg >= BisectorToDeg:
		return faultf("y_m", "is too near to the goal line's extension for a lesson: the bearing is %.0f degrees, and from %d on no bisector is told",
			sight.BearingDeg, BisectorToDeg)
	case !(q.ReleaseUpM >= 0 && q.ReleaseUpM <= 4):
		return faultf("release_up_m", "must be from 0 to 4")
	case !(q.SpeedMS > 0 && q.SpeedMS <= 70):
		return faultf("speed_ms", "must be above 0 and at most 70")
	case !(math.Abs(q.ShadeM) <= 0.5):
		return faultf("shade_m", "must be from -0.5 to 0.5")
	case len(q.OutsM) > MostOuts:
		return faultf("out_along_bisector_m", "must have at most %d distances", MostOuts)
	}
	if err := q.Keeper.Check(); err != nil {
		return err
	}
	return q.Arc.Check(g.Opening())
}

func (q Question) depth(o Opening, b Bisector, spot Spot) Depth {
	d := Depth{Spot: spot, DepthM: spot.YM, OutAlongBisectorM: b.Stance(spot, q.ShadeM).OutAlongBisectorM}
	d.Net, _ = q.Keeper.NetLeft(o, q.Ball, q.ReleaseUpM, spot)
	away := distance(q.Ball, spot)
	d.TimeS, _ = FlightS(q.SpeedMS, away)
	d.DragTimeS, _ = DragFlightS(q.SpeedMS, away)
	onLine, _ := FlightS(q.SpeedMS, distance(q.Ball, b.Foot))
	d.CostS = onLine - d.TimeS
	return d
}

// says puts the figures of a lesson into words: what coming out gains beside, what it costs in time, and what it does above.
func (q Question) says(o Opening, l Lesson) []string {
	says := []string{
		CompareReaction(l.ToLineS),
		fmt.Sprintf("That is without drag. With drag, whose coefficient is from memory, it would be about %.0f ms.", 1000*l.DragToLineS),
		"No depth is recommended: coming out covers more beside and leaves less time, and which is worth more depends on the speed " +
			"of the shot and on how soon the goalkeeper moves.",
	}
	if len(l.Depths) > 1 {
		near, far := l.Depths[0], l.Depths[0]
		for _, d := range l.Depths[1:] {
			if d.OutAlongBisectorM < near.OutAlongBisectorM {
				near = d
			}
			if d.OutAlongBisectorM > far.OutAlongBisectorM {
				far = d
			}
		}
		says = append(says, fmt.Sprintf("From %.2f m out to %.2f m out the width that is covered low goes from %.0f to %.0f %%, and the time from "+
			"the release to the goalkeeper from %.0f to %.0f ms.",
			near.OutAlongBisectorM, far.OutAlongBisectorM, 100*near.Net.CoveredLow(), 100*far.Net.CoveredLow(), 1000*near.TimeS, 1000*far.TimeS))
		if q.ReleaseUpM > q.Keeper.ReachM() {
			says = append(says, fmt.Sprintf("The release at %.2f m is higher than the goalkeeper's reach of %.2f m, so coming out shows more net above: "+
				"from %.0f to %.0f %% of the %.2f m.",
				q.ReleaseUpM, q.Keeper.ReachM(), 100*near.Net.Above, 100*far.Net.Above, o.HeightM))
		}
	}
	return says
}
