package domain

import (
	"errors"
	"slices"
	"strings"
	"sync"

	"cagework/domain/field"
)

// spotOf gives a spot of two coordinates; ok is false when nobody marked it.
func spotOf(x, y *float64) (spot field.Spot, ok bool) {
	if x == nil || y == nil {
		return field.Spot{}, false
	}
	return field.Spot{XM: *x, YM: *y}, true
}

// facts works out what follows from what was marked of the shot on the ground of a competition. ok is false when the ball has
// no spot, on which all else stands; the error is a [*field.Fault] of a spot where none can be. What it looks at stays in
// this one function so that no shot costs a memory allocation.
func (f *ShotFields) facts(c *CompetitionFields) (facts field.Facts, ok bool, err error) {
	ball, ok := f.ball()
	if !ok {
		return field.Facts{}, false, nil
	}
	seen := field.Seen{
		Ball: ball, CatchToReleaseS: f.CatchToReleaseS, ReleaseUpM: f.ReleaseUpM, SpeedMS: f.SpeedMS,
		Bounced: f.Bounce != nil && *f.Bounce,
	}
	if pass, marked := spotOf(f.PassXM, f.PassYM); marked {
		seen.Pass = &pass
	}
	if keeper, marked := spotOf(f.GoalieXM, f.GoalieYM); marked {
		seen.Keeper, seen.FacingDeg = &keeper, f.GoalieFacingDeg
	}
	if f.FinishXM != nil && f.FinishUpM != nil && f.enters() {
		seen.Finish = &field.Finish{XM: *f.FinishXM, UpM: *f.FinishUpM}
	}
	if arc, set := c.Arc(); set {
		seen.Arc = &arc
	}
	if c.ShadeNearM != nil {
		seen.ShadeNearM = *c.ShadeNearM
	}
	ground := c.Ground()
	facts, err = ground.Derive(&seen)
	return facts, true, err
}

// Facts gives what follows from the places and times that were marked of the shot; ok is false when the ball has no spot, or
// a spot is where none can be.
func (s *CountedShot) Facts() (f field.Facts, ok bool) {
	if s.remembered != nil {
		return s.remembered()
	}
	f, ok, err := s.Shot.Fields.facts(&s.Competition)
	return f, ok && err == nil
}

// Remember has the facts worked out once, when something first asks, however many clauses of however many targets ask. From
// then on neither the shot nor its competition may change; whoever asks may do so from several goroutines.
func (s *CountedShot) Remember() {
	s.remembered = sync.OnceValues(func() (field.Facts, bool) {
		f, ok, err := s.Shot.Fields.facts(&s.Competition)
		return f, ok && err == nil
	})
}

func shotNumber(name string, value func(*ShotFields) *float64) ShotField {
	return ShotField{name, NumberField, nil, func(s *CountedShot) any {
		if v := value(&s.Shot.Fields); v != nil {
			return *v
		}
		return nil
	}}
}

// factField is a number of the shot's facts; the second result of value says whether it is known.
func factField(name string, value func(*field.Facts) (float64, bool)) ShotField {
	return ShotField{name, NumberField, nil, fact(value)}
}

// factFlag is factField of a truth.
func factFlag(name string, value func(*field.Facts) (bool, bool)) ShotField {
	return ShotField{name, FlagField, nil, fact(value)}
}

func fact[T any](value func(*field.Facts) (T, bool)) func(*CountedShot) any {
	return func(s *CountedShot) any {
		if facts, ok := s.Facts(); ok {
			if v, known := value(&facts); known {
				return v
			}
		}
		return nil
	}
}

// offToward gives the pipe toward which the goalie stood off the bisector; "" is not known, or that the ball has no near
// pipe.
func (s *CountedShot) offToward() field.PipePlace {
	f, ok := s.Facts()
	if !ok || !f.Stance.OffKnown || f.Stance.OffCM == 0 || f.Sight.BearingDeg < field.NearFromDegrees {
		return ""
	}
	if (f.Stance.OffCM > 0) == (f.Sight.Side == field.BallRight) {
		return field.Near
	}
	return field.Far
}

// offPass are the arrivals that have a pass just before the shot, so that the ball may have swung though nobody marked it.
var offPass = []Arrival{"feed", "cross_feed", "feed_from_behind"}

// wentAcross tells by the shot's facts whether the ball went across the cage before the release: off a cross feed, or by a
// swing of [field.AcrossFromDeg] or more from a pass that was marked. ok is false when neither is there and one may have been.
func (f *ShotFields) wentAcross(facts *field.Facts) (across, ok bool) {
	swung := facts.SwingKnown
	switch {
	case f.Arrival != nil && *f.Arrival == "cross_feed", swung && facts.SwingDeg >= field.AcrossFromDeg:
		return true, true
	case f.Arrival == nil:
		return false, swung && !facts.CrossedMiddle
	}
	return false, swung || !slices.Contains(offPass, *f.Arrival)
}

// spotHabits are the habits of which spots tell.
var spotHabits = []string{"on_angle", "across_in_time", "depth_held"}

// toldBySpots gives the answer that the spots give to a habit, which wins over the eye; "" when they tell nothing.
func (s *CountedShot) toldBySpots(habit string) Answer {
	f := &s.Shot.Fields
	if f.BallUncertainM == nil || f.GoalieUncertainM == nil || !slices.Contains(spotHabits, habit) {
		return ""
	}
	facts, ok := s.Facts()
	if !ok || !facts.StanceKnown {
		return ""
	}
	known := field.SpotsKnown(*f.BallUncertainM, *f.GoalieUncertainM)
	ground := s.Competition.Ground()
	onAngle := ground.OnAngle(facts.Stance, known)
	switch habit {
	case "on_angle":
		return answerOf(onAngle)
	case "across_in_time":
		if across, _ := f.wentAcross(&facts); !across && (f.Arrival == nil || *f.Arrival != "feed_from_behind") {
			return ""
		}
		return answerOf(field.AcrossInTime(s.readSet(), onAngle))
	case "depth_held":
		if facts.PostKnown {
			return answerOf(ground.DepthHeld(facts.Stance, facts.Post, known))
		}
	}
	return ""
}

// readSet gives what the counted reading says of being set before the release.
func (s *CountedShot) readSet() field.Told {
	if s.Reading != nil {
		switch s.Reading.Fields.Habits["set_before_release"] {
		case Yes:
			return field.ToldYes
		case No:
			return field.ToldNo
		case NotSeen:
		}
	}
	return field.NotTold
}

func answerOf(t field.Told) Answer {
	switch t {
	case field.ToldYes:
		return Yes
	case field.ToldNo:
		return No
	case field.NotTold:
	}
	return ""
}

// checkSpots refuses spots where nobody and no ball can be, the first of them by its name.
func (f *ShotFields) checkSpots(c *checks, competition CompetitionFields) {
	_, _, err := f.facts(&competition)
	fault, is := errors.AsType[*field.Fault](err)
	if !is {
		return
	}
	name := "ball_" + fault.Field
	if strings.HasPrefix(fault.Field, "pass_") {
		name = fault.Field
	} else if rest, is := strings.CutPrefix(fault.Field, "keeper_"); is {
		name = "goalie_" + rest
	}
	c.add("/"+name, "%s", fault.Detail)
}
