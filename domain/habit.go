package domain

import "slices"

// HabitFields is something that a coach reads off film: yes, no or not seen. Its definition is such that two people
// agree; ReadableOn says on which shots it can be read at all.
type HabitFields struct {
	Code        string       `db:"code"          json:"code"`
	Name        string       `db:"name"          json:"name"`
	Definition  string       `db:"definition"    json:"definition"` // yes when
	EdgeCases   string       `db:"edge_cases"    json:"edge_cases"`
	ReadableOn  []Clause     `db:"readable_on"   json:"readable_on"`
	CodesOfPlay []CodeOfPlay `db:"codes_of_play" json:"codes_of_play"` // those that it fits
	Cause       int          `db:"cause"         json:"cause"`         // place in the order of causes
	Active      bool         `db:"active"        json:"active"`
}

// Habit is the stored habit.
type Habit = Record[HabitFields, None]

// Check gives the faults of the fields, the offending clause named.
func (f HabitFields) Check() []FieldError {
	var c checks
	c.code("/code", f.Code)
	_, taken := ShotFieldNamed(f.Code)
	c.when(taken, "/code", "is the name of a field of shots")
	c.name("/name", f.Name)
	c.prose("/definition", f.Definition)
	c.text("/edge_cases", f.EdgeCases, MaxProse)
	c.clauses("/readable_on", f.ReadableOn)
	for _, fault := range UnknownHabits("/readable_on", f.ReadableOn, nil) { // a habit cannot rest on another
		c.add(fault.Pointer, "%s", fault.Detail)
	}
	setOf(&c, "/codes_of_play", f.CodesOfPlay, CodesOfPlay, false)
	c.whole("/cause", f.Cause, 1, 100)
	return c.faults
}

// Readable tells whether the habit can be read on a shot: False when it does not fit the code of play or one of
// its clauses fails, Unknown when the shot lacks what a clause asks about.
func (f HabitFields) Readable(s *CountedShot) Truth {
	if !slices.Contains(f.CodesOfPlay, s.Competition.CodeOfPlay) {
		return False
	}
	return All(f.ReadableOn, s)
}

// HabitNamed gives the habit of a code among a program's habits; nil when there is none.
func HabitNamed(habits []Habit, code string) *HabitFields {
	for i := range habits {
		if habits[i].Fields.Code == code {
			return &habits[i].Fields
		}
	}
	return nil
}
