package api

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/openapi"
)

// What each of these starts from lies in testdata/fuzz and runs as a plain test; `go test ./api -fuzz FuzzDecode` goes on
// from there.

// FuzzDecode: a body is read, or refused in our own words; and what was read is read again from what is written of it.
func FuzzDecode(f *testing.F) {
	f.Fuzz(func(t *testing.T, text []byte) {
		decodesAlike[domain.ShotFields](t, text, "putShot")
		decodesAlike[domain.ShotItem](t, text, "putShots")
		decodesAlike[domain.TargetFields](t, text, "putTarget")
		decodesAlike[domain.ViewFields](t, text, "putView")
		decodesAlike[domain.ReadingFields](t, text, "putReading")
		decodesAlike[domain.PracticeLogFields](t, text, "putPracticeLog")
		decodesAlike[domain.TokenFields](t, text, "putToken")
	})
}

func decodesAlike[F any](t *testing.T, text []byte, id string) {
	t.Helper()
	op := operationNamed(t, id)
	v, err := decodeMembers[F](text, op)
	if err != nil {
		requireOurWords(t, err)
		return
	}
	written, err := json.Marshal(v)
	require.NoError(t, err)
	again, err := decodeMembers[F](written, op)
	require.NoError(t, err, "%s", written)
	require.True(t, reflect.DeepEqual(v, again), "%s was read again as %+v", written, again)
}

// requireOurWords holds a refusal of a body to what a client is told.
func requireOurWords(t *testing.T, err error) {
	t.Helper()
	e, ours := err.(*domain.Error) //nolint:errorlint // it must not be wrapped
	require.True(t, ours, "%v", err)
	require.Contains(t, []domain.Code{domain.Malformed, domain.Invalid}, e.Code)
	require.NotEmpty(t, e.Message)
	for _, field := range e.Fields {
		require.NotEmpty(t, field.Detail)
		for _, word := range []string{"json:", "unmarshal", "strconv", "domain."} {
			require.NotContains(t, field.Detail, word)
		}
	}
}

func withHeader(t *testing.T, name, value string) *gin.Context {
	t.Helper()
	gin.SetMode(gin.ReleaseMode)
	c := gin.CreateTestContextOnly(httptest.NewRecorder(), gin.New())
	c.Request = httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil)
	c.Request.Header[name] = []string{value}
	return c
}

// FuzzIfMatch: whatever the header says, only an entity tag that stands in it matches (RFC 9110 section 8.8.3.2: octet for
// octet).
func FuzzIfMatch(f *testing.F) {
	f.Fuzz(func(t *testing.T, header string) {
		rev, err := ifMatch(withHeader(t, "If-Match", header))
		if err != nil {
			require.Contains(t, []domain.Code{domain.Malformed, domain.PreconditionRequired}, domain.CodeOf(err))
			return
		}
		require.Equal(t, strings.TrimSpace(header) == "*", rev.Any)
		for _, v := range rev.Of {
			require.Contains(t, header, etag(v))
		}
		noneMatch(withHeader(t, "If-None-Match", header), etag(1))
	})
}

// FuzzAccept: one of the offers is served, or none; and what nobody takes is not served.
func FuzzAccept(f *testing.F) {
	offers := []string{mediaJSON, mediaHTML, mediaCSV}
	f.Fuzz(func(t *testing.T, header string) {
		best, err := accepted(withHeader(t, "Accept", header), offers...)
		for _, offer := range offers {
			q := quality(header, offer)
			require.True(t, q >= 0 && q <= 1, "%v", q)
			require.True(t, strings.TrimSpace(header) == "" || q <= quality(header, best))
		}
		if err != nil {
			require.Equal(t, domain.NotAcceptable, domain.CodeOf(err))
			return
		}
		require.Contains(t, offers, best)
	})
}

// FuzzCursor: a cursor has one form and belongs to one list.
func FuzzCursor(f *testing.F) {
	const route = "/v1/shots"
	f.Fuzz(func(t *testing.T, cursor string, id []byte) {
		var filter domain.Filter
		if len(id) >= 16 {
			whose := domain.ID(id[:16])
			mine := writeCursor(route, whose, filter)
			got, ok := readCursor(route, mine, filter)
			require.True(t, ok)
			require.Equal(t, whose, got)
			for _, foreign := range []bool{
				second(readCursor(route, mine, domain.Filter{GameID: &whose})),
				second(readCursor("/v1/clears", mine, filter)),
				second(readCursor(route, mine[:9]+"\n"+mine[9:], filter)),
			} {
				require.False(t, foreign)
			}
		}
		if got, ok := readCursor(route, cursor, filter); ok {
			require.Equal(t, cursor, writeCursor(route, got, filter))
		}
	})
}

func second[A, B any](_ A, b B) B { return b }

// FuzzMergePatch: what is taken for a patch does to a shot or a program what RFC 7396 says, or is refused in our own words.
func FuzzMergePatch(f *testing.F) {
	shot := domain.ShotFields{Outcome: domain.Save, Period: new(2), ClockS: new(431), Deflected: true, BallXM: new(3.5)}
	program := domain.ProgramFields{Name: "Harbor Hill", TimeZone: "UTC", Units: "yards",
		Judgement: domain.JudgementSettings{Margin: new(.03), TooWide: new(.4)}}
	reading := domain.ReadingFields{HowRead: "film", Habits: map[string]domain.Answer{"on_angle": domain.Yes}}
	f.Fuzz(func(t *testing.T, patch []byte) {
		mergesAlike(t, shot, patch, "patchShot")
		mergesAlike(t, program, patch, "patchProgram")
		mergesAlike(t, reading, patch, "patchReading")
	})
}

func mergesAlike[F any](t *testing.T, present F, patch []byte, id string) {
	t.Helper()
	if _, err := decodeMembers[F](patch, operationNamed(t, id)); err != nil {
		requireOurWords(t, err)
		return
	}
	before, err := json.Marshal(present)
	require.NoError(t, err)
	text, err := json.Marshal(mergePatch(numbered(t, before), numbered(t, patch)))
	require.NoError(t, err)
	var want F
	require.NoError(t, json.Unmarshal(text, &want))
	got, err := merge[F](patch)(present)
	require.NoError(t, err)
	require.True(t, reflect.DeepEqual(want, got), "%s became %+v", text, got)
}

// numbered reads a JSON value and keeps its numbers as they are written.
func numbered(t *testing.T, text []byte) any {
	t.Helper()
	var v any
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	require.NoError(t, d.Decode(&v))
	return v
}

func operationNamed(t *testing.T, id string) openapi.Operation {
	t.Helper()
	ops, err := openapi.Operations()
	require.NoError(t, err)
	return ops[slices.IndexFunc(ops, func(op openapi.Operation) bool { return op.ID == id })]
}
