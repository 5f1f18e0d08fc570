package domain

import (
	"math"

	"cagework/domain/field"
)

// ShotDerived is what follows from the places and times that were marked of a shot. It is worked out anew each time the
// shot is read, never stored. Nil or absent is what cannot be told. The members that are also fields of the little language
// have the same names and mean the same.
type ShotDerived struct {
	// Coarse tells that a spot may be off by more than a metre, so that nothing was worked out from it.
	Coarse bool `json:"coarse"`

	DistanceM    *float64        `json:"distance_m"`
	BearingDeg   *float64        `json:"bearing_deg"`
	GoalAngleDeg *float64        `json:"goal_angle_deg"`
	NearPostM    *float64        `json:"near_post_m"`
	FarPostM     *float64        `json:"far_post_m"`
	CreaseEdgeM  *float64        `json:"crease_edge_m"`
	Area         *field.Area     `json:"area"`
	BallSide     *field.BallSide `json:"ball_side"`
	InArc        *bool           `json:"in_8m_arc"`
	InFan        *bool           `json:"in_12m_fan"`

	FinishBand    *Band              `json:"finish_band"`
	FinishSide    *Side              `json:"finish_side"`
	Pipe          *field.PipePlace   `json:"pipe"`
	ChangeOfPlane *field.PlaneChange `json:"change_of_plane"`
	VerticalDeg   *float64           `json:"vertical_angle_deg"`

	FlightS     *float64 `json:"flight_time_s"`      // without drag
	DragFlightS *float64 `json:"drag_flight_time_s"` // an estimate: the drag is from memory

	SwingDeg      *float64 `json:"swing_deg"`
	CrossedMiddle *bool    `json:"crossed_middle"`
	WentBehind    *bool    `json:"went_behind"`
	WentAcross    *bool    `json:"went_across"`
	TravelM       *float64 `json:"travel_m"`
	TravelAroundM *float64 `json:"travel_around_m"`
	TravelSpeedMS *float64 `json:"travel_speed_ms"`

	// Where the program's arc has its goalkeeper for this ball, in metres; see [field.Post].
	ArcXM  *float64       `json:"arc_x_m"`
	ArcYM  *float64       `json:"arc_y_m"`
	ArcHow *field.PostHow `json:"arc_how"`

	DepthM            *float64         `json:"depth_m"`
	OutAlongBisectorM *float64         `json:"out_along_bisector_m"`
	OffAngleCM        *float64         `json:"off_angle_cm"`
	OffAngleDeg       *float64         `json:"off_angle_deg"`
	OffAngleSide      *field.BallSide  `json:"off_angle_side"` // the goalkeeper's right or left of the bisector
	OffAngleToward    *field.PipePlace `json:"off_angle_toward"`

	OffSquareDeg *float64 `json:"off_square_deg"`
	Square       *bool    `json:"square"`

	// The net that showed past a goalkeeper of the common size, for nobody's own is stored: see [field.CommonSilhouette] and
	// [field.NetLeft].
	RightLow  *float64 `json:"open_right_low"`
	RightHigh *float64 `json:"open_right_high"`
	LeftLow   *float64 `json:"open_left_low"`
	LeftHigh  *float64 `json:"open_left_high"`
	Above     *float64 `json:"open_above"`

	// What the spots tell of these habits, where they win over the eye; nil where they tell nothing.
	OnAngle   *Answer `json:"on_angle"`
	DepthHeld *Answer `json:"depth_held"`
}

// Derived works out what follows from a shot where it stands.
func (f ShotFields) Derived(found ShotFound, p ShotPlace) *ShotDerived {
	used := f.With(found.ShotSpots)
	s := CountedShot{Shot: Shot{Fields: used, Found: found}, Competition: p.Competition}
	if p.Goalie != nil {
		s.StickHand = p.Goalie.StickHand
	}
	d := &ShotDerived{
		Coarse: out(f.BallXM, found.ClickedBallXM, used.BallXM) || out(f.PassXM, found.ClickedPassXM, used.PassXM) ||
			out(f.GoalieXM, found.ClickedGoalieXM, used.GoalieXM),
		FinishBand: known(s.finishBand()), FinishSide: known(s.finishSide()),
		Pipe: known(s.pipe()), ChangeOfPlane: known(s.changeOfPlane()),
	}
	facts, ok := s.Facts()
	if across, told := used.wentAcross(&facts); told {
		d.WentAcross = &across
	}
	if ok {
		ground := p.Competition.Ground()
		d.addSight(&ground, &facts.Sight)
		d.addMovement(&facts)
		d.addArc(&facts)
		d.addStance(&facts)
		d.addNet(&s)
		d.OffAngleToward = known(s.offToward())
		d.OnAngle, d.DepthHeld = known(s.toldBySpots("on_angle")), known(s.toldBySpots("depth_held"))
	}
	return d
}

