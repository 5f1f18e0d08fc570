package domain

import (
	"context"
	"encoding/json"
	"time"
)

// ChangeOp is what a change did.
type ChangeOp string

// The kinds of change.
const (
	OpCreate ChangeOp = "create"
	OpChange ChangeOp = "change"
	OpRemove ChangeOp = "remove"
	OpErase  ChangeOp = "erase" // somebody was erased who was or was named in this record; nobody can undo it
)

// ChangeOps is the list of ChangeOp.
var ChangeOps = []ChangeOp{OpCreate, OpChange, OpRemove, OpErase}

// Change is one change of one record: who, when, what, and what the record was before.
type Change struct {
	Rev         int64           `json:"rev"` // the program's change number
	At          time.Time       `json:"at"`
	MemberID    *ID             `json:"member_id"` // absent for a chore of whoever runs the service
	Noun        Noun            `json:"noun"`
	RecordID    ID              `json:"record_id"`
	Op          ChangeOp        `json:"op"`
	Before      json.RawMessage `json:"before"`       // what the client had written; null for a creation, and an erasure of what is there
	BeforeFound json.RawMessage `json:"before_found"` // what the service had found; null for a creation
	// On is what the record belonged to when the change was written; nil for one from before that was kept, and for nouns of
	// the whole program. Who may see the change is judged by it.
	On *Subject `json:"-"`
}

// Undone is what an undo left: the record as it is now, or nothing when it undid the record's creation.
type Undone struct {
	Noun   Noun
	Rev    int64 // of the change that the undo made
	Record any   // a Record; nil when it is gone
}

// Changes is the store behind the history of records.
type Changes interface {
	// Of gives the changes of one record that the actor may read, oldest first: each is judged by its noun and by what the
	// record belonged to at that change. Errors: Forbidden when there is none of these, NotFound.
	Of(ctx context.Context, a Actor, record ID, limit int, after int64) (ChangePage, error)
	// Undo takes a change of a record back by another change: it puts the fields back as they were before it, brings
	// a removed record back, or removes one whose creation it undoes. rev 0 means the change that last names. last must
	// name the record's last change, so that nothing written meanwhile is lost; an undo that was applied already is
	// confirmed whatever last says, so that it can be sent again until an answer arrives. The actor must have the right
	// to write the record as it is, or was when it was removed, and as it was at that change. Errors: as of writing the
	// record; Invalid when neither rev nor last names a change; Stale; NotFound when the record never had that change.
	Undo(ctx context.Context, a Actor, record ID, last Rev, rev int64) (Undone, error)
}

// ChangePage is a page of a history. Next is nil on the last.
type ChangePage struct {
	Items []Change
	Next  *int64
}
