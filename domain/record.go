package domain

import (
	"bytes"
	"context"
	"encoding/json"
	"time"
)

// Record is a stored record: its id, the program's change number at its last write (its ETag), the fields that
// a client wrote, and what the service found out by itself. In JSON the four are one flat object.
type Record[F, K any] struct {
	ID     ID
	Rev    int64
	Fields F
	Found  K
}

// None is the Found of a record about which the service finds nothing.
type None struct{}

// Fields is what a client writes of a record. Check gives every fault that can be seen without other records.
type Fields interface{ Check() []FieldError }

// MarshalJSON writes id, fields, what was found, and rev as one flat object.
func (r Record[F, K]) MarshalJSON() ([]byte, error) {
	fields, err := json.Marshal(r.Fields)
	if err != nil {
		return nil, err
	}
	found, err := json.Marshal(r.Found)
	if err != nil {
		return nil, err
	}
	tail, err := json.Marshal(struct {
		Rev int64 `json:"rev"`
	}{r.Rev})
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	b.WriteString(`{"id":"` + r.ID.String() + `"`)
	for _, part := range [][]byte{fields, found, tail} {
		if len(part) > len("{}") {
			b.WriteByte(',')
			b.Write(part[1 : len(part)-1])
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// Written tells how a Put ended.
type Written int

// How a Put ended: the record is new, or it was there with the same content (or had it once).
const (
	Created Written = iota + 1
	Unchanged
)

// Query narrows and pages a list. A list is in the order of ids, so that it is stable while others write.
type Query struct {
	Limit  int // 1 to MaxLimit; 0 means DefaultLimit
	After  *ID // the last id of the page before
	Filter Filter
}

// Filter narrows a list; a nil member does not narrow. The contract says which of them a list takes.
type Filter struct {
	TeamID, GoalieID, GameID, MemberID, ShotID, SeasonID *ID

	CodeOfPlay *CodeOfPlay
	Level      *Level
	Week       *Week // of the game's or the practice's day
	Unresolved *bool // shots of which it is not known whose they were

	// Of accesses: at which record, and when. They are left out of what tells filters apart where they are not set.
	RecordID     *ID        `json:",omitempty"`
	Since, Until *time.Time `json:",omitempty"` // Until is the first instant that is left out
}

// Limits of a page.
const (
	DefaultLimit = 50
	MaxLimit     = 200
)

// Page is one page of a list. Next is nil on the last.
type Page[T any] struct {
	Items []T
	Next  *ID
}

// Records is the store of one kind of record. Each method is one use case in one transaction and asks [May]
// first. Errors: Forbidden; NotFound for an id that this program does not have, whoever else has it.
type Records[F, K any] interface {
	// List gives the records that the actor may read.
	List(ctx context.Context, a Actor, q Query) (Page[Record[F, K]], error)
	// Get gives one record.
	Get(ctx context.Context, a Actor, id ID) (Record[F, K], error)
	// Put creates the record or confirms that it is there. A repeat whose content equals the record's present or
	// any earlier content is Unchanged and gives the present record. Errors: Invalid; Conflict when the id holds
	// other content; Removed when the record was removed.
	Put(ctx context.Context, a Actor, id ID, fields F) (Record[F, K], Written, error)
	// Patch changes the present fields and checks the outcome like a new record. change must be pure, for it may run
	// again; its errors are passed on. rev must be the present one, unless change would change nothing: then it has
	// been applied already. Errors: Invalid, Stale.
	Patch(ctx context.Context, a Actor, id ID, rev Rev, change func(F) (F, error)) (Record[F, K], error)
	// Remove takes the record away; its last state stays in the history. Errors: Stale, InUse.
	Remove(ctx context.Context, a Actor, id ID, rev Rev) error
}

// Rev is what an If-Match header asks for: one of some revs, or any.
type Rev struct {
	Any bool
	Of  []int64
}

// Matches tells whether the present rev satisfies the condition.
func (r Rev) Matches(present int64) bool {
	if r.Any {
		return true
	}
	for _, v := range r.Of {
		if v == present {
			return true
		}
	}
	return false
}
