package field

import "math"

// HalfStanceM is half the distance between the feet unless a program says otherwise: the feet stand about as wide as the
// shoulders. Common practice.
const HalfStanceM = 0.20

// BehindM is how far off the goal line a goalkeeper stands in the middle while the ball is at X, unless a program says
// otherwise: the middle of the 0.3 to 0.6 m of a women's clinic. Common practice; a men's clinic stands further out.
const BehindM = 0.45

// Arc is a program's path of spots from pipe to pipe, where the point midway between a goalkeeper's feet should be: the
// half of an ellipse in front of the goal line, its middle in the middle of the goal line, its apex straight out, its ends
// half a stance inside the posts.
type Arc struct {
	ApexM       float64 // of the apex off the goal line
	HalfStanceM float64 // see [HalfStanceM]
	BehindM     float64 // off the goal line with the ball at X; see [BehindM]
}

// ArcTo gives the arc with an apex so many metres off the goal line, and all else as it is unless set.
func ArcTo(apexM float64) Arc { return Arc{apexM, HalfStanceM, BehindM} }

// Check refuses an arc that is none in this opening; the error is a [*Fault] that names apex_m, half_stance_m or behind_m.
func (a Arc) Check(o Opening) error {
	switch {
	case !(a.ApexM > 0 && a.ApexM <= 3):
		return faultf("apex_m", "must be above 0 and at most 3")
	case !(a.HalfStanceM >= 0 && a.HalfStanceM < o.WidthM/2):
		return faultf("half_stance_m", "must be at least 0 and less than half the goal's width")
	case !(a.BehindM >= 0 && a.BehindM <= 3):
		return faultf("behind_m", "must be from 0 to 3")
	}
	return nil
}

// endM gives how far to a side of the middle the arc's ends lie.
func (a Arc) endM(o Opening) float64 { return o.WidthM/2 - a.HalfStanceM }

// Post is a spot where a program has its goalkeeper set for a ball.
type Post struct {
	Spot Spot
	How  PostHow
}

// PostHow says how a [Post] was found.
type PostHow string

// The ways.
const (
	OnBisector PostHow = "bisector" // where the bisector meets the arc
	OnPipe     PostHow = "pipe"     // the arc's end on the ball's side: the bisector meets the arc nowhere else
	BallBehind PostHow = "behind"   // inside the goal line while the ball is behind it; common practice, programs differ
)

// PostFor gives the spot at which the arc meets the bisector from the ball, or the line beside it that is shadeM metres
// nearer to the goalkeeper's right post. A ball behind the goal line has no bisector: then the spot moves evenly with the
// ball's bearing from the arc's end on its side, at goal-line extended, to the middle, BehindM off the line, at X. ok is
// false for a ball in the goal, and for one inside the arc, past which nobody can stand.
func (a Arc) PostFor(o Opening, ball Spot, shadeM float64) (p Post, ok bool) {
	end := a.endM(o)
	if ball.YM < 0 {
		bearing, _ := Bearing(ball.XM, ball.YM)
		way := (bearing - 90) / 90
		return Post{Spot{math.Copysign(end, ball.XM) * (1 - way), a.BehindM * way}, BallBehind}, true
	}
	b, ok := BisectorFrom(o, ball)
	if !ok || ellipse(ball, end, a.ApexM) < 1 {
		return Post{}, false
	}
	if s, ok := a.meet(b.Shifted(ball, shadeM), b.inX, b.inY, end); ok {
		return Post{s, OnBisector}, true
	}
	return Post{Spot{XM: math.Copysign(end, ball.XM)}, OnPipe}, true
}

// ellipse is below 1 inside the ellipse with these half axes, 1 on it and more outside.
func ellipse(s Spot, halfX, halfY float64) float64 {
	x, y := s.XM/halfX, s.YM/halfY
	return x*x + y*y
}

// meet gives where a ray from a spot first meets the arc: the smaller root of the quadratic equation that the ray's points
// on the ellipse fulfil, when it lies in front of the goal line.
func (a Arc) meet(from Spot, dirX, dirY, end float64) (Spot, bool) {
	fx, fy, dx, dy := from.XM/end, from.YM/a.ApexM, dirX/end, dirY/a.ApexM
	dd, fd, ff := dx*dx+dy*dy, fx*dx+fy*dy, fx*fx+fy*fy
	root := fd*fd - dd*(ff-1)
	if root < 0 {
		return Spot{}, false
	}
	t := (-fd - math.Sqrt(root)) / dd
	s := Spot{from.XM + t*dirX, from.YM + t*dirY}
	return s, t >= 0 && s.YM >= 0
}

// AroundM gives how far it is from one post to another by the way round: along the arc, and where a ball is behind along
// the straight line from the arc's end to that post, by whichever pipe is nearer.
func (a Arc) AroundM(o Opening, from, to Post) float64 {
	end := a.endM(o)
	switch {
	case from.How == BallBehind && to.How == BallBehind:
		if (from.Spot.XM > 0) == (to.Spot.XM > 0) {
			return distance(from.Spot, to.Spot)
		}
		return distance(from.Spot, Spot{0, a.BehindM}) + distance(Spot{0, a.BehindM}, to.Spot)
	case to.How == BallBehind:
		from, to = to, from
		fallthrough
	case from.How == BallBehind:
		right, left := Spot{XM: end}, Spot{XM: -end}
		byRight := distance(from.Spot, right) + a.along(right, to.Spot, end)
		byLeft := distance(from.Spot, left) + a.along(left, to.Spot, end)
		return math.Min(byRight, byLeft)
	}
	return a.along(from.Spot, to.Spot, end)
}

// along gives the length of the arc between two spots of it. With x = end sin t and y = apex cos t the length is the
// integral of sqrt((end²+apex²)/2 + (end²-apex²)/2 cos 2t) over t, taken by the eight-point Gauss-Legendre rule on either
// side of the apex.
func (a Arc) along(from, to Spot, end float64) float64 {
	t0 := math.Atan2(from.XM/end, from.YM/a.ApexM)
	t1 := math.Atan2(to.XM/end, to.YM/a.ApexM)
	if t0*t1 >= 0 {
		return math.Abs(a.integral(t0, t1, end))
	}
	return math.Abs(a.integral(0, t0, end)) + math.Abs(a.integral(0, t1, end))
}

// gauss holds the nodes and weights of the eight-point rule on [-1, 1], of which the negative half mirrors these.
// Abramowitz and Stegun, Handbook of Mathematical Functions, table 25.4.
var gauss = [4][2]float64{
	{0.183434642495650, 0.362683783378362}, {0.525532409916329, 0.313706645877887},
	{0.796666477413627, 0.222381034453374}, {0.960289856497536, 0.101228536290376},
}

func (a Arc) integral(from, to, end float64) float64 {
	mean, swing := (end*end+a.ApexM*a.ApexM)/2, (end*end-a.ApexM*a.ApexM)/2
	middle, half := (to+from)/2, (to-from)/2
	sum := 0.0
	for _, g := range gauss {
		sum += g[1] * (math.Sqrt(mean+swing*math.Cos(2*(middle+half*g[0]))) +
			math.Sqrt(mean+swing*math.Cos(2*(middle-half*g[0]))))
	}
	return half * sum
}

func distance(a, b Spot) float64 { return math.Hypot(a.XM-b.XM, a.YM-b.YM) }
