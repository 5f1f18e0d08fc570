package domain

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
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

// name checks what stands for a record in lists and on pages: one line that shows something and reads as it is written.
func (c *checks) name(pointer, s string) {
	switch {
	case strings.TrimSpace(s) == "":
		c.add(pointer, "must not be empty")
	case !strings.ContainsFunc(s, visible):
		c.add(pointer, "must hold a character that can be seen")
	}
	c.line(pointer, s)
}

// line checks a text of one line.
func (c *checks) line(pointer, s string) {
	c.text(pointer, s, MaxName)
	c.when(strings.ContainsAny(s, "\t\n\r\u2028\u2029"), pointer, "must not hold a tab or a line break")
}

// text checks what somebody wrote. Control characters and those that turn the direction of text could make a page, a file or
// a terminal show something else than was written.
func (c *checks) text(pointer, s string, most int) {
	c.when(utf8.RuneCountInString(s) > most, pointer, "must have at most %d characters", most)
	if !utf8.ValidString(s) {
		c.add(pointer, "must be valid UTF-8")
		return
	}
	for _, r := range s {
		if misleading(r) {
			c.add(pointer, "must not hold the character U+%04X", r)
			return
		}
	}
}

// visible tells whether a character leaves something to see. Blanks that Unicode counts as letters or symbols do not.
func visible(r rune) bool {
	const blanks = "\u115f\u1160\u3164\uffa0\u2800"
	return unicode.IsGraphic(r) && !unicode.IsSpace(r) && !unicode.Is(unicode.Mn, r) && !strings.ContainsRune(blanks, r)
}

// misleading tells whether a character controls a terminal or the direction of the text around it (Unicode Standard Annex 9,
// section 2), or is no character at all.
func misleading(r rune) bool {
	switch {
	case r == '\t', r == '\n', r == '\r':
		return false
	case unicode.Is(unicode.Cc, r), unicode.Is(unicode.Bidi_Control, r):
		return true
	case r == '\ufeff', r >= '\ufff9' && r <= '\ufffb':
		return true
	}
	return r&0xfffe == 0xfffe || r >= 0xfdd0 && r <= 0xfdef || r >= 0xe0000 && r <= 0xe0fff && !unicode.Is(unicode.Mn, r)
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
