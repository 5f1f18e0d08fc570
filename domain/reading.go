package domain

import "regexp"

// ReadingFields is one member's set of habits read for one shot. A habit that is not in the set was not looked at.
type ReadingFields struct {
	ShotID  ID                `db:"shot_id"  json:"shot_id"`
	HowRead HowRead           `db:"how_read" json:"how_read"`
	Habits  map[string]Answer `db:"habits"   json:"habits"`
}

// ReadingFound is whose reading it is (the member who first wrote it), and the game of its shot.
type ReadingFound struct {
	MemberID ID `db:"member_id" json:"member_id"`
	GameID   ID `db:"game_id"   json:"game_id"`
}

// Reading is the stored reading. A member has one for a shot.
type Reading = Record[ReadingFields, ReadingFound]

var codePattern = regexp.MustCompile(`^[a-z][a-z0-9_]{1,39}$`)

func (c *checks) code(pointer, code string) {
	c.when(!codePattern.MatchString(code), pointer,
		"must be a code of 2 to 40 lower-case letters, digits and underscores that starts with a letter")
}

// Check gives the faults of the fields.
func (f ReadingFields) Check() []FieldError {
	var c checks
	c.id("/shot_id", f.ShotID)
	oneOf(&c, "/how_read", f.HowRead, HowReads)
	c.when(len(f.Habits) == 0, "/habits", "must hold an answer")
	c.when(len(f.Habits) > MaxItems, "/habits", "must have at most %d answers", MaxItems)
	for code, answer := range f.Habits {
		c.code("/habits/"+code, code)
		oneOf(&c, "/habits/"+code, answer, Answers)
	}
	return c.faults
}

// CountedReading chooses the reading of a shot that counts: the one that somebody settled, when it is there; else a
// blind one before one that knew the result, and of like ones the first written (the lowest rev, then id). Live
// readings are kept but never pooled with film, so they never count, settled or not; nil when there is no other.
func CountedReading(readings []Reading, settled *ID) *Reading {
	for i := range readings {
		if settled != nil && readings[i].ID == *settled && readings[i].Fields.HowRead != Live {
			return &readings[i]
		}
	}
	var best *Reading
	for i := range readings {
		r := &readings[i]
		if r.Fields.HowRead != Live && (best == nil || countsBefore(r, best)) {
			best = r
		}
	}
	return best
}

func countsBefore(a, b *Reading) bool {
	if a.Fields.HowRead != b.Fields.HowRead {
		return a.Fields.HowRead == FilmBlind
	}
	if a.Rev != b.Rev {
		return a.Rev < b.Rev
	}
	return a.ID.String() < b.ID.String()
}
