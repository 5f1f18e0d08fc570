package domain

import (
	"context"
	"crypto/rand"
	"strings"
	"time"
)

// SignInCodeLife is how long a sign-in code waits to be used.
const SignInCodeLife = 10 * time.Minute

// SignInCodeFields is what is asked for: for whom; nil for oneself.
type SignInCodeFields struct {
	MemberID *ID `json:"member_id"`
}

// SignInCode opens one session of a member. The code is given once; only its hash is stored.
type SignInCode struct {
	Code      string // as it is shown; see [ShownCode]
	MemberID  ID
	ExpiresAt time.Time
}

// SignInCodes is the store of sign-in codes.
type SignInCodes interface {
	// Make makes a code. Errors: Forbidden when it is for another member and the actor is no director; Invalid when there
	// is no such member.
	Make(ctx context.Context, a Actor, fields SignInCodeFields) (SignInCode, error)
}

// MayMakeCode asks whether the actor may make a sign-in code for a member: everybody for themself, a director for anybody.
func MayMakeCode(a Actor, member ID) error {
	if err := MayAny(a, Write, NounSignInCode); err != nil {
		return err
	}
	if member == a.MemberID || a.Role == Director {
		return nil
	}
	return Errorf(Forbidden, "A %s may make a sign-in code for themself alone.", a.Role)
}

// codeAlphabet has no letters that are taken for digits or for each other: I, L, O and U are missing.
const (
	codeAlphabet = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
	codeLength   = 10 // 50 random bits: beyond guessing in ten minutes at the rate that failed sign-ins are let through
)

// NewCode makes a sign-in code as it is kept.
func NewCode() string {
	raw := make([]byte, codeLength)
	_, _ = rand.Read(raw) // never fails
	for i, b := range raw {
		raw[i] = codeAlphabet[int(b)%len(codeAlphabet)] // 256 is a multiple of 32: no letter is likelier
	}
	return string(raw)
}

// ShownCode gives a code as a person reads it: in two groups.
func ShownCode(code string) string { return code[:codeLength/2] + "-" + code[codeLength/2:] }

// ReadCode reads what somebody typed: letter case, spaces and hyphens do not matter, and letters that look like digits are
// taken for these. ok is false when it cannot be a code.
func ReadCode(typed string) (code string, ok bool) {
	if len(typed) > 4*codeLength {
		return "", false
	}
	typed = strings.NewReplacer(" ", "", "-", "", "O", "0", "I", "1", "L", "1").Replace(strings.ToUpper(typed))
	if len(typed) != codeLength || strings.Trim(typed, codeAlphabet) != "" {
		return "", false
	}
	return typed, true
}
