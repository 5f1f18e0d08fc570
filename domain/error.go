package domain

import (
	"errors"
	"fmt"
	"strings"
	"time"
)

// Code says what kind of thing went wrong. The api turns each into one problem type and status.
type Code string

// The codes of an [Error].
const (
	Malformed            Code = "malformed"             // it cannot be read: bad JSON, bad parameter
	Invalid              Code = "invalid"               // it can be read, but a rule of the records is broken
	Unauthenticated      Code = "unauthenticated"       // no token, or one that is unknown, expired or revoked
	Forbidden            Code = "forbidden"             // this member may not do this
	CrossOrigin          Code = "cross_origin"          // another site made a browser send it
	NotFound             Code = "not_found"             // no such record in this program
	Conflict             Code = "conflict"              // the id holds something else, or the record cannot be changed so
	InTheWay             Code = "in_the_way"            // another record has the code, or covers the time, that must be one's own
	Removed              Code = "removed"               // the id belonged to a record that was removed
	Erased               Code = "erased"                // the person was erased, for good
	InUse                Code = "in_use"                // other records stand on this one
	PreconditionRequired Code = "precondition_required" // If-Match is missing
	TooMany              Code = "too_many"              // too many failed sign-ins or bad tokens from one address
	Stale                Code = "stale"                 // If-Match names an older state
	Incomplete           Code = "incomplete"            // the body did not arrive; the same may be sent again
	TooLarge             Code = "too_large"             // the body is over the limit
	UnsupportedMedia     Code = "unsupported_media"     // the body's media type is not one of the operation's
	NotAcceptable        Code = "not_acceptable"        // none of the accepted media types can be served
	MethodNotAllowed     Code = "method_not_allowed"    // the path exists, the method does not
	Unavailable          Code = "unavailable"           // try again later
	Timeout              Code = "timeout"               // it took too long
	Internal             Code = "internal"              // our fault; the cause is logged, never shown
)

// Shed is the Cause of an Unavailable error when nothing is broken: too much was asked for at once, and this was turned
// away before anything was begun. It says what there was too much of.
type Shed string

// What there may be too much of.
const (
	ShedInFlight      Shed = "in_flight"      // requests
	ShedProgramReads  Shed = "program_reads"  // one program's requests that read
	ShedProgramWrites Shed = "program_writes" // one program's requests that write
	ShedQueue         Shed = "program_queue"  // a program's transactions waited for each other for too long
	ShedWrites        Shed = "writes"         // transactions that write
	ShedWork          Shed = "work"           // transactions
	ShedConnections   Shed = "connections"    // connections to the database in use
)

// Sheds are all of them, for whoever counts.
var Sheds = []Shed{ShedInFlight, ShedProgramReads, ShedProgramWrites, ShedQueue, ShedWrites, ShedWork, ShedConnections}

// Error makes it a cause.
func (s Shed) Error() string { return "shed: " + string(s) }

// FieldError names one field that is wrong: a JSON Pointer (RFC 6901) into the body, or a parameter's name.
type FieldError struct {
	Pointer string `json:"pointer"`
	Detail  string `json:"detail"`
}

// Error is what every store method and check returns when it refuses.
type Error struct {
	Code    Code
	Message string
	Fields  []FieldError
	Retry   time.Duration // when Unavailable or TooMany: how long to wait
	Rev     int64         // when Stale or Conflict: the record's present rev
	Cause   error         // internal; never shown to a client
}

// Error gives the message with its fields, for logs and command lines.
func (e *Error) Error() string {
	var b strings.Builder
	b.WriteString(e.Message)
	for _, f := range e.Fields {
		fmt.Fprintf(&b, "; %s: %s", f.Pointer, f.Detail)
	}
	if e.Cause != nil {
		fmt.Fprintf(&b, " (%v)", e.Cause)
	}
	return b.String()
}

// Unwrap gives the internal cause.
func (e *Error) Unwrap() error { return e.Cause }

// Errorf makes an Error with a message.
func Errorf(code Code, format string, args ...any) *Error {
	return &Error{Code: code, Message: fmt.Sprintf(format, args...)}
}

// InvalidField makes an Invalid error that names one field.
func InvalidField(pointer, format string, args ...any) *Error {
	return &Error{
		Code:    Invalid,
		Message: "The record breaks a rule.",
		Fields:  []FieldError{{pointer, fmt.Sprintf(format, args...)}},
	}
}

// InTheWayField makes an InTheWay error that names the field in which a record gets in another's way.
func InTheWayField(pointer, format string, args ...any) *Error {
	return &Error{
		Code:    InTheWay,
		Message: "Another record is in the way.",
		Fields:  []FieldError{{pointer, fmt.Sprintf(format, args...)}},
	}
}

// CodeOf gives the code of an error; anything that is not an *Error is Internal.
func CodeOf(err error) Code {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Code
	}
	return Internal
}
