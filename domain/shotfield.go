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
}

func codeField[T ~string](name string, codes []T, value func(*ShotFields) *T) ShotField {
	words := make([]string, len(codes))
	for i, c := range codes {
		words[i] = string(c)
	}
	return ShotField{name, CodeField, words, func(s *CountedShot) any {
		if v := value(&s.Shot.Fields); v != nil {
			return string(*v)
		}
		return nil
	}}
}

// foundField is a code that is worked out from a shot and its game; "" is unknown.
func foundField[T ~string](name string, codes []T, value func(*CountedShot) T) ShotField {
	words := make([]string, len(codes))
	for i, c := range codes {
		words[i] = string(c)
	}
	return ShotField{name, CodeField, words, func(s *CountedShot) any {
		if v := value(s); v != "" {
			return string(v)
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
	codeField("finish_band", Bands, func(f *ShotFields) *Band { return f.FinishBand }),
	codeField("finish_side", Sides, func(f *ShotFields) *Side { return f.FinishSide }),
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
	foundField("pipe", field.PipePlaces, (*CountedShot).pipe),
	foundField("change_of_plane", PlaneChanges, (*CountedShot).changeOfPlane),
	foundField("clear_result", ClearResults, func(s *CountedShot) ClearResult {
		if s.Clear == nil {
			return ""
		}
		return *s.Clear
	}),
}

// PlaneChange is how far a ball changed its height between the release and the finish.
type PlaneChange string

// PlaneChanges is the list of PlaneChange: from high to low or low to high, by one level, or not at all.
var PlaneChanges = []PlaneChange{"full", "part", "none"}

// Area gives where the shot came from; "" when that is not known.
func (s *CountedShot) Area() field.Area {
	f := s.Shot.Fields
	if f.BallXM == nil || f.BallYM == nil {
		return ""
	}
	inside := field.InsideFieldM
	if s.Competition.CodeOfPlay == "box" {
		inside = field.InsideBoxM
	}
	return field.AreaOf(*f.BallXM, *f.BallYM, inside)
}

// pipe gives the third of the opening in which the shot finished, seen from the ball's side. A side stands for the
// middle of its third, mirrored by the goalie's stick; without the goalie it tells only the middle.
func (s *CountedShot) pipe() field.PipePlace {
	f := s.Shot.Fields
	opening := field.Opening{WidthM: s.Competition.GoalWidthM, HeightM: s.Competition.GoalHeightM}
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
func (s *CountedShot) changeOfPlane() PlaneChange {
	f := s.Shot.Fields
	if f.Deflected || f.ReleaseLevel == nil || f.FinishBand == nil {
		return ""
	}
	switch bandPlace(*f.ReleaseLevel) - bandPlace(*f.FinishBand) {
	case 0:
		return "none"
	case -1, 1:
		return "part"
	}
	return "full"
}

// shotFieldPlaces finds a field by its name: targets ask every shot for several.
var shotFieldPlaces = func() map[string]int {
	places := make(map[string]int, len(ShotFieldList))
	for i, f := range ShotFieldList {
		places[f.Name] = i
	}
	return places
}()

// ShotFieldNamed gives a field of shots by its name. A name that is none may be a habit, which is a program's data.
func ShotFieldNamed(name string) (ShotField, bool) {
	if i, ok := shotFieldPlaces[name]; ok {
		return ShotFieldList[i], true
	}
	return ShotField{}, false
}

// fieldOrHabit gives the field that a clause names: a field of shots, or else a habit of that code.
func fieldOrHabit(name string) ShotField {
	if f, ok := ShotFieldNamed(name); ok {
		return f
	}
	return habitField(name)
}

// habitField asks the counted reading. "Not seen" is unknown like silence: never a no. A reading on a shot on which
// the habit cannot be read at all is not believed.
func habitField(name string) ShotField {
	return ShotField{name, HabitField, []string{string(Yes), string(No)}, func(s *CountedShot) any {
		if s.Reading == nil || s.unreadable(name) {
			return nil
		}
		if a := s.Reading.Fields.Habits[name]; a == Yes || a == No {
			return string(a)
		}
		return nil
	}}
}

// unreadable tells whether the program says that the habit cannot be read on this shot.
func (s *CountedShot) unreadable(habit string) bool {
	h := HabitNamed(s.Habits, habit)
	return h != nil && h.Readable(s) == False
}

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
