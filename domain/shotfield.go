package domain

import (
	"fmt"
	"math"
	"slices"

	"cagework/domain/field"
)

// FieldType is the type of a field of the little language.
type FieldType int

// The types of fields.
const (
	CodeField FieldType = iota + 1
	FlagField
	NumberField
	HabitField
)

// ShotField is a field that a clause may ask about. Value gives nil when the shot lacks it.
type ShotField struct {
	Name  string
	Type  FieldType
	Codes []string // of a CodeField
	Value func(*CountedShot) any
}

// CountedShot is a shot with all that a target may ask about: its game and the reading of it that counts.
type CountedShot struct {
	Shot        Shot
	Game        Game
	Competition CompetitionFields
	Reading     *Reading     // nil when nobody read it from film
	Clear       *ClearResult // of the clear that names the shot; nil when none does
	StickHand   Hand         // of the goalie who faced it; "" when nobody did
	Habits      []Habit      // the program's; they say on which shots each can be read

	remembered func() (field.Facts, bool) // see [CountedShot.Remember]
}

func codeField[T ~string](name string, codes []T, value func(*ShotFields) *T) ShotField {
	words := make([]string, len(codes))
	for i, c := range codes {
		words[i] = string(c)
	}
	box := boxer(words)
	return ShotField{name, CodeField, words, func(s *CountedShot) any {
		if v := value(&s.Shot.Fields); v != nil {
			return box(string(*v))
		}
		return nil
	}}
}

// boxer gives codes as values of any type: the known ones from a list, so that asking many shots allocates no memory.
func boxer(words []string) func(code string) any {
	boxed := make([]any, len(words))
	for i, w := range words {
		boxed[i] = w
	}
	return func(code string) any {
		if i := slices.Index(words, code); i >= 0 {
			return boxed[i]
		}
		return code
	}
}

// foundField is a code that is worked out from a shot and its game; "" is unknown.
func foundField[T ~string](name string, codes []T, value func(*CountedShot) T) ShotField {
	words := make([]string, len(codes))
	for i, c := range codes {
		words[i] = string(c)
	}
	box := boxer(words)
	return ShotField{name, CodeField, words, func(s *CountedShot) any {
		if v := value(s); v != "" {
			return box(string(v))
		}
		return nil
	}}
}

func flagField(name string, value func(*ShotFields) *bool) ShotField {
	return ShotField{name, FlagField, nil, func(s *CountedShot) any {
		if v := value(&s.Shot.Fields); v != nil {
			return *v
		}
		return nil
	}}
}

