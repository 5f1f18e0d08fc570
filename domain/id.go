package domain

import (
	"crypto/rand"
	"crypto/sha1" //nolint:gosec // RFC 9562 section 5.5 names SHA-1; nothing is kept secret by it
	"encoding/hex"
	"errors"
	"time"
)

// ID is the UUID of a record (RFC 9562). Clients make ids; where the service makes one it is version 7.
type ID [16]byte

var errBadID = errors.New("not a UUID in the 8-4-4-4-12 form")

// ParseID reads the 36-character form of a UUID in either case.
func ParseID(s string) (ID, error) {
	var id ID
	if len(s) != 36 || s[8] != '-' || s[13] != '-' || s[18] != '-' || s[23] != '-' {
		return ID{}, errBadID
	}
	digits := s[0:8] + s[9:13] + s[14:18] + s[19:23] + s[24:36]
	if _, err := hex.Decode(id[:], []byte(digits)); err != nil {
		return ID{}, errBadID
	}
	return id, nil
}

// MustParseID is ParseID for ids written in code; it panics on a bad one.
func MustParseID(s string) ID {
	id, err := ParseID(s)
	if err != nil {
		panic(err)
	}
	return id
}

// NewID makes a version 7 UUID whose first 48 bits are the given instant in milliseconds (RFC 9562 section 5.7).
func NewID(now time.Time) ID {
	var id ID
	_, _ = rand.Read(id[:]) // never fails: crypto/rand ends the program instead
	return id.withInstant(now).withVersion(7)
}

// FirstID gives the least id of an instant: all that are made later by [NewID] are greater.
func FirstID(at time.Time) ID { return ID{}.withInstant(at) }

func (id ID) withInstant(at time.Time) ID {
	ms := uint64(at.UnixMilli())
	for i := range 6 {
		id[i] = byte(ms >> (40 - 8*i)) //nolint:gosec // the lowest byte is what is wanted
	}
	return id
}

// NameID makes the version 5 UUID of a name within a namespace (RFC 9562 section 5.5), so that starter data has
// the same ids each time it is copied into a program.
func NameID(namespace ID, name string) ID {
	h := sha1.New() //nolint:gosec // as above
	h.Write(namespace[:])
	h.Write([]byte(name))
	var id ID
	copy(id[:], h.Sum(nil))
	return id.withVersion(5)
}

func (id ID) withVersion(v byte) ID {
	id[6] = id[6]&0x0f | v<<4
	id[8] = id[8]&0x3f | 0x80
	return id
}

// IsZero tells whether the id was never set.
func (id ID) IsZero() bool { return id == ID{} }

// String gives the lower-case 36-character form.
func (id ID) String() string {
	var b [36]byte
	hex.Encode(b[0:8], id[0:4])
	hex.Encode(b[9:13], id[4:6])
	hex.Encode(b[14:18], id[6:8])
	hex.Encode(b[19:23], id[8:10])
	hex.Encode(b[24:36], id[10:16])
	b[8], b[13], b[18], b[23] = '-', '-', '-', '-'
	return string(b[:])
}

// MarshalText writes the 36-character form.
func (id ID) MarshalText() ([]byte, error) { return []byte(id.String()), nil }

// UnmarshalText reads the 36-character form.
func (id *ID) UnmarshalText(text []byte) error {
	parsed, err := ParseID(string(text))
	if err != nil {
		return err
	}
	*id = parsed
	return nil
}
