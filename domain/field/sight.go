package field

import "math"

// BallSide is the side of the goal on which a ball is, seen from the goalkeeper who faces the field.
type BallSide string

// BallSides are the sides. Only a ball exactly on the middle line is in the middle.
var BallSides = []BallSide{BallRight, BallMiddle, BallLeft}

// The sides.
const (
	BallRight  BallSide = "right"
	BallMiddle BallSide = "middle"
	BallLeft   BallSide = "left"
)

// Sight is what follows from where a ball is. Distances are metres along the ground.
type Sight struct {
	DistanceM    float64 // to the middle of the goal line
	BearingDeg   float64 // there, from straight out, to either side; see [Bearing]
	NearPostM    float64 // to the inner side of the nearer post
	FarPostM     float64 // to the inner side of the other post
	CreaseEdgeM  float64 // to the edge of the goal circle; negative inside it
	GoalAngleDeg float64 // that the opening subtends at the ball; 0 where no goal shows
	Side         BallSide
	Area         Area
	InArc        bool // in the women's inner arc; see [Ground.InArc]
	InFan        bool // in the women's fan; see [Ground.InFan]
}

// See works out what follows from a ball's spot. The error is that of [Ground.CheckBall].
func (g *Ground) See(ball Spot) (Sight, error) {
	if err := g.CheckBall(ball); err != nil {
		return Sight{}, err
	}
	return g.see(ball), nil
}

// see is See of a spot that was checked.
func (g *Ground) see(ball Spot) Sight {
	half := g.GoalWidthM / 2
	distance := math.Hypot(ball.XM, ball.YM)
	side := math.Abs(ball.XM)
	bearing := math.Atan2(side, ball.YM) / radian
	return Sight{
		DistanceM:    distance,
		BearingDeg:   bearing,
		NearPostM:    math.Hypot(side-half, ball.YM),
		FarPostM:     math.Hypot(side+half, ball.YM),
		CreaseEdgeM:  distance - g.CreaseRadiusM,
		GoalAngleDeg: g.Opening().AngleDeg(ball),
		Side:         sideOf(ball),
		Area:         areaAt(bearing, distance, g.InsideM),
		InArc:        g.InArc(ball),
		InFan:        g.InFan(ball),
	}
}

func sideOf(ball Spot) BallSide {
	switch {
	case ball.XM > 0:
		return BallRight
	case ball.XM < 0:
		return BallLeft
	}
	return BallMiddle
}

// AngleDeg gives the angle in degrees that the opening subtends at a ball, in plan: the angle between the lines to the
// posts' inner sides. From the law of cosines, written with the cross and dot products of those lines so that it is exact
// for small angles too; straight out at distance d it is 2 atan(w/2d). On the goal line's extension and behind it no goal
// shows: 0.
func (o Opening) AngleDeg(ball Spot) float64 {
	if ball.YM <= 0 {
		return 0
	}
	half := o.WidthM / 2
	return math.Atan2(o.WidthM*ball.YM, ball.XM*ball.XM+ball.YM*ball.YM-half*half) / radian
}