// ShotFieldList is every field of the little language but the habits, which are a program's own data.
var ShotFieldList = []ShotField{
	codeField("outcome", Outcomes, func(f *ShotFields) *Outcome { return &f.Outcome }),
	flagField("on_goal", func(f *ShotFields) *bool { v := f.Outcome.OnGoal(); return &v }),
	flagField("deflected", func(f *ShotFields) *bool { return &f.Deflected }),
	flagField("goalie_out", func(f *ShotFields) *bool { return &f.GoalieOut }),
	flagField("waved_off", func(f *ShotFields) *bool { return &f.WavedOff }),
	codeField("phase", Phases, func(f *ShotFields) *Phase { return f.Phase }),
	codeField("strength", Strengths, func(f *ShotFields) *Strength { return f.Strength }),
	codeField("arrival", Arrivals, func(f *ShotFields) *Arrival { return f.Arrival }),
	codeField("release_style", ReleaseStyles, func(f *ShotFields) *ReleaseStyle { return f.ReleaseStyle }),
	codeField("release_level", Bands, func(f *ShotFields) *Band { return f.ReleaseLevel }),
	codeField("shooter_feet", FeetList, func(f *ShotFields) *Feet { return f.ShooterFeet }),
	foundField("finish_band", Bands, (*CountedShot).finishBand),
	foundField("finish_side", Sides, (*CountedShot).finishSide),
	flagField("bounce", func(f *ShotFields) *bool { return f.Bounce }),
	codeField("save_by", SaveBys, func(f *ShotFields) *SaveBy { return f.SaveBy }),
	codeField("rebound", Rebounds, func(f *ShotFields) *Rebound { return f.Rebound }),
	codeField("outlet", Outlets, func(f *ShotFields) *Outlet { return f.Outlet }),
	{"distance_m", NumberField, nil, func(s *CountedShot) any {
		if f := s.Shot.Fields; f.BallXM != nil && f.BallYM != nil {
			return math.Hypot(*f.BallXM, *f.BallYM)
		}
		return nil
	}},
	{"bearing_deg", NumberField, nil, func(s *CountedShot) any {
		if f := s.Shot.Fields; f.BallXM != nil && f.BallYM != nil {
			if degrees, ok := field.Bearing(*f.BallXM, *f.BallYM); ok {
				return degrees
			}
		}
		return nil
	}},
	foundField("area", field.Areas, (*CountedShot).Area),
	foundField("ball_side", field.BallSides, func(s *CountedShot) field.BallSide { v, _ := s.sight(); return v.Side }),
	sightField("goal_angle_deg", func(v *field.Sight) float64 { return v.GoalAngleDeg }),
	sightField("near_post_m", func(v *field.Sight) float64 { return v.NearPostM }),
	sightField("far_post_m", func(v *field.Sight) float64 { return v.FarPostM }),
	sightField("crease_edge_m", func(v *field.Sight) float64 { return v.CreaseEdgeM }),
	markedField("in_8m_arc", (*field.Ground).ArcRadiusM, func(v *field.Sight) bool { return v.InArc }),
	markedField("in_12m_fan", (*field.Ground).FanRadiusM, func(v *field.Sight) bool { return v.InFan }),
	shotNumber("release_up_m", func(f *ShotFields) *float64 { return f.ReleaseUpM }),
	shotNumber("speed_ms", func(f *ShotFields) *float64 { return f.SpeedMS }),
	shotNumber("catch_to_release_s", func(f *ShotFields) *float64 { return f.CatchToReleaseS }),
	factField("swing_deg", func(f *field.Facts) (float64, bool) { return f.SwingDeg, f.SwingKnown }),
	factFlag("crossed_middle", func(f *field.Facts) (bool, bool) { return f.CrossedMiddle, f.SwingKnown }),
	factFlag("went_behind", func(f *field.Facts) (bool, bool) { return f.WentBehind, f.SwingKnown }),
	{"went_across", FlagField, nil, func(s *CountedShot) any {
		facts, _ := s.Facts() // without any, how the ball came may tell
		if across, ok := s.Shot.Fields.wentAcross(&facts); ok {
			return across
		}
		return nil
	}},
	factField("travel_m", func(f *field.Facts) (float64, bool) { return f.Travel.StraightM, f.TravelKnown }),
	factField("travel_speed_ms", func(f *field.Facts) (float64, bool) { return f.TravelSpeedMS, f.TravelSpeedKnown }),
	factField("flight_time_s", func(f *field.Facts) (float64, bool) { return f.FlightS, f.FlightKnown }),
	factField("vertical_angle_deg", func(f *field.Facts) (float64, bool) { return f.VerticalDeg, f.VerticalKnown }),
	factField("depth_m", func(f *field.Facts) (float64, bool) { return f.Stance.DepthM, f.DepthKnown }),
	factField("out_along_bisector_m", func(f *field.Facts) (float64, bool) { return f.Stance.OutAlongBisectorM, f.StanceKnown }),
	factField("off_angle_cm", func(f *field.Facts) (float64, bool) { return math.Abs(f.Stance.OffCM), f.Stance.OffKnown }),
	factField("off_angle_deg", func(f *field.Facts) (float64, bool) { return math.Abs(f.Stance.OffDeg), f.Stance.OffKnown }),
	foundField("off_angle_toward", []field.PipePlace{field.Near, field.Far}, (*CountedShot).offToward),
	factField("off_square_deg", func(f *field.Facts) (float64, bool) { return f.OffSquareDeg, f.OffSquareKnown }),
	factFlag("square", func(f *field.Facts) (bool, bool) { return field.Square(f.OffSquareDeg), f.OffSquareKnown }),
	foundField("pipe", field.PipePlaces, (*CountedShot).pipe),
	foundField("change_of_plane", field.PlaneChanges, (*CountedShot).changeOfPlane),
	foundField("clear_result", ClearResults, func(s *CountedShot) ClearResult {
		if s.Clear == nil {
			return ""
		}
		return *s.Clear
	}),
}

// ShotFieldNamed gives a field of shots by its name. A name that is none may be a habit, which is a program's data.
func ShotFieldNamed(name string) (ShotField, bool) {
	f, ok := shotFieldsByName[name]
	return f, ok
}

var shotFieldsByName = func() map[string]ShotField {
	out := make(map[string]ShotField, len(ShotFieldList))
	for _, f := range ShotFieldList {
		out[f.Name] = f
	}
	return out
}()

// fieldOrHabit gives the field that a clause names: a field of shots, or else a habit of that code.
func fieldOrHabit(name string) ShotField {
	if f, ok := ShotFieldNamed(name); ok {
		return f
	}
	return habitField(name)
}

// habitField asks the counted reading.
func habitField(name string) ShotField {
	return ShotField{name, HabitField, []string{string(Yes), string(No)}, func(s *CountedShot) any { return s.habit(name) }}
}

// habit gives the counted answer to a habit. "Not seen" is unknown like silence: never a no. A reading on a shot on which
// the habit cannot be read at all is not believed.
func (s *CountedShot) habit(name string) any {
	asked := Clause{Field: name}.asked()
	return asked.answer(s)
}

// answer is the counted answer to a habit that can be read on the shot.
func (s *CountedShot) answer(name string) any {
	told := s.toldBySpots(name)
	if told == "" && s.Reading != nil {
		told = s.Reading.Fields.Habits[name]
	}
	switch told {
	case Yes:
		return yesBoxed
	case No:
		return noBoxed
	case NotSeen:
	}
	return nil
}

var yesBoxed, noBoxed any = string(Yes), string(No) // so that an answer allocates no memory

// checkValue says what is wrong with comparing the field to a value, or "".
func (f ShotField) checkValue(v any) string {
	switch v := v.(type) {
	case bool:
		if f.Type != FlagField {
			return fmt.Sprintf("%s is not true or false", f.Name)
		}
	case string:
		if f.Type != CodeField && f.Type != HabitField {
			return fmt.Sprintf("%s is not a code", f.Name)
		}
		if !slices.Contains(f.Codes, v) {
			return fmt.Sprintf("%s has no code %q; it has %s", f.Name, v, listed(f.Codes))
		}
	default:
		return "is must be a code, true or false"
	}
	return ""
}
