package domain

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestSecretsNameTheirProgram(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		program := anyID.Draw(t, "program")
		secret := NewSecret(program)
		require.True(t, strings.HasPrefix(secret, "cw_"))
		got, ok := ProgramOfSecret(secret)
		require.True(t, ok)
		assert.Equal(t, program, got)
		assert.NotEqual(t, secret, NewSecret(program))
		// Any one character changed is noticed.
		i := rapid.IntRange(0, len(secret)-1).Draw(t, "at")
		c := rapid.SampledFrom([]byte("aZ9-_!")).Draw(t, "to")
		if secret[i] != c {
			_, ok = ProgramOfSecret(secret[:i] + string(c) + secret[i+1:])
			assert.False(t, ok)
		}
	})
}

func TestProgramOfSecretRefuses(t *testing.T) {
	good := NewSecret(NameID(ID{}, "program"))
	for _, bad := range []string{"", "cw_", good[3:], good + "A", good[:len(good)-1], " " + good, "CW_" + good[3:]} {
		_, ok := ProgramOfSecret(bad)
		assert.False(t, ok, "%q", bad)
	}
}

// SHA-256 of "abc" is the example of FIPS 180-2 appendix B.1.
func TestHashSecret(t *testing.T) {
	assert.Equal(t, "ba7816bf8f01cfea", hexOf(HashSecret("abc"))[:16])
	assert.Len(t, HashSecret(""), 32)
}

func hexOf(b []byte) string {
	const digits = "0123456789abcdef"
	var s strings.Builder
	for _, v := range b {
		s.WriteByte(digits[v>>4])
		s.WriteByte(digits[v&15])
	}
	return s.String()
}

func TestTokenCheck(t *testing.T) {
	good := func() TokenFields {
		return TokenFields{NameID(ID{}, "member"), "phone", time.Date(2027, 1, 1, 0, 0, 0, 0, time.UTC)}
	}
	assert.Empty(t, good().Check())
	refuses(t, good, map[string]func(*TokenFields){
		"/member_id":      func(f *TokenFields) { f.MemberID = ID{} },
		"/label":          func(f *TokenFields) { f.Label = "" },
		"/expires_at":     func(f *TokenFields) { f.ExpiresAt = time.Time{} },
		"/expires_at#far": func(f *TokenFields) { f.ExpiresAt = time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC) },
		"/expires_at#zone": func(f *TokenFields) {
			f.ExpiresAt = time.Date(9999, 12, 31, 23, 59, 59, 0, time.FixedZone("", -12*3600)) // in UTC a year of five digits
		},
	})
}
