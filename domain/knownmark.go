package domain

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"cagework/domain/field"
)

// KnownMark is a point that has a name and a place in the code of play of a competition: on the ground x_m and y_m, in the
// goal's plane x_m and up_m, in metres. Source is where the measures stand that its place is made of; Unconfirmed says that
// nobody has checked one of them, or that each field has its own.
type KnownMark struct {
	Name        string   `json:"name"`
	XM          float64  `json:"x_m"`
	YM          *float64 `json:"y_m"`
	UpM         *float64 `json:"up_m"`
	Source      string   `json:"source"`
	Unconfirmed bool     `json:"unconfirmed"`
}

// KnownMarks are the marks that views of the games of a competition may give by name alone; see [field.Marks].
type KnownMarks struct {
	CompetitionID ID          `json:"competition_id"`
	CodeOfPlay    CodeOfPlay  `json:"code_of_play"`
	Ground        []KnownMark `json:"ground"`
	Goal          []KnownMark `json:"goal"`
}

// MarksOf gives the known marks of a competition, by its own goal and goal circle.
func MarksOf(c Competition) KnownMarks {
	return KnownMarks{
		CompetitionID: c.ID, CodeOfPlay: c.Fields.CodeOfPlay,
		Ground: c.Fields.knownMarks(GroundPlane), Goal: c.Fields.knownMarks(GoalPlane),
	}
}

func (f CompetitionFields) knownMarks(plane ViewPlane) []KnownMark {
	var marks []KnownMark
	ground := f.Ground()
	unconfirmed := func(measure string) bool { return slices.Contains(f.Unconfirmed, measure) }
	if plane == GoalPlane {
		corners := field.OpeningCorners(ground.Opening())
		for _, name := range slices.Sorted(maps.Keys(corners)) {
			at := corners[name]
			marks = append(marks, KnownMark{
				Name: name, XM: at.XM, UpM: &at.UpM, Source: "the competition",
				Unconfirmed: unconfirmed("goal_width_m") || at.UpM > 0 && unconfirmed("goal_height_m"),
			})
		}
		return marks
	}
	own := map[string]bool{"goal_width_m": unconfirmed("goal_width_m"), "crease_radius_m": unconfirmed("crease_radius_m")}
	for _, m := range field.Marks(string(f.CodeOfPlay), &ground, own) {
		marks = append(marks, KnownMark{Name: m.Name, XM: m.Spot.XM, YM: &m.Spot.YM, Source: m.Source, Unconfirmed: m.Unconfirmed})
	}
	return marks
}

// MarkPlace is where a mark lies that a view gives by name alone, as it was found when the view was written.
type MarkPlace struct {
	Name        string   `json:"name"`
	XM          float64  `json:"x_m"`
	YM          *float64 `json:"y_m"`
	UpM         *float64 `json:"up_m"`
	Unconfirmed bool     `json:"unconfirmed"` // see [KnownMark]
}

// FindPlaces finds the places of the marks that a view gives by name alone, by the code of play of its game's competition.
// The faults are names that the code of play does not know, and what is wrong with the view once all places are there.
func FindPlaces(f ViewFields, competition CompetitionFields) ([]MarkPlace, []FieldError) {
	var c checks
	places := []MarkPlace{}
	known := competition.knownMarks(f.Plane)
	for i, m := range f.Marks {
		if !m.byName() {
			continue
		}
		k := slices.IndexFunc(known, func(k KnownMark) bool { return k.Name == m.Name })
		if k < 0 {
			c.add(fmt.Sprintf("/marks/%d/name", i), "%s has no mark of this name in this plane, so that it needs a place; it has %s",
				competition.CodeOfPlay, namesOf(known))
			continue
		}
		places = append(places, MarkPlace{m.Name, known[k].XM, known[k].YM, known[k].UpM, known[k].Unconfirmed})
	}
	if len(c.faults) == 0 {
		c.faults = f.With(places).Check()
	}
	return places, c.faults
}

func namesOf(marks []KnownMark) string {
	names := make([]string, len(marks))
	for i, m := range marks {
		names[i] = m.Name
	}
	return strings.Join(names, ", ")
}

// With gives the fields with the places that were found in the marks that have none. A mark with a place of its own keeps
// it: somebody measured it.
func (f ViewFields) With(places []MarkPlace) ViewFields {
	marks := slices.Clone(f.Marks)
	for i, m := range marks {
		k := slices.IndexFunc(places, func(p MarkPlace) bool { return p.Name == m.Name })
		if k >= 0 && m.byName() {
			marks[i].XM, marks[i].YM, marks[i].UpM = &places[k].XM, places[k].YM, places[k].UpM
		}
	}
	f.Marks = marks
	return f
}

// byName tells whether a mark is given by its name alone.
func (m ViewMark) byName() bool { return m.XM == nil && m.YM == nil && m.UpM == nil }
