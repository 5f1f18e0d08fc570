package domain

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestACodeIsReadAsItIsTyped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		code := NewCode()
		require.Len(t, code, 10)
		require.False(t, strings.ContainsAny(code, "ILOU"))
		typed := ShownCode(code)
		if rapid.Bool().Draw(t, "lower") {
			typed = strings.ToLower(typed)
		}
		typed = strings.ReplaceAll(typed, "0", rapid.SampledFrom([]string{"0", "o", "O"}).Draw(t, "zero"))
		typed = strings.ReplaceAll(typed, "1", rapid.SampledFrom([]string{"1", "i", "l", "I", "L"}).Draw(t, "one"))
		typed = strings.ReplaceAll(typed, "-", rapid.SampledFrom([]string{"-", "", " ", " - "}).Draw(t, "gap"))
		got, ok := ReadCode(" " + typed + " ")
		require.True(t, ok, typed)
		require.Equal(t, code, got)
	})
	for _, bad := range []string{"", "ABCDE", "ABCDE-FGHJU", "ABCDE-FGHJ!", "ABCDE-FGHJKM", "ÅBCDE-FGHJK", "cw_ABCDEFG", strings.Repeat(" ", 100) + "ABCDEFGHJK"} {
		_, ok := ReadCode(bad)
		assert.False(t, ok, "%q", bad)
	}
}

func TestCodesDiffer(t *testing.T) {
	seen := map[string]bool{}
	letters := map[rune]int{}
	for range 2000 {
		code := NewCode()
		require.False(t, seen[code])
		seen[code] = true
		for _, r := range code {
			letters[r]++
		}
	}
	assert.Len(t, letters, 32, "every letter of the alphabet is used")
	for r, n := range letters {
		assert.Greater(t, n, 450, "%c is rarer than the others: 625 are to be expected", r)
	}
}

func TestASessionsSecretIsNoTokens(t *testing.T) {
	program := NameID(ID{}, "program")
	session, token := NewSessionSecret(program), NewSecret(program)
	got, ok := ProgramOfSession(session)
	assert.True(t, ok)
	assert.Equal(t, program, got)
	_, ok = ProgramOfSecret(session)
	assert.False(t, ok)
	_, ok = ProgramOfSession(token)
	assert.False(t, ok)
	_, ok = ProgramOfSecret(strings.Replace(session, "cws_", "cw_", 1))
	assert.True(t, ok, "the form is the same; its hash is that of no token")
	assert.NotEqual(t, HashSecret(session), HashSecret(strings.Replace(session, "cws_", "cw_", 1)))
}
