package domain

import "context"

// ExportSink takes what is held on somebody, file by file.
type ExportSink interface {
	// File begins the next file, a list of records; what it holds is told in one sentence. A name that ends with .csv makes it
	// a table.
	File(name, about string) error
	// Add puts the next record into the file.
	Add(record any) error
}

// Exports is the store behind handing over what is held on one person. Only a director may ask it. All of an export is of one
// moment. Of one who was removed the history is all that there is. Errors: NotFound.
type Exports interface {
	// Goalie hands over a goalie's record, what was charted of them and done about them, and who may see it.
	Goalie(ctx context.Context, a Actor, id ID, to ExportSink) error
	// Member hands over a member's record and tokens, without secrets, and what they wrote.
	Member(ctx context.Context, a Actor, id ID, to ExportSink) error
}

// ExportedWrite is a change that somebody made. What the record was before is not theirs, so it is left out.
type ExportedWrite struct {
	Rev      int64    `json:"rev"`
	At       string   `json:"at"` // RFC 3339
	Noun     Noun     `json:"noun"`
	RecordID ID       `json:"record_id"`
	Op       ChangeOp `json:"op"`
}
