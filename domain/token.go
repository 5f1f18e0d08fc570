package domain

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/binary"
	"hash/crc32"
	"strings"
	"time"
)

// TokenFields is what a director writes of a bearer token. It cannot be changed, only removed, which revokes it.
type TokenFields struct {
	MemberID  ID        `db:"member_id"  json:"member_id"`
	Label     string    `db:"label"      json:"label"`
	ExpiresAt time.Time `db:"expires_at" json:"expires_at"`
}

// TokenFound is the secret, given once: in the reply that created the token. Only its hash is stored.
type TokenFound struct {
	Secret *string `db:"-"             json:"secret"`
	Hash   []byte  `db:"secret_sha256" json:"-"`
}

// lastExpiry is the first instant that no token reaches. A date far off is meant as "never", which no token should be good for.
var lastExpiry = time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)

// Token is the stored token.
type Token = Record[TokenFields, TokenFound]

// Check gives the faults of the fields.
func (f TokenFields) Check() []FieldError {
	var c checks
	c.id("/member_id", f.MemberID)
	c.name("/label", f.Label)
	c.when(f.ExpiresAt.IsZero(), "/expires_at", "must be an instant")
	c.when(!f.ExpiresAt.Before(lastExpiry), "/expires_at", "must lie before the year 2100")
	return c.faults
}

// Normal gives the fields as they are kept: the instant in UTC and to the microsecond.
func (f TokenFields) Normal() TokenFields {
	f.ExpiresAt = f.ExpiresAt.UTC().Truncate(time.Microsecond)
	return f
}

// Tokens is the store of tokens.
type Tokens interface {
	// List, Get, Put and Remove are those of [Records].
	List(ctx context.Context, a Actor, q Query) (Page[Token], error)
	Get(ctx context.Context, a Actor, id ID) (Token, error)
	Put(ctx context.Context, a Actor, id ID, fields TokenFields) (Token, Written, error)
	Remove(ctx context.Context, a Actor, id ID, rev Rev) error
	// Authenticate gives the member behind a secret. Errors: Unauthenticated when it is unknown, expired or
	// revoked; the three read the same.
	Authenticate(ctx context.Context, secret string) (Actor, error)
}

const secretPrefix = "cw_"

// NewSecret makes a token's secret.
func NewSecret(program ID) string { return newSecret(secretPrefix, program) }

// ProgramOfSecret gives the program that a token's secret names; ok is false when it is not one.
func ProgramOfSecret(secret string) (program ID, ok bool) { return programOf(secretPrefix, secret) }

// newSecret makes a secret: a prefix by which leak scanners know it, the program (so that looking it up needs no index
// across programs), 24 random bytes and a CRC-32, in URL-safe base64.
func newSecret(prefix string, program ID) string {
	raw := make([]byte, 16+24, 16+24+4)
	copy(raw, program[:])
	_, _ = rand.Read(raw[16:]) // never fails
	raw = binary.BigEndian.AppendUint32(raw, crc32.ChecksumIEEE(raw))
	return prefix + base64.RawURLEncoding.EncodeToString(raw)
}

func programOf(prefix, secret string) (program ID, ok bool) {
	body, found := strings.CutPrefix(secret, prefix)
	raw, err := base64.RawURLEncoding.Strict().DecodeString(body)
	if !found || err != nil || len(raw) != 16+24+4 {
		return ID{}, false
	}
	if crc32.ChecksumIEEE(raw[:40]) != binary.BigEndian.Uint32(raw[40:]) {
		return ID{}, false
	}
	return ID(raw[:16]), true
}

// HashSecret gives what is stored of a secret. A token's and a session's have 192 random bits, so a plain hash cannot be
// guessed back; a sign-in code has 50, and minutes to live.
func HashSecret(secret string) []byte {
	sum := sha256.Sum256([]byte(secret))
	return sum[:]
}
