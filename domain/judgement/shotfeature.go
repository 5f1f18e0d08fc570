package judgement

import (
	"math"
	"slices"

	"cagework/domain"
	"cagework/domain/field"
)

// trait is some columns of the difficulty model that are measured together: something that is known of a shot before it
// is saved or not. NaN says that it is not known, and the model then takes the average; a column of its own says that it
// was not, so that shots that nobody charted closely may be harder or easier than others.
type trait struct {
	columns []string
	// measure writes a shot's values into the columns, all of which are 0 before.
	measure func(s *domain.CountedShot, row []float64)
}

var unknown = math.NaN()

// shotTraits stand in the order in which a fit holds their columns. A list of codes has a column for each, 0 where the
// shot lacks it: the prior, not a code left out, keeps them from being one too many.
var shotTraits = []trait{
	place(),
	found("finish_band", domain.Bands), // as charted, else by the finish point
	found("finish_side", domain.Sides),
	flag("bounce", func(f *domain.ShotFields) *bool { return f.Bounce }),
	planes(),
	measured("swing", "swing_deg", func(f *field.Facts) (float64, bool) { return f.SwingDeg, f.SwingKnown }),
	measured("flight", "flight_time_s", func(f *field.Facts) (float64, bool) { return f.FlightS, f.FlightKnown }),
	codes("arrival", domain.Arrivals, func(f *domain.ShotFields) *domain.Arrival { return f.Arrival }),
	codes("phase", domain.Phases, func(f *domain.ShotFields) *domain.Phase { return f.Phase }),
	codes("strength", domain.Strengths, func(f *domain.ShotFields) *domain.Strength { return f.Strength }),
	codes("release_style", domain.ReleaseStyles, func(f *domain.ShotFields) *domain.ReleaseStyle { return f.ReleaseStyle }),
	codes("release_level", domain.Bands, func(f *domain.ShotFields) *domain.Band { return f.ReleaseLevel }),
	codes("shooter_feet", domain.FeetList, func(f *domain.ShotFields) *domain.Feet { return f.ShooterFeet }),
	{[]string{"deflected"}, func(s *domain.CountedShot, row []float64) { row[0] = number(s.Shot.Fields.Deflected) }},
}

// shotColumns are the names of all columns of the shot's traits, in order.
var shotColumns = columnsOf(shotTraits)

func columnsOf(traits []trait) []string {
	var names []string
	for _, t := range traits {
		names = append(names, t.columns...)
	}
	return names
}

// measureShot writes a shot's values into a row as long as the columns of the traits.
func measureShot(traits []trait, s *domain.CountedShot, row []float64) {
	clear(row)
	for _, t := range traits {
		t.measure(s, row[:len(t.columns)])
		row = row[len(t.columns):]
	}
}

// place is where the ball was released: how far from the middle of the goal line, how wide the goal looked from there.
func place() trait {
	return trait{[]string{"distance_m", "goal_angle_deg", "place_unknown"}, func(s *domain.CountedShot, row []float64) {
		row[0], row[1] = distance(s), goalAngle(s)
		row[2] = number(math.IsNaN(row[0]))
	}}
}

func distance(s *domain.CountedShot) float64 {
	f := &s.Shot.Fields
	if f.BallXM == nil || f.BallYM == nil {
		return unknown
	}
	return math.Hypot(*f.BallXM, *f.BallYM)
}

// goalAngle is the angle between the posts seen from the ball, in degrees, as a shot's answer has it.
func goalAngle(s *domain.CountedShot) float64 {
	f, opening := &s.Shot.Fields, field.Opening{WidthM: s.Competition.GoalWidthM}
	if f.BallXM == nil || f.BallYM == nil || opening.WidthM == 0 {
		return unknown
	}
	return opening.AngleDeg(field.Spot{XM: *f.BallXM, YM: *f.BallYM})
}

// found is codes of a field that is worked out where nobody charted it.
func found[T ~string](name string, list []T) trait {
	asked, _ := domain.ShotFieldNamed(name)
	return listed(name, list, func(s *domain.CountedShot) T {
		code, _ := asked.Value(s).(string)
		return T(code)
	})
}

// codes is a column a code and one for none charted.
func codes[T ~string](name string, list []T, value func(*domain.ShotFields) *T) trait {
	return listed(name, list, func(s *domain.CountedShot) T {
		if v := value(&s.Shot.Fields); v != nil {
			return *v
		}
		return ""
	})
}

// listed is a column a code and one for "", which is not known.
func listed[T ~string](name string, list []T, value func(*domain.CountedShot) T) trait {
	columns := make([]string, 0, len(list)+1)
	for _, code := range list {
		columns = append(columns, name+"_"+string(code))
	}
	return trait{append(columns, name+"_unknown"), func(s *domain.CountedShot, row []float64) {
		code := value(s)
		if code == "" {
			row[len(list)] = 1
		} else if i := slices.Index(list, code); i >= 0 {
			row[i] = 1
		}
	}}
}

func flag(name string, value func(*domain.ShotFields) *bool) trait {
	return trait{[]string{name, name + "_unknown"}, func(s *domain.CountedShot, row []float64) {
		v := value(&s.Shot.Fields)
		row[0], row[1] = number(v != nil && *v), number(v == nil)
	}}
}

// planes is how far the ball changed its height between release and finish. It is unknown when one of the two is, which
// has a column already, or when the ball was deflected, which has one too.
func planes() trait {
	plane := found("change_of_plane", field.PlaneChanges)
	last := len(field.PlaneChanges)
	return trait{plane.columns[:last], func(s *domain.CountedShot, row []float64) {
		var all [8]float64
		plane.measure(s, all[:last+1])
		copy(row, all[:last])
	}}
}

// measured is a number that follows from what was marked, such as how far the ball swung across the cage before the
// release, or how long it was in the air, and a column that says where it is not known.
func measured(name, column string, value func(*field.Facts) (float64, bool)) trait {
	return trait{[]string{column, name + "_unknown"}, func(s *domain.CountedShot, row []float64) {
		row[0], row[1] = unknown, 1
		if facts, ok := s.Facts(); ok {
			if v, known := value(&facts); known {
				row[0], row[1] = v, 0
			}
		}
	}}
}

func number(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}
