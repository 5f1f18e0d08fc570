package domain

import (
	"context"
	"strings"
	"time"
)

// AccessAction is what somebody did that the program's director can look up later.
type AccessAction string

// The actions. What is written of records stands in their history; only what says who saw, opened or took away stands here.
const (
	AccessRead         AccessAction = "read"           // a record, a page of a goalie, a history, a board
	AccessList         AccessAction = "list"           // a list
	AccessWrite        AccessAction = "write"          // a goalie's record, or an undo: the answer shows the record
	AccessCreate       AccessAction = "create"         // a token, a sign-in code
	AccessRemove       AccessAction = "remove"         // a token
	AccessSignIn       AccessAction = "sign_in"        // a browser
	AccessSignOut      AccessAction = "sign_out"       // a browser
	AccessSignInFailed AccessAction = "sign_in_failed" // with a token that has expired
	AccessExport       AccessAction = "export"         // all that is held on somebody
	AccessErase        AccessAction = "erase"          // somebody
	AccessLost         AccessAction = "lost"           // entries that could not be kept; LostAccesses says how many
)

// AccessActions is the list of AccessAction.
var AccessActions = []AccessAction{
	AccessRead, AccessList, AccessWrite, AccessCreate, AccessRemove, AccessSignIn, AccessSignOut, AccessSignInFailed,
	AccessExport, AccessErase, AccessLost,
}

// Access is one entry of the record of who looked. In which form a page was had is not kept: a page, a table and an answer
// that nothing changed tell the reader the same of a goalie. It holds ids and no name, so that erasing somebody leaves it as
// it is.
type Access struct {
	ID         ID            `json:"id"` // its first 48 bits are the instant, or the hour of what is noted once an hour
	At         time.Time     `json:"at"`
	MemberID   *ID           `json:"member_id"` // nil for a chore of whoever runs the service
	TokenID    *ID           `json:"token_id"`
	SessionID  *ID           `json:"session_id"`
	Action     AccessAction  `json:"action"`
	Noun       Noun          `json:"noun"`        // what was seen: a week, lines, shots
	RecordNoun *Noun         `json:"record_noun"` // at which record: a goalie, a team
	RecordID   *ID           `json:"record_id"`
	Lost       *LostAccesses `json:"lost"`

	ProgramID ID `json:"-"`
}

// LostAccesses says that entries are missing.
type LostAccesses struct {
	Count int64     `json:"count"`
	From  time.Time `json:"from"`
	To    time.Time `json:"to"`
}

// NewAccess begins an entry of what an actor does.
func NewAccess(a Actor, at time.Time, action AccessAction, noun Noun) Access {
	at = at.UTC().Truncate(time.Microsecond)
	return Access{
		ID: NewID(at), At: at, ProgramID: a.ProgramID, Action: action, Noun: noun,
		MemberID: unlessZero(a.MemberID), TokenID: unlessZero(a.TokenID), SessionID: unlessZero(a.SessionID),
	}
}

func unlessZero(id ID) *ID {
	if id.IsZero() {
		return nil
	}
	return &id
}

// On names the record.
func (a Access) On(noun Noun, record ID) Access {
	a.RecordNoun, a.RecordID = &noun, &record
	return a
}

// OnceAnHour gives the entry an id that is the same for all of its kind in one hour: by the same session (or token, or
// member), of the same action, noun and record. So the second is the first, whoever writes it and however late. The id is a
// version 8 UUID (RFC 9562 section 5.8): the hour, then what [NameID] makes of the rest.
func (a Access) OnceAnHour() Access {
	hour := a.At.Truncate(time.Hour)
	parts := []string{string(a.Action), string(a.Noun)}
	for _, id := range []*ID{a.SessionID, a.TokenID, a.MemberID} {
		if id != nil {
			parts = append(parts, id.String())
			break
		}
	}
	if a.RecordNoun != nil {
		parts = append(parts, string(*a.RecordNoun))
	}
	if a.RecordID != nil {
		parts = append(parts, a.RecordID.String())
	}
	id := NameID(a.ProgramID, strings.Join(append(parts, hour.Format(time.RFC3339)), " "))
	a.ID = id.withInstant(hour).withVersion(8)
	return a
}

// Hourly tells whether the entry is noted once an hour.
func (a Access) Hourly() bool { return a.ID[6]>>4 == 8 }

// AccessLog takes entries from whoever answers requests. Note never waits and never fails: what becomes of the entry is the
// log's own business.
type AccessLog interface{ Note(a Access) }

// LeastAccessDays is how long entries are kept at least: nobody, not even who holds the service's login, removes younger
// ones. The database holds it too.
const LeastAccessDays = 90

// Accesses is the store of entries. They are outside the program's change numbers and, for the service, only ever added.
type Accesses interface {
	// List gives the entries, newest first; those noted once an hour stand at the beginning of their hour. Errors: Forbidden.
	List(ctx context.Context, a Actor, q Query) (Page[Access], error)
	// Write adds entries of one program; those that are there already stay as they are. Errors: NotFound when there is no
	// such program any more; Unavailable, Timeout.
	Write(ctx context.Context, program ID, entries []Access) error
	// Prune removes entries of a program from before an instant, as many as one transaction should, and gives how many and
	// whether there may be more; dry only counts them all. Entries younger than LeastAccessDays stay, whatever is asked.
	Prune(ctx context.Context, program ID, before time.Time, dry bool) (removed int64, more bool, err error)
}
