package domain

import (
	"encoding/base64"
	"encoding/json"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What each of these starts from lies in testdata/fuzz and runs as a plain test; `go test ./domain -fuzz FuzzClause` goes on
// from there.

// FuzzClause: what is taken for a clause can be written and read again, and answers for any shot.
func FuzzClause(f *testing.F) {
	shots := []*CountedShot{shotOf(ShotFields{}), readAs(Yes), readAs(NotSeen),
		shotOf(ShotFields{Outcome: Save, FinishBand: new(Low), BallXM: new(3.0), BallYM: new(4.0), Bounce: new(true)})}
	f.Fuzz(func(t *testing.T, text []byte) {
		var c Clause
		if json.Unmarshal(text, &c) != nil || c.Check() != "" {
			return
		}
		require.Equal(t, 1, c.tests())
		written, err := json.Marshal(c)
		require.NoError(t, err)
		var again Clause
		require.NoError(t, json.Unmarshal(written, &again))
		require.Empty(t, again.Check())
		require.True(t, reflect.DeepEqual(c, again), "%s was read again as %+v", written, again)
		for _, s := range shots {
			require.Contains(t, []Truth{True, False, Unknown}, c.Eval(s))
			require.Equal(t, c.Eval(s), again.Eval(s))
		}
	})
}

// FuzzSecret: a token's secret has one form, and no other text names a program.
func FuzzSecret(f *testing.F) {
	f.Fuzz(func(t *testing.T, secret string) {
		program, ok := ProgramOfSecret(secret)
		if !ok {
			require.True(t, program.IsZero())
			return
		}
		raw, err := base64.RawURLEncoding.DecodeString(strings.TrimPrefix(secret, secretPrefix))
		require.NoError(t, err)
		require.Equal(t, secretPrefix+base64.RawURLEncoding.EncodeToString(raw), secret)
		require.Equal(t, program[:], raw[:16])
	})
}

// FuzzWords: a date, a week or an id that can be read is written as it was.
func FuzzWords(f *testing.F) {
	f.Fuzz(func(t *testing.T, text string) {
		if d, err := ParseDate(text); err == nil {
			require.Equal(t, text, d.String())
			require.Equal(t, d, d.AddDays(400).AddDays(-400))
		}
		if w, err := ParseWeek(text); err == nil {
			require.Equal(t, text, w.String())
			require.Equal(t, w, WeekOf(w.Monday()))
			require.Equal(t, w, WeekOf(w.Sunday()))
			require.Equal(t, w, w.Previous().Next())
		}
		if id, err := ParseID(text); err == nil {
			require.Equal(t, strings.ToLower(text), id.String())
		}
	})
}
