package domain

import (
	"context"
	"time"
)

// SessionLife is how long a browser stays signed in. The token or code that opened the session may end it sooner. There is no
// shorter end for a browser that is left alone: to know of it each request would have to write, and then nobody could read
// while the database takes no writes.
const SessionLife = 12 * time.Hour

// Session is a browser that signed in: its cookie's secret, which is given once, and who it is.
type Session struct {
	Secret    string
	Actor     Actor
	ExpiresAt time.Time
}

// Sessions is the store of browsers that signed in. A session is no record: it has no rev and no history. It acts as its
// member, with the rights that the member has at each request, and ends with its member, with the token that it was opened
// with, at its time and at sign-out.
type Sessions interface {
	// Open opens a session with a token. Errors: Unauthenticated when the token is unknown, expired or revoked.
	Open(ctx context.Context, token string) (Session, error)
	// OpenByCode opens a session with a sign-in code, which is used up by it: of two at once one gets in. Errors:
	// Unauthenticated when the code is unknown, expired or used.
	OpenByCode(ctx context.Context, code string) (Session, error)
	// Authenticate gives the member behind a session's secret. Errors: Unauthenticated when it is unknown, expired or ended;
	// the three read the same.
	Authenticate(ctx context.Context, secret string) (Actor, error)
	// End ends a session for good and gives who it was. Errors: Unauthenticated as above.
	End(ctx context.Context, secret string) (Actor, error)
}

const sessionPrefix = "cws_"

// NewSessionSecret makes a session's secret in the form of a token's, under a prefix of its own: neither is ever taken for
// the other.
func NewSessionSecret(program ID) string { return newSecret(sessionPrefix, program) }

// ProgramOfSession gives the program that a session's secret names; ok is false when it is not one.
func ProgramOfSession(secret string) (program ID, ok bool) { return programOf(sessionPrefix, secret) }
