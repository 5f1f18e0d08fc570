package domain

import "cagework/domain/field"

// ball gives the spot of the ball at release; ok is false when nobody marked it.
func (f *ShotFields) ball() (spot field.Spot, ok bool) {
	return spotOf(f.BallXM, f.BallYM)
}

// sight gives what follows from the ball's spot on the ground of the competition; ok is false without a spot, and for one
// where no ball can be.
func (s *CountedShot) sight() (v field.Sight, ok bool) {
	if s.remembered != nil {
		if f, ok := s.remembered(); ok {
			return f.Sight, true
		}
	}
	ball, ok := s.Shot.Fields.ball()
	if !ok {
		return field.Sight{}, false
	}
	ground := s.Competition.Ground()
	v, err := ground.See(ball)
	return v, err == nil
}

// sightField is a number that follows from the ball's spot.
func sightField(name string, value func(*field.Sight) float64) ShotField {
	return ShotField{name, NumberField, nil, func(s *CountedShot) any {
		if v, ok := s.sight(); ok {
			return value(&v)
		}
		return nil
	}}
}

// markedField tells whether the ball was in a marked area; it is unknown where the code of play has no such area, so that
// its radius is 0.
func markedField(name string, radiusM func(*field.Ground) float64, in func(*field.Sight) bool) ShotField {
	return ShotField{name, FlagField, nil, func(s *CountedShot) any {
		ground := s.Competition.Ground()
		if v, ok := s.sight(); ok && radiusM(&ground) > 0 {
			return in(&v)
		}
		return nil
	}}
}

// finishBand gives the band in which a shot finished: the one that was charted, or else that of its finish point. "" is
// not known.
func (s *CountedShot) finishBand() Band {
	f := s.Shot.Fields
	opening := s.opening()
	switch {
	case f.FinishBand != nil:
		return *f.FinishBand
	case f.FinishUpM == nil || !f.enters() || opening.HeightM == 0:
		return ""
	}
	return Bands[opening.BandAt(*f.FinishUpM)]
}

// finishSide gives the side on which a shot finished: the one that was charted, or else that of its finish point for the
// hand of the goalie who faced it. "" is not known.
func (s *CountedShot) finishSide() Side {
	f := s.Shot.Fields
	opening := s.opening()
	switch {
	case f.FinishSide != nil:
		return *f.FinishSide
	case f.FinishXM == nil || !f.enters() || s.StickHand == "" || opening.WidthM == 0:
		return ""
	}
	return [...]Side{OffSide, Middle, StickSide}[opening.SideAt(*f.FinishXM, s.StickHand == Right)]
}

func (s *CountedShot) opening() field.Opening {
	return field.Opening{WidthM: s.Competition.GoalWidthM, HeightM: s.Competition.GoalHeightM}
}

// Area gives where the shot came from.
func (s *CountedShot) Area() field.Area {
	ball, ok := s.Shot.Fields.ball()
	if !ok {
		return ""
	}
	ground := s.Competition.Ground()
	return ground.Area(ball)
}

// pipe gives the third of the opening in which the shot finished, seen from the ball's side. A side stands for the
// middle of its third, mirrored by the goalie's stick; without the goalie it tells only the middle.
func (s *CountedShot) pipe() field.PipePlace {
	f := s.Shot.Fields
	opening := s.opening()
	finish := f.FinishXM
	if finish == nil {
		finish = sideMiddle(f.FinishSide, s.StickHand, opening)
	}
	switch {
	case !f.enters() || finish == nil:
		return ""
	case f.BallXM != nil && f.BallYM != nil:
		place, _ := opening.Pipe(*f.BallXM, *f.BallYM, *finish)
		return place
	case *finish == 0 && f.FinishXM == nil:
		return field.MiddlePipe
	}
	return ""
}

// sideMiddle gives the middle of a side's third for a goalie's hand; nil when it cannot be told.
func sideMiddle(side *Side, hand Hand, o field.Opening) *float64 {
	third := o.WidthM / 3
	switch {
	case side == nil:
		return nil
	case *side == Middle:
		third = 0
	case hand == "":
		return nil
	case (*side == StickSide) != (hand == Right):
		third = -third
	}
	return &third
}

// changeOfPlane compares the level of the release, against the shooter's body, with the band of the finish. A ball that
// was deflected changed its height for another reason.
func (s *CountedShot) changeOfPlane() field.PlaneChange {
	f, finish := s.Shot.Fields, s.finishBand()
	if f.Deflected || f.ReleaseLevel == nil || finish == "" {
		return ""
	}
	return field.ChangeOfPlane(bandPlace(*f.ReleaseLevel), bandPlace(finish))
}
