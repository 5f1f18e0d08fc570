package postgres_test

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"cagework/domain"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestEveryKindComesBackAsItWent reads what was written, with all that is optional and with none of it, by every way
// in which a record is read.
func TestEveryKindComesBackAsItWent(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	for _, k := range s.kinds() {
		for name, content := range map[string]any{"full": k.full, "bare": k.bare} {
			record := id(k.field)
			put, how, err := k.put(t.Context(), s.director, record, content)
			require.NoError(t, err, "%s %s", name, k.field)
			require.Equal(t, domain.Created, how)
			if k.fixed {
				put.found = withoutSecret(t, put.found)
			} else {
				require.Equal(t, content, put.fields, "%s %s", name, k.field)
			}
			got, err := k.get(t.Context(), s.director, record)
			require.NoError(t, err)
			require.Equal(t, put, got, "%s %s", name, k.field)
			listed, _, err := k.list(t.Context(), s.director, domain.Query{Limit: domain.MaxLimit})
			require.NoError(t, err)
			require.Contains(t, listed, put, "%s %s", name, k.field)
			again, how, err := k.put(t.Context(), s.director, record, content)
			require.NoError(t, err)
			require.Equal(t, domain.Unchanged, how)
			require.Equal(t, put, again)
			s.clear(t, k, record)
		}
	}
}

// clear takes a record away without a trace, so that its id can be used again.
func (s *scene) clear(t testing.TB, k kind, record domain.ID) {
	t.Helper()
	require.NoError(t, k.remove(t.Context(), s.director, record, anyRev))
	s.exec(t, `UPDATE changes SET record_id = gen_random_uuid() WHERE record_id = $1`, record)
}

// withoutSecret is what is found of a token after its first reply.
func withoutSecret(t testing.TB, found any) domain.TokenFound {
	t.Helper()
	f := found.(domain.TokenFound)
	require.NotNil(t, f.Secret, "the first reply gives the secret")
	require.Equal(t, domain.HashSecret(*f.Secret), f.Hash)
	return domain.TokenFound{Hash: f.Hash}
}

// clicks are the fields of a shot that come instead of its spots.
var clicks = map[string]bool{
	"GroundViewID": true, "BallUPx": true, "BallVPx": true, "PassUPx": true, "PassVPx": true, "GoalieUPx": true, "GoalieVPx": true,
	"GoalViewID": true, "FinishUPx": true, "FinishVPx": true,
}

// TestFullIsFullAndBareIsBare keeps the contents of the kinds honest when a field is added.
func TestFullIsFullAndBareIsBare(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	for _, k := range s.kinds() {
		full, bare := reflect.ValueOf(k.full), reflect.ValueOf(k.bare)
		for i := range full.NumField() {
			name := k.field + "." + full.Type().Field(i).Name
			switch full.Field(i).Kind() {
			case reflect.Pointer:
				if name == "Shots.StintID" || name == "Shots.CountedReadingID" || name == "Assignments.SwappedForID" || clicks[strings.TrimPrefix(name, "Shots.")] {
					continue // they name records that stand on the shot's own game or on the shot, or another of the kind, or stand in for spots
				}
				require.False(t, full.Field(i).IsNil(), "%s is missing in full", name)
				if name != "Shots.FilmMs" && name != "Clears.FilmMs" { // they need some time
					require.True(t, bare.Field(i).IsNil(), "%s is there in bare", name)
				}
			case reflect.Slice, reflect.Map:
				require.Positive(t, full.Field(i).Len(), "%s is empty in full", name)
				require.False(t, bare.Field(i).IsNil(), "%s is nil in bare", name)
				most := 1
				if name == "Views.Marks" {
					most = domain.MinMarks
				}
				require.LessOrEqual(t, bare.Field(i).Len(), most, "%s has much in bare", name)
			case reflect.Bool:
				require.False(t, bare.Field(i).Bool(), "%s is true in bare", name)
			}
		}
	}
}

