package field

import (
	"fmt"
	"math"
)

// Spot is a place on the ground in metres: XM to the goalkeeper's right of the middle of the goal line as they face the
// field, YM up-field of the goal line, negative behind it.
type Spot struct {
	XM float64 `json:"x_m"`
	YM float64 `json:"y_m"`
}

// Finish is a place in the goal's plane in metres: XM as of a [Spot], UpM above the ground.
type Finish struct {
	XM  float64 `json:"x_m"`
	UpM float64 `json:"up_m"`
}

// Fault says which number was refused, by its name in JSON, and why.
type Fault struct {
	Field  string
	Detail string
}

// Error gives the field and the reason.
func (f *Fault) Error() string { return f.Field + " " + f.Detail }

func faultf(field, format string, args ...any) *Fault {
	return &Fault{Field: field, Detail: fmt.Sprintf(format, args...)}
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// BeyondLinesM is how far past the lines a spot may still lie: whoever stands on a line may hold the ball outside it, and
// a tap on a small picture is not exact. Our own line.
const BeyondLinesM = 2

// CheckSpot refuses a spot that cannot be on any field of the code of play; the error is a [*Fault] that names x_m or
// y_m. It is nil for a goalkeeper's spot in the mouth of the goal; of the ball ask [Ground.CheckBall].
func (g *Ground) CheckSpot(s Spot) error {
	switch {
	case !finite(s.XM):
		return faultf("x_m", "must be a finite number")
	case !finite(s.YM):
		return faultf("y_m", "must be a finite number")
	case math.Abs(s.XM) > g.MostWidthM/2+BeyondLinesM:
		return faultf("x_m", "lies off any field: the widest reaches %.1f m to a side", g.MostWidthM/2)
	case s.YM < -g.MostBehindM-BeyondLinesM:
		return faultf("y_m", "lies off any field: the furthest end line is %.1f m behind the goal line", g.MostBehindM)
	case s.YM > g.MostUpM+BeyondLinesM:
		return faultf("y_m", "lies off any field: the furthest end line is %.1f m up-field of the goal line", g.MostUpM)
	}
	return nil
}

// CheckBall refuses what [Ground.CheckSpot] refuses, and a ball that is in the goal: on the goal line between the posts,
// or inside the net, whose frame on the ground is taken for a triangle from the posts back to its depth (frames that
// bend are a little wider). The error is a [*Fault] that names x_m or y_m.
func (g *Ground) CheckBall(s Spot) error {
	if err := g.CheckSpot(s); err != nil {
		return err
	}
	half := g.GoalWidthM / 2
	switch {
	case s.YM == 0 && math.Abs(s.XM) <= half:
		return faultf("y_m", "is on the goal line between the posts: the ball is in the goal")
	case s.YM < 0 && s.YM > -g.NetDepthM && math.Abs(s.XM) < half*(1+s.YM/g.NetDepthM):
		return faultf("y_m", "lies inside the net")
	}
	return nil
}
