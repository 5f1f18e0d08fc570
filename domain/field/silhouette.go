package field

import "math"

// Silhouette is what a goalkeeper in the stance covers, as two upright rectangles square to the ball: the body, and beside
// it on the stick side the head of the crosse, which is held as high as the head and covers nothing low. Metres. It is a
// measure for teaching: a goalkeeper moves, and no body is a rectangle.
type Silhouette struct {
	BodyWidthM    float64
	BodyHeightM   float64 // of the top of the helmet in the stance
	CrosseWidthM  float64 // of what the crosse covers beside the body
	CrosseHeightM float64 // of the top of the crosse as it is held
	StickRight    bool    // the head of the stick is on the goalkeeper's right
}

// CommonSilhouette is that of a high-school goalkeeper in the stance with a crosse of 12 in, for whoever's own measures are
// not known. Common practice.
func CommonSilhouette(stickRight bool) Silhouette {
	return Silhouette{BodyWidthM: 0.5, BodyHeightM: 1.5, CrosseWidthM: 0.3, CrosseHeightM: 1.6, StickRight: stickRight}
}

// Check refuses a silhouette that is none; the error is a [*Fault] that names the number.
func (s Silhouette) Check() error {
	for _, c := range []struct {
		field        string
		value, least float64
	}{
		{"body_width_m", s.BodyWidthM, 0.1}, {"body_height_m", s.BodyHeightM, 0.3},
		{"crosse_width_m", s.CrosseWidthM, 0}, {"crosse_height_m", s.CrosseHeightM, 0},
	} {
		if !(c.value >= c.least && c.value <= 3) {
			return faultf(c.field, "must be from %g to 3", c.least)
		}
	}
	return nil
}

// ReachM is how high the goalkeeper covers: to the top of the helmet or of the crosse, whichever is higher, for the hands
// take the crosse over the helmet too.
func (s Silhouette) ReachM() float64 { return math.Max(s.BodyHeightM, s.CrosseHeightM) }

// NetLeft is the net that shows past a goalkeeper at the ball. Right and left are the goalkeeper's, as fractions of the
// opening's width: high where the crosse is, low where there is only the body. Above is over the middle of the body, as a
// fraction of the opening's height.
type NetLeft struct {
	RightHigh, RightLow, LeftHigh, LeftLow, Above float64
}

// CoveredHigh and CoveredLow give the fraction of the opening's width that is covered.
func (n NetLeft) CoveredHigh() float64 { return 1 - n.RightHigh - n.LeftHigh }

// CoveredLow is CoveredHigh where there is only the body.
func (n NetLeft) CoveredLow() float64 { return 1 - n.RightLow - n.LeftLow }

// NetLeft gives the net that shows past a goalkeeper at a spot, square to a ball that is released releaseUpM metres above
// its own spot, by the straight lines from the ball past the silhouette's edges to the goal's plane. What of the silhouette
// is behind the goal line covers nothing: the ball is in before it gets there. ok is false for a ball that is not in front
// of the goal line, and for a goalkeeper behind it or no nearer to it than the ball.
func (s Silhouette) NetLeft(o Opening, ball Spot, releaseUpM float64, keeper Spot) (n NetLeft, ok bool) {
	if ball.YM <= 0 || keeper.YM < 0 || keeper.YM >= ball.YM {
		return NetLeft{}, false
	}
	r := ray{ball: ball, keeper: keeper}
	away := distance(ball, keeper)
	r.rightX, r.rightY = (ball.YM-keeper.YM)/away, (keeper.XM-ball.XM)/away
	body := s.BodyWidthM / 2
	right, left := body, -body
	if s.StickRight {
		right += s.CrosseWidthM
	} else {
		left -= s.CrosseWidthM
	}
	top := releaseUpM + (s.ReachM()-releaseUpM)*ball.YM/(ball.YM-keeper.YM)
	return NetLeft{
		RightHigh: o.fractionRightOf(r.shadowAt(right)),
		RightLow:  o.fractionRightOf(r.shadowAt(body)),
		LeftHigh:  o.fractionRightOf(-r.shadowAt(left)),
		LeftLow:   o.fractionRightOf(-r.shadowAt(-body)),
		Above:     clip((o.HeightM-top)/o.HeightM, 0, 1),
	}, true
}

// ray holds a ball, a goalkeeper's spot and the direction to the goalkeeper's right when they are square to the ball.
type ray struct {
	ball, keeper   Spot
	rightX, rightY float64
}

// shadowAt gives x_m in the goal's plane of the ray past the point that lies some metres to the goalkeeper's right of their
// spot. A point behind the goal line is drawn back to where the silhouette crosses it.
func (r ray) shadowAt(rightM float64) float64 {
	x, y := r.keeper.XM+rightM*r.rightX, r.keeper.YM+rightM*r.rightY
	if y < 0 {
		return r.keeper.XM - r.keeper.YM*r.rightX/r.rightY
	}
	if y >= r.ball.YM { // the edge is level with the ball or past it: no ray goes by on this side
		return math.Copysign(math.Inf(1), rightM)
	}
	return r.ball.XM + (x-r.ball.XM)*r.ball.YM/(r.ball.YM-y)
}

// fractionRightOf gives the part of the opening's width that lies right of a point.
func (o Opening) fractionRightOf(x float64) float64 { return clip((o.WidthM/2-x)/o.WidthM, 0, 1) }

func clip(v, least, most float64) float64 { return math.Max(least, math.Min(most, v)) }
