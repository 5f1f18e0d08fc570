package domain

import (
	"cmp"
	"errors"
	"fmt"
	"time"
)

// Date is a day of the calendar without a time zone, written 2026-04-11 (RFC 3339 full-date).
type Date struct {
	Year  int
	Month time.Month
	Day   int
}

// ParseDate reads a date written 2026-04-11; a day that the calendar does not have is refused.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return Date{}, errors.New("not a date of the form 2026-04-11")
	}
	return DateOf(t), nil
}

// DateOf gives the day of an instant in that instant's own zone.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date{y, m, d}
}

// Time gives midnight UTC of the day.
func (d Date) Time() time.Time { return time.Date(d.Year, d.Month, d.Day, 0, 0, 0, 0, time.UTC) }

// AddDays gives the day n days later (earlier when n is negative).
func (d Date) AddDays(n int) Date { return DateOf(d.Time().AddDate(0, 0, n)) }

// Before tells whether d comes before other.
func (d Date) Before(other Date) bool {
	return cmp.Or(cmp.Compare(d.Year, other.Year), cmp.Compare(d.Month, other.Month), cmp.Compare(d.Day, other.Day)) < 0
}

// IsZero tells whether the date was never set.
func (d Date) IsZero() bool { return d == Date{} }

// String writes 2026-04-11.
func (d Date) String() string { return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day) }

// MarshalText writes 2026-04-11.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads 2026-04-11.
func (d *Date) UnmarshalText(text []byte) error {
	parsed, err := ParseDate(string(text))
	if err != nil {
		return err
	}
	*d = parsed
	return nil
}

// Week is an ISO 8601 week, written 2026-W15. It begins on a Monday.
type Week struct {
	Year   int
	Number int
}

// ParseWeek reads a week written 2026-W15; a week that the year does not have is refused.
func ParseWeek(s string) (Week, error) {
	var w Week
	if n, err := fmt.Sscanf(s, "%04d-W%02d", &w.Year, &w.Number); n != 2 || err != nil || s != w.String() {
		return Week{}, errors.New("not a week of the form 2026-W15")
	}
	if w.Number < 1 || WeekOf(w.Monday()) != w {
		return Week{}, fmt.Errorf("%d has no week %d", w.Year, w.Number)
	}
	return w, nil
}

// WeekOf gives the week that holds the day.
func WeekOf(d Date) Week {
	y, n := d.Time().ISOWeek()
	return Week{y, n}
}

// Monday gives the first day of the week. January 4th always lies in week 1 (ISO 8601).
func (w Week) Monday() Date {
	fourth := Date{w.Year, time.January, 4}
	sinceMonday := (int(fourth.Time().Weekday()) + 6) % 7
	return fourth.AddDays(7*(w.Number-1) - sinceMonday)
}

// Sunday gives the last day of the week.
func (w Week) Sunday() Date { return w.Monday().AddDays(6) }

// Previous gives the week before.
func (w Week) Previous() Week { return WeekOf(w.Monday().AddDays(-7)) }

// Next gives the week after.
func (w Week) Next() Week { return WeekOf(w.Monday().AddDays(7)) }

// String writes 2026-W15.
func (w Week) String() string { return fmt.Sprintf("%04d-W%02d", w.Year, w.Number) }

// MarshalText writes 2026-W15.
func (w Week) MarshalText() ([]byte, error) { return []byte(w.String()), nil }

// UnmarshalText reads 2026-W15.
func (w *Week) UnmarshalText(text []byte) error {
	parsed, err := ParseWeek(string(text))
	if err != nil {
		return err
	}
	*w = parsed
	return nil
}
