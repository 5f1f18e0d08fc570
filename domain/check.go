package domain

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"
)

// Limits on what a record may hold. The contract states the same numbers, and a test compares them.
const (
	MaxName  = 120  // characters of a name or label
	MaxProse = 2000 // characters of a longer text, such as a drill's set-up
	MaxItems = 50   // items of a list inside a record
	MaxClock = 7200 // seconds of a period
	MaxFilm  = 86_400_000
)

// checks collects what is wrong with a record, so that a client hears of every fault at once.
type checks struct{ faults []FieldError }

func (c *checks) add(pointer, format string, args ...any) {
	c.faults = append(c.faults, FieldError{pointer, fmt.Sprintf(format, args...)})
}

func (c *checks) when(wrong bool, pointer, format string, args ...any) {
	if wrong {
		c.add(pointer, format, args...)
	}
}

func (c *checks) name(pointer, s string) {
	c.when(strings.TrimSpace(s) == "", pointer, "must not be empty")
	c.text(pointer, s, MaxName)
}

func (c *checks) text(pointer, s string, most int) {
	c.when(utf8.RuneCountInString(s) > most, pointer, "must have at most %d characters", most)
	c.when(!utf8.ValidString(s), pointer, "must be valid UTF-8")
	c.when(strings.ContainsRune(s, 0), pointer, "must not hold the character U+0000")
}

func (c *checks) id(pointer string, id ID) { c.when(id.IsZero(), pointer, "must name a record") }

func (c *checks) date(pointer string, d Date) {
	c.when(d.IsZero(), pointer, "must be a date")
	c.when(!d.IsZero() && (d.Year < 1900 || d.Year > 2200), pointer, "must lie between 1900 and 2200")
}

func (c *checks) whole(pointer string, v, least, most int) {
	c.when(v < least || v > most, pointer, "must be from %d to %d", least, most)
}

func (c *checks) wholeIf(pointer string, v *int, least, most int) {
	if v != nil {
		c.whole(pointer, *v, least, most)
	}
}

func (c *checks) number(pointer string, v, least, most float64) {
	c.when(math.IsNaN(v) || v < least || v > most, pointer, "must be from %g to %g", least, most)
}

func (c *checks) numberIf(pointer string, v *float64, least, most float64) {
	if v != nil {
		c.number(pointer, *v, least, most)
	}
}

// oneOf refuses a code that is not on its list.
func oneOf[T ~string](c *checks, pointer string, code T, list []T) {
	c.when(!slices.Contains(list, code), pointer, "must be one of %s", listed(list))
}

func oneOfIf[T ~string](c *checks, pointer string, code *T, list []T) {
	if code != nil {
		oneOf(c, pointer, *code, list)
	}
}

// setOf refuses codes off the list, repeats and, where it must hold something, an empty set.
func setOf[T ~string](c *checks, pointer string, codes, list []T, empty bool) {
	c.when(!empty && len(codes) == 0, pointer, "must not be empty")
	c.when(len(codes) > MaxItems, pointer, "must have at most %d items", MaxItems)
	for i, code := range codes {
		at := fmt.Sprintf("%s/%d", pointer, i)
		oneOf(c, at, code, list)
		c.when(slices.Contains(codes[:i], code), at, "is there twice")
	}
}

func listed[T ~string](list []T) string {
	words := make([]string, len(list))
	for i, w := range list {
		words[i] = string(w)
	}
	return strings.Join(words, ", ")
}

// Refusal turns faults into an Invalid error, or nil when there are none.
func Refusal(faults []FieldError) error {
	if len(faults) == 0 {
		return nil
	}
	return &Error{Code: Invalid, Message: "The record breaks a rule.", Fields: faults}
}