func TestAnInstantIsKeptToTheMicrosecondInUTC(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	zone := time.FixedZone("east", 7*3600)
	fields := domain.TokenFields{
		MemberID: s.director.MemberID, Label: "phone", ExpiresAt: time.Date(2031, 1, 2, 3, 4, 5, 678901999, zone),
	}
	want := time.Date(2031, 1, 1, 20, 4, 5, 678901000, time.UTC)
	first, how, err := s.stores.Tokens.Put(t.Context(), s.director, id("token"), fields)
	require.NoError(t, err)
	require.Equal(t, domain.Created, how)
	require.Equal(t, want, first.Fields.ExpiresAt)
	got, err := s.stores.Tokens.Get(t.Context(), s.director, id("token"))
	require.NoError(t, err)
	require.Equal(t, want, got.Fields.ExpiresAt)

	again, how, err := s.stores.Tokens.Put(t.Context(), s.director, id("token"), fields)
	require.NoError(t, err)
	require.Equal(t, domain.Unchanged, how)
	require.Equal(t, want, again.Fields.ExpiresAt)
	require.Nil(t, again.Found.Secret, "the secret is given once")

	require.NoError(t, s.stores.Tokens.Remove(t.Context(), s.director, id("token"), anyRev))
	_, _, err = s.stores.Tokens.Put(t.Context(), s.director, id("token"), fields)
	refused(t, domain.Removed, err)
	for _, c := range s.history(t, s.program.ID, id("token")) {
		require.True(t, noon.Truncate(time.Microsecond).Equal(c.At), "all rows of one write bear the stores' clock")
		require.NotContains(t, string(c.BeforeFound), "cw_", "no secret is in the history")
	}
}

// TestAnyShotComesBackAsItWent goes through shots that have any of their optional members, and back through the
// history: what a shot was before a change is what it was.
func TestAnyShotComesBackAsItWent(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	shots := s.stores.Shots
	rapid.Check(t, func(r *rapid.T) {
		first, second := s.anyShot(r, "first"), s.anyShot(r, "second")
		record := domain.NewID(noon)
		put, _, err := shots.Put(t.Context(), s.director, record, first)
		require.NoError(r, err)
		require.Equal(r, first, put.Fields)
		got, err := shots.Get(t.Context(), s.director, record)
		require.NoError(r, err)
		require.Equal(r, put, got)

		_, err = shots.Patch(t.Context(), s.director, record, at(put.Rev), to(second))
		require.NoError(r, err)
		now, how, err := shots.Put(t.Context(), s.director, record, first)
		require.NoError(r, err, "a late repeat")
		require.Equal(r, domain.Unchanged, how)
		require.Equal(r, second, now.Fields)
	})
}

// anyShot draws a shot that breaks no rule.
func (s *scene) anyShot(r *rapid.T, label string) domain.ShotFields {
	f := s.fullShot()
	f.GoalieID = nil
	// On the field, in front of the goal or behind its net.
	y := rapid.OneOf(rapid.Float64Range(.01, 96), rapid.Float64Range(-15, -2.2))
	f.BallXM, f.BallYM = new(rapid.Float64Range(-30, 30).Draw(r, label)), new(y.Draw(r, label))
	// Low on the stick side of a right-handed goalie, as the full shot says.
	f.FinishXM, f.FinishUpM = new(rapid.Float64Range(0.31, 0.9).Draw(r, label)), new(rapid.Float64Range(0, 0.6).Draw(r, label))
	f.FilmMs = new(rapid.IntRange(0, domain.MaxFilm).Draw(r, label))
	f.Deflected, f.Bounce = rapid.Bool().Draw(r, label), new(rapid.Bool().Draw(r, label))
	f.ReleaseStyle = new(rapid.SampledFrom(domain.ReleaseStyles).Draw(r, label))
	f.Outcome = rapid.SampledFrom(domain.Outcomes).Draw(r, label)
	v := reflect.ValueOf(&f).Elem()
	pairs := map[string]string{"ClockS": "Period", "BallYM": "BallXM", "FinishUpM": "FinishXM", "FinishUncertainM": "FinishXM",
		"PassYM": "PassXM", "BallUncertainM": "BallXM", "GoalieYM": "GoalieXM", "GoalieFacingDeg": "GoalieXM", "GoalieUncertainM": "GoalieXM"}
	for i := range v.NumField() {
		name := v.Type().Field(i).Name
		if v.Field(i).Kind() != reflect.Pointer || name == "FilmMs" {
			continue
		}
		if first, second := pairs[name]; second {
			if v.FieldByName(first).IsNil() {
				v.Field(i).SetZero()
			}
		} else if rapid.Bool().Draw(r, label) {
			v.Field(i).SetZero()
		}
	}
	if f.Outcome != domain.Save {
		f.SaveBy, f.Rebound, f.Outlet = nil, nil, nil
	}
	if !f.Outcome.OnGoal() {
		f.FinishBand, f.FinishSide = nil, nil
	}
	return f
}