// out tells whether a spot that was stated or clicked stays out of what is worked out.
func out(stated, clicked, used *float64) bool {
	return (stated != nil || clicked != nil) && used == nil
}

func (d *ShotDerived) addSight(ground *field.Ground, v *field.Sight) {
	d.DistanceM, d.BearingDeg, d.GoalAngleDeg = &v.DistanceM, &v.BearingDeg, &v.GoalAngleDeg
	d.NearPostM, d.FarPostM, d.CreaseEdgeM = &v.NearPostM, &v.FarPostM, &v.CreaseEdgeM
	d.Area, d.BallSide = known(v.Area), known(v.Side)
	d.InArc, d.InFan = when(ground.ArcRadiusM() > 0, &v.InArc), when(ground.FanRadiusM() > 0, &v.InFan)
}

func (d *ShotDerived) addMovement(f *field.Facts) {
	d.VerticalDeg = when(f.VerticalKnown, &f.VerticalDeg)
	d.FlightS, d.DragFlightS = when(f.FlightKnown, &f.FlightS), when(f.FlightKnown, &f.DragFlightS)
	d.SwingDeg = when(f.SwingKnown, &f.SwingDeg)
	d.CrossedMiddle, d.WentBehind = when(f.SwingKnown, &f.CrossedMiddle), when(f.SwingKnown, &f.WentBehind)
	d.TravelM, d.TravelAroundM = when(f.TravelKnown, &f.Travel.StraightM), when(f.TravelKnown, &f.Travel.AroundM)
	d.TravelSpeedMS = when(f.TravelSpeedKnown, &f.TravelSpeedMS)
}

func (d *ShotDerived) addArc(f *field.Facts) {
	if f.PostKnown {
		d.ArcXM, d.ArcYM, d.ArcHow = &f.Post.Spot.XM, &f.Post.Spot.YM, &f.Post.How
	}
}

func (d *ShotDerived) addStance(f *field.Facts) {
	d.DepthM = when(f.DepthKnown, &f.Stance.DepthM)
	d.OutAlongBisectorM = when(f.StanceKnown, &f.Stance.OutAlongBisectorM)
	square := field.Square(f.OffSquareDeg)
	d.OffSquareDeg, d.Square = when(f.OffSquareKnown, &f.OffSquareDeg), when(f.OffSquareKnown, &square)
	if !f.Stance.OffKnown {
		return
	}
	cm, degrees := math.Abs(f.Stance.OffCM), math.Abs(f.Stance.OffDeg)
	side := field.BallMiddle
	switch {
	case f.Stance.OffCM > 0:
		side = field.BallRight
	case f.Stance.OffCM < 0:
		side = field.BallLeft
	}
	d.OffAngleCM, d.OffAngleDeg, d.OffAngleSide = &cm, &degrees, &side
}

// addNet adds what net showed beside the goalkeeper and, when the height of the release is known, above.
func (d *ShotDerived) addNet(s *CountedShot) {
	f := &s.Shot.Fields
	ball, released := f.ball()
	keeper, stood := spotOf(f.GoalieXM, f.GoalieYM)
	if !released || !stood {
		return
	}
	n, ok := field.CommonSilhouette(s.StickHand == Right).NetLeft(s.opening(), ball, orZero(f.ReleaseUpM), keeper)
	if ok {
		d.RightLow, d.LeftLow = &n.RightLow, &n.LeftLow
		d.RightHigh, d.LeftHigh = when(s.StickHand != "", &n.RightHigh), when(s.StickHand != "", &n.LeftHigh)
		d.Above = when(f.ReleaseUpM != nil, &n.Above)
	}
}

func when[T any](is bool, v *T) *T {
	if is {
		return v
	}
	return nil
}

// known gives nil for the code that stands for unknown.
func known[T ~string](v T) *T { return when(v != "", &v) }
