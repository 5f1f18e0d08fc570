package domain

import (
	"context"
	"time"
	_ "time/tzdata" // the zone data travels with the binary
)

// Units is how pages and files show lengths and speeds; records are always metric.
type Units string

// UnitsList holds the codes of Units.
var UnitsList = []Units{"yards", "metric"}

// ProgramFields is what a director writes of the program: the tenant to which every other record belongs.
type ProgramFields struct {
	Name     string `db:"name"      json:"name"`
	TimeZone string `db:"time_zone" json:"time_zone"` // IANA name; decides only what "this week" and "today" are
	Units    Units  `db:"units"     json:"units"`
	// Judgement is what the program sets of the bounds by which its goalies are judged; nothing at first.
	Judgement JudgementSettings `db:"judgement" json:"judgement"`
}

// Program is the stored program. There is one for each tenant, and a member sees only their own.
type Program = Record[ProgramFields, None]

// Check gives the faults of the fields.
func (f ProgramFields) Check() []FieldError {
	var c checks
	c.name("/name", f.Name)
	_, err := time.LoadLocation(f.TimeZone)
	c.when(err != nil || f.TimeZone == "" || f.TimeZone == "Local", "/time_zone",
		"must be an IANA time zone such as America/New_York")
	oneOf(&c, "/units", f.Units, UnitsList)
	f.Judgement.check(&c)
	return c.faults
}

// WeekAt gives the program's week at an instant.
func (f ProgramFields) WeekAt(now time.Time) Week { return WeekOf(f.DayAt(now)) }

// DayAt gives the day that it is for the program at an instant.
func (f ProgramFields) DayAt(now time.Time) Date {
	zone, err := time.LoadLocation(f.TimeZone)
	if err != nil {
		zone = time.UTC // Check refuses a zone that does not load
	}
	return DateOf(now.In(zone))
}

// Programs is the store of programs.
type Programs interface {
	// Create makes a program with the starter targets, drills and rules, and its first director. It is a chore of
	// whoever runs the service: no actor, no HTTP. Errors: Invalid, Conflict.
	Create(ctx context.Context, id ID, fields ProgramFields, director string) (Program, Record[MemberFields, None], error)
	// Get gives the actor's program. Every member but a viewer may read it.
	Get(ctx context.Context, a Actor) (Program, error)
	// Patch changes the actor's program; see [Records].
	Patch(ctx context.Context, a Actor, rev Rev, change func(ProgramFields) (ProgramFields, error)) (Program, error)
}
