package domain

import (
	"context"
	"slices"
	"time"
)

// ErasedNouns are the kinds of record that stand for a person, who can be erased.
var ErasedNouns = []Noun{NounGoalie, NounMember}

// ErasedText stands where a text about an erased person stood; a record that must have a name is called ErasedGoalie or
// ErasedMember.
const (
	ErasedText   = "[erased]"
	ErasedGoalie = "Erased goalie"
	ErasedMember = "Erased member"
)

// Nameless gives what is left of an erased goalie: the side of the stick, for which shots were counted as on the stick side
// or off it. Nothing is recommended for a goalie who is held.
func (f GoalieFields) Nameless() GoalieFields {
	return GoalieFields{Name: ErasedGoalie, StickHand: f.StickHand, Availability: Held, AllowedDrillIDs: []ID{}}
}

// Nameless gives what is left of an erased member: nobody's rights. Readings and the history go on naming the id.
func (MemberFields) Nameless() MemberFields {
	return MemberFields{Name: ErasedMember, Role: Viewer, TeamIDs: []ID{}, GoalieIDs: []ID{}}
}

// ErasureFields is the receipt of an erasure: who was erased, when and by whom, and what was touched. It holds no name.
type ErasureFields struct {
	Noun      Noun          `db:"noun"       json:"noun"`
	At        time.Time     `db:"at"         json:"at"`
	MemberID  *ID           `db:"member_id"  json:"member_id"`  // absent for a chore of whoever runs the service
	KeptApart bool          `db:"kept_apart" json:"kept_apart"` // on the list outside the database; else a restored backup brings the person back
	Counts    []ErasedCount `db:"counts"     json:"counts"`
}

// ErasedCount is how much of one kind of record an erasure touched.
type ErasedCount struct {
	Noun    Noun `json:"noun"`
	Records int  `json:"records"` // rows that were rewritten or taken away
	Changes int  `json:"changes"` // changes of the history that were rewritten
}

// Erasure is the stored receipt. Its id is the erased record's, and its rev that of the change that tells of it.
type Erasure = Record[ErasureFields, None]

// Check gives the faults of the fields. The service writes them itself.
func (f ErasureFields) Check() []FieldError {
	var c checks
	oneOf(&c, "/noun", f.Noun, ErasedNouns)
	return c.faults
}

// ErasurePlan is what an erasure would do, from a dry run. Digest names exactly this plan.
type ErasurePlan struct {
	Noun   Noun          `json:"noun"`
	ID     ID            `json:"id"`
	Counts []ErasedCount `json:"counts"`
	// Elsewhere are the records of others in whose words the name stands, the first few of them: there it is taken out of the
	// words.
	Elsewhere []ErasedRecord `json:"elsewhere"`
	Digest    string         `json:"digest"`
}

// ErasedRecord is a record that an erasure touches.
type ErasedRecord struct {
	Noun Noun `json:"noun"`
	ID   ID   `json:"id"`
}

// MaxElsewhere is how many records of others a plan lists.
const MaxElsewhere = 200

// ErasureConsent says what is erased knowingly: the plan of a dry run by its digest, or the record by its rev.
type ErasureConsent struct {
	Digest string
	Rev    Rev
}

// Given tells whether either was said.
func (c ErasureConsent) Given() bool { return c.Digest != "" || c.Rev.Any || len(c.Rev.Of) > 0 }

// Erasures is the store behind the erasing of persons. Only a director may ask anything of it.
type Erasures interface {
	// List and Get give receipts.
	List(ctx context.Context, a Actor, q Query) (Page[Erasure], error)
	Get(ctx context.Context, a Actor, id ID) (Erasure, error)
	// Plan says what erasing a goalie or a member would do; a removed one too, whose words stand in the history. Of one who is
	// erased already it gives the receipt. Errors: NotFound; InUse for the last director.
	Plan(ctx context.Context, a Actor, noun Noun, id ID) (ErasurePlan, *Erasure, error)
	// Erase replaces the person by a nameless one, for good: name and words are gone from every row and from the history;
	// what was charted stays. Sent again it gives the receipt. Errors: as Plan; PreconditionRequired without consent; Stale
	// when the consent is to another state.
	Erase(ctx context.Context, a Actor, noun Noun, id ID, consent ErasureConsent) (Erasure, error)
}

// ErasureStep is how far an erasure has come on the list that is kept apart.
type ErasureStep string

// The steps. What was begun and neither done nor failed may be in the database: it counts as done.
const (
	ErasureBegun  ErasureStep = "begun"
	ErasureDone   ErasureStep = "done"
	ErasureFailed ErasureStep = "failed"
)

// ErasureEntry is a line of the list of erasures that is kept apart from the database, so that a restored backup can be
// brought up to it. It holds ids only. Of a program that was removed whole noun is program and the ids are both its own.
type ErasureEntry struct {
	ProgramID ID          `json:"program_id"`
	ID        ID          `json:"id"`
	Noun      Noun        `json:"noun"`
	At        time.Time   `json:"at"`
	Attempt   ID          `json:"attempt"` // the same in all lines of one try
	Step      ErasureStep `json:"step"`
}

// ErasureList is where erasures are kept apart from the database. Append returns when the line will outlive a crash.
type ErasureList interface {
	Append(ErasureEntry) error
}

// EffectiveErasures gives what stands on a list: each erased record once, at its first time, in the order of the list.
// A try that failed did nothing; the last step of a try decides.
func EffectiveErasures(list []ErasureEntry) []ErasureEntry {
	last := map[ID]ErasureStep{}
	for _, e := range list {
		last[e.Attempt] = e.Step
	}
	type key struct{ program, id ID }
	there := map[key]bool{}
	return slices.DeleteFunc(slices.Clone(list), func(e ErasureEntry) bool {
		k := key{e.ProgramID, e.ID}
		if last[e.Attempt] == ErasureFailed || there[k] {
			return true
		}
		there[k] = true
		return false
	})
}

// RefuseErased gives the error of a write about somebody who was erased.
func RefuseErased(noun Noun) error {
	return Errorf(Erased, "This %s was erased, for good: nothing is written about them any more.", spoken(noun))
}
