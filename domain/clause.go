package domain

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// Clause is one condition of the little language in which targets are written: a field of a shot and exactly one
// test. A list of clauses holds when all of them hold; there is no nesting.
type Clause struct {
	Field string   `json:"field"`
	Is    any      `json:"is,omitempty"` // a code, or true or false
	In    []string `json:"in,omitempty"`
	LT    *float64 `json:"lt,omitempty"`
	LTE   *float64 `json:"lte,omitempty"`
	GT    *float64 `json:"gt,omitempty"`
	GTE   *float64 `json:"gte,omitempty"`
}

// UnknownHabits names the clauses, by pointer, whose field is neither a field of shots nor one of the habits.
func UnknownHabits(pointer string, clauses []Clause, habits []Habit) []FieldError {
	var c checks
	for i, clause := range clauses {
		if _, ok := ShotFieldNamed(clause.Field); !ok && HabitNamed(habits, clause.Field) == nil {
			c.add(fmt.Sprintf("%s/%d", pointer, i), "there is no field or habit %q", clause.Field)
		}
	}
	return c.faults
}

// Truth is the three-valued answer of a clause.
type Truth int

// The truths. Unknown means that the shot lacks what the clause asks about.
const (
	Unknown Truth = iota
	False
	True
)

// UnmarshalJSON reads a clause and refuses a member that the language does not have.
func (c *Clause) UnmarshalJSON(data []byte) error {
	type plain Clause
	var p plain
	if err := strict(data, &p); err != nil {
		return err
	}
	*c = Clause(p)
	return nil
}

// Check gives what is wrong with the clause, or "". A field that shots do not have is taken for a habit; whether the
// program has it is seen with the program's records, see [UnknownHabits].
func (c Clause) Check() string {
	if c.tests() != 1 {
		return "must have exactly one of is, in, lt, lte, gt, gte"
	}
	if !codePattern.MatchString(c.Field) {
		return fmt.Sprintf("there is no field %q", c.Field)
	}
	field := fieldOrHabit(c.Field)
	switch {
	case c.Is != nil:
		return field.checkValue(c.Is)
	case c.In != nil:
		return c.checkIn(field)
	case field.Type != NumberField:
		return fmt.Sprintf("%s is not a number", c.Field)
	}
	return ""
}

func (c Clause) checkIn(field ShotField) string {
	if len(c.In) == 0 {
		return "in must not be empty"
	}
	if len(c.In) > MaxItems {
		return fmt.Sprintf("in must have at most %d codes", MaxItems)
	}
	for _, code := range c.In {
		if fault := field.checkValue(code); fault != "" {
			return fault
		}
	}
	return ""
}

func (c Clause) tests() int {
	n := 0
	for _, present := range []bool{c.Is != nil, c.In != nil, c.LT != nil, c.LTE != nil, c.GT != nil, c.GTE != nil} {
		if present {
			n++
		}
	}
	return n
}

// Eval tells whether the clause holds for a shot.
func (c Clause) Eval(s *CountedShot) Truth {
	asked := c.asked()
	return asked.eval(s)
}

// holds tells whether the clause holds for a value of its field; nil is unknown.
func (c *Clause) holds(v any) Truth {
	if v == nil {
		return Unknown
	}
	switch v := v.(type) {
	case bool:
		return truth(c.Is == v)
	case string:
		return truth(c.Is == v || slices.Contains(c.In, v))
	case float64:
		return truth(c.holdsFor(v))
	}
	return Unknown
}

func (c *Clause) holdsFor(v float64) bool {
	switch {
	case c.LT != nil:
		return v < *c.LT
	case c.LTE != nil:
		return v <= *c.LTE
	case c.GT != nil:
		return v > *c.GT
	case c.GTE != nil:
		return v >= *c.GTE
	}
	return false
}

func truth(b bool) Truth {
	if b {
		return True
	}
	return False
}

// All tells whether every clause holds: False when one is false, else Unknown when one is unknown. Where many shots are
// asked the same, a [Question] is quicker.
func All(clauses []Clause, s *CountedShot) Truth {
	out := True
	for _, c := range clauses {
		if out = out.and(c.Eval(s)); out == False {
			break
		}
	}
	return out
}

// and is True when both are, False when one is, else Unknown.
func (t Truth) and(o Truth) Truth {
	switch {
	case t == False || o == False:
		return False
	case t == Unknown || o == Unknown:
		return Unknown
	}
	return True
}

// strict decodes a JSON object and refuses members that the type does not have, in any other letter case too.
func strict(data []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return err
	}
	var given map[string]json.RawMessage
	if err := json.Unmarshal(data, &given); err != nil {
		return err
	}
	known := memberNames(reflect.TypeOf(into).Elem())
	for name := range given {
		if !slices.Contains(known, name) {
			return Errorf(Invalid, "has no member %q", name)
		}
	}
	return nil
}

// memberNames gives the names that the fields of a plain struct have in JSON.
func memberNames(t reflect.Type) []string {
	names := make([]string, t.NumField())
	for i := range names {
		names[i], _, _ = strings.Cut(t.Field(i).Tag.Get("json"), ",")
	}
	return names
}
