package judgement

import (
	"math"

	"cagework/domain"
	"cagework/domain/field"
)

// feature is one column of the difficulty model: something that is known of a shot before it is saved or not. NaN says
// that it is not known, and the model then takes the average; a column of its own says that it was not, so that shots
// that nobody charted closely may be harder or easier than others.
type feature struct {
	name  string
	value func(*domain.CountedShot) float64
}

var unknown = math.NaN()

// shotFeatures are the columns in the order in which a fit holds them. A list of codes has a column for each, 0 where
// the shot lacks it: the prior, not a code left out, keeps them from being one too many.
var shotFeatures = concat(
	place(),
	found("finish_band", domain.Bands), // as charted, else by the finish point
	found("finish_side", domain.Sides),
	flag("bounce", func(f *domain.ShotFields) *bool { return f.Bounce }),
	planes(),
	movement(),
	codes("arrival", domain.Arrivals, func(f *domain.ShotFields) *domain.Arrival { return f.Arrival }),
	codes("phase", domain.Phases, func(f *domain.ShotFields) *domain.Phase { return f.Phase }),
	codes("strength", domain.Strengths, func(f *domain.ShotFields) *domain.Strength { return f.Strength }),
	codes("release_style", domain.ReleaseStyles, func(f *domain.ShotFields) *domain.ReleaseStyle { return f.ReleaseStyle }),
	codes("release_level", domain.Bands, func(f *domain.ShotFields) *domain.Band { return f.ReleaseLevel }),
	codes("shooter_feet", domain.FeetList, func(f *domain.ShotFields) *domain.Feet { return f.ShooterFeet }),
	[]feature{{"deflected", func(s *domain.CountedShot) float64 { return number(s.Shot.Fields.Deflected) }}},
)

func concat(lists ...[]feature) []feature {
	var all []feature
	for _, l := range lists {
		all = append(all, l...)
	}
	return all
}

// place is where the ball was released: how far from the middle of the goal line, how wide the goal looked from there.
func place() []feature {
	return []feature{
		{"distance_m", distance},
		{"goal_angle_deg", goalAngle},
		{"place_unknown", func(s *domain.CountedShot) float64 { return number(math.IsNaN(distance(s))) }},
	}
}

func distance(s *domain.CountedShot) float64 {
	f := s.Shot.Fields
	if f.BallXM == nil || f.BallYM == nil {
		return unknown
	}
	return math.Hypot(*f.BallXM, *f.BallYM)
}

// goalAngle is the angle between the posts seen from the ball, in degrees, as a shot's answer has it.
func goalAngle(s *domain.CountedShot) float64 {
	f, opening := s.Shot.Fields, field.Opening{WidthM: s.Competition.GoalWidthM}
	if f.BallXM == nil || f.BallYM == nil || opening.WidthM == 0 {
		return unknown
	}
	return opening.AngleDeg(field.Spot{XM: *f.BallXM, YM: *f.BallYM})
}

// found is codes of a field that is worked out where nobody charted it.
func found[T ~string](name string, list []T) []feature {
	asked, _ := domain.ShotFieldNamed(name)
	out := make([]feature, 0, len(list)+1)
	for _, code := range list {
		out = append(out, feature{name + "_" + string(code), func(s *domain.CountedShot) float64 {
			return number(asked.Value(s) == string(code))
		}})
	}
	return append(out, feature{name + "_unknown", func(s *domain.CountedShot) float64 { return number(asked.Value(s) == nil) }})
}

// codes is a column a code and one for none charted.
func codes[T ~string](name string, list []T, value func(*domain.ShotFields) *T) []feature {
	out := make([]feature, 0, len(list)+1)
	for _, code := range list {
		out = append(out, feature{name + "_" + string(code), func(s *domain.CountedShot) float64 {
			v := value(&s.Shot.Fields)
			return number(v != nil && *v == code)
		}})
	}
	return append(out, feature{name + "_unknown", func(s *domain.CountedShot) float64 { return number(value(&s.Shot.Fields) == nil) }})
}

func flag(name string, value func(*domain.ShotFields) *bool) []feature {
	return []feature{
		{name, func(s *domain.CountedShot) float64 {
			v := value(&s.Shot.Fields)
			return number(v != nil && *v)
		}},
		{name + "_unknown", func(s *domain.CountedShot) float64 { return number(value(&s.Shot.Fields) == nil) }},
	}
}

// planes is how far the ball changed its height between release and finish. It is unknown when one of the two is, which
// has a column already, or when the ball was deflected, which has one too.
func planes() []feature {
	plane, _ := domain.ShotFieldNamed("change_of_plane")
	var out []feature
	for _, change := range field.PlaneChanges {
		out = append(out, feature{"change_of_plane_" + string(change), func(s *domain.CountedShot) float64 {
			return number(plane.Value(s) == string(change))
		}})
	}
	return out
}

// movement is how far the ball swung across the cage before the release, and how long it was in the air, where both ends
// were marked.
func movement() []feature {
	swing := fact(func(f *field.Facts) (float64, bool) { return f.SwingDeg, f.SwingKnown })
	flight := fact(func(f *field.Facts) (float64, bool) { return f.FlightS, f.FlightKnown })
	return []feature{
		{"swing_deg", swing}, {"swing_unknown", func(s *domain.CountedShot) float64 { return number(math.IsNaN(swing(s))) }},
		{"flight_time_s", flight}, {"flight_unknown", func(s *domain.CountedShot) float64 { return number(math.IsNaN(flight(s))) }},
	}
}

func fact(value func(*field.Facts) (float64, bool)) func(*domain.CountedShot) float64 {
	return func(s *domain.CountedShot) float64 {
		if facts, ok := s.Facts(); ok {
			if v, known := value(&facts); known {
				return v
			}
		}
		return unknown
	}
}

func number(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

// featureNamed finds a column by the name that a stored fit has for it.
var featureNamed = func() map[string]feature {
	byName := map[string]feature{}
	for _, f := range shotFeatures {
		byName[f.name] = f
	}
	return byName
}()
