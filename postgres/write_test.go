package postgres_test

import (
	"encoding/json"
	"testing"
	"time"

	"cagework/domain"

	"github.com/stretchr/testify/require"
)

// TestWritingOneWay goes through the life of a record of every kind.
func TestWritingOneWay(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	for _, k := range s.kinds() {
		t.Run(k.field, func(t *testing.T) {
			record := id("one way " + k.field)
			rows := func() int { return ask[int](t, s.world, `SELECT count(*) FROM `+k.table+` WHERE id = $1`, record) }
			last := s.lastRev(t, s.program.ID)
			one := putNew(t, s, k, record)
			require.Equal(t, last+1, one.rev)
			require.Equal(t, []string{"create"}, s.ops(t, record))

			_, _, err := k.put(t.Context(), s.director, record, k.bare)
			require.Equal(t, one.rev, refused(t, domain.Conflict, err).Rev, "other content")
			same, how, err := k.put(t.Context(), s.director, record, k.full)
			require.NoError(t, err)
			require.Equal(t, domain.Unchanged, how)
			require.Equal(t, one.rev, same.rev)
			present := one
			if !k.fixed {
				present = patchedThroughVersions(t, s, k, record, one)
			}

			err = k.remove(t.Context(), s.director, record, at(present.rev-1))
			require.Equal(t, present.rev, refused(t, domain.Stale, err).Rev)
			require.Equal(t, 1, rows())
			require.NoError(t, k.remove(t.Context(), s.director, record, at(present.rev)))
			require.Zero(t, rows())
			history := s.history(t, s.program.ID, record)
			removal := history[len(history)-1]
			require.Equal(t, "remove", removal.Op)
			requireBefore(t, present, removal)

			for _, content := range []any{k.full, k.bare} {
				_, _, err = k.put(t.Context(), s.director, record, content)
				refused(t, domain.Removed, err)
			}
			_, err = k.get(t.Context(), s.director, record)
			refused(t, domain.NotFound, err)
			refused(t, domain.NotFound, k.remove(t.Context(), s.director, record, anyRev))
			require.Len(t, s.history(t, s.program.ID, record), len(history), "a refusal leaves no trace")
			require.Equal(t, last+int64(len(history)), s.lastRev(t, s.program.ID))
		})
	}
}

func putNew(t *testing.T, s *scene, k kind, record domain.ID) row {
	t.Helper()
	one, how, err := k.put(t.Context(), s.director, record, k.full)
	require.NoError(t, err)
	require.Equal(t, domain.Created, how)
	return one
}

// patchedThroughVersions changes a record there, back and there again, and gives its last state.
func patchedThroughVersions(t *testing.T, s *scene, k kind, record domain.ID, one row) row {
	t.Helper()
	two, err := k.patch(t.Context(), s.director, record, at(one.rev), k.bare)
	require.NoError(t, err)
	require.Equal(t, one.rev+1, two.rev)
	require.Equal(t, k.bare, two.fields)

	_, err = k.patch(t.Context(), s.director, record, at(one.rev), k.full)
	require.Equal(t, two.rev, refused(t, domain.Stale, err).Rev)
	for _, rev := range []domain.Rev{at(one.rev), at(two.rev), anyRev, {}} {
		again, err := k.patch(t.Context(), s.director, record, rev, k.bare)
		require.NoError(t, err, "a patch that changes nothing has been applied already")
		require.Equal(t, two, again)
	}

	late, how, err := k.put(t.Context(), s.director, record, k.full)
	require.NoError(t, err, "a late repeat of what the record said once")
	require.Equal(t, domain.Unchanged, how)
	require.Equal(t, two, late, "it gives the present record")

	three, err := k.patch(t.Context(), s.director, record, domain.Rev{Of: []int64{99, two.rev}}, k.full)
	require.NoError(t, err)
	four, err := k.patch(t.Context(), s.director, record, anyRev, k.bare)
	require.NoError(t, err)
	history := s.history(t, s.program.ID, record)
	require.Equal(t, []string{"create", "change", "change", "change"}, s.ops(t, record))
	require.Empty(t, history[0].Before)
	for i, version := range []row{one, two, three} {
		require.Equal(t, version.rev, history[i].Rev)
		requireBefore(t, version, history[i+1])
		require.Equal(t, s.director.MemberID, *history[i].MemberID)
		require.Equal(t, k.noun, history[i].Noun)
		require.True(t, noon.Truncate(time.Microsecond).Equal(history[i].At))
	}
	require.Equal(t, four.rev, history[3].Rev)
	return four
}

// requireBefore asks that a change kept the state that a record had.
func requireBefore(t *testing.T, version row, c change) {
	t.Helper()
	fields, err := json.Marshal(version.fields)
	require.NoError(t, err)
	require.JSONEq(t, string(fields), string(c.Before))
	if token, is := version.found.(domain.TokenFound); is {
		version.found = domain.TokenFound{Hash: token.Hash}
	}
	if shot, is := version.found.(domain.ShotFound); is {
		shot.Warnings, shot.Derived = nil, nil // worked out, not stored
		version.found = shot
	}
	if view, is := version.found.(domain.ViewFound); is {
		version.found = domain.ViewFound{Places: view.Places} // the rest is worked out, not stored
	}
	if _, is := version.found.(domain.RuleFound); is {
		version.found = domain.RuleFound{}
	}
	found, err := json.Marshal(version.found)
	require.NoError(t, err)
	require.JSONEq(t, string(found), string(c.BeforeFound))
}

func TestNothingThatBreaksARuleIsWritten(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	before := s.digest(t)
	for _, k := range s.kinds() {
		_, _, err := k.put(t.Context(), s.director, domain.ID{}, k.full)
		refused(t, domain.Invalid, err)
		_, err = k.patch(t.Context(), s.director, id("nobody"), anyRev, k.full)
		refused(t, domain.NotFound, err)
	}
	_, err := s.stores.Goalies.Patch(t.Context(), s.director, s.goalie.ID, at(s.goalie.Rev), func(f domain.GoalieFields) (domain.GoalieFields, error) {
		f.StickHand = "both"
		return f, nil
	})
	require.Equal(t, "/stick_hand", refused(t, domain.Invalid, err).Fields[0].Pointer)
	boom := domain.Errorf(domain.Malformed, "boom")
	_, err = s.stores.Goalies.Patch(t.Context(), s.director, s.goalie.ID, anyRev, func(f domain.GoalieFields) (domain.GoalieFields, error) {
		return f, boom
	})
	require.ErrorIs(t, err, boom, "the patch's own error is passed on")
	require.Equal(t, before, s.digest(t))
}

// TestAPanicGivesTheConnectionBack is about a patch whose function panics: neither the connection nor a lock may be
// lost to the service.
func TestAPanicGivesTheConnectionBack(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	require.Panics(t, func() {
		_, _ = s.stores.Goalies.Patch(t.Context(), s.director, s.goalie.ID, anyRev, func(domain.GoalieFields) (domain.GoalieFields, error) {
			panic("boom")
		})
	})
	require.Zero(t, s.pool.AcquiredAfter(time.Second))
	_, err := s.stores.Goalies.Patch(t.Context(), s.director, s.goalie.ID, anyRev, func(f domain.GoalieFields) (domain.GoalieFields, error) {
		f.Name = "Wren W."
		return f, nil
	})
	require.NoError(t, err)
}

func TestAProgramIsWrittenOneWay(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	programs := w.stores.Programs
	_, _, err := programs.Create(t.Context(), w.program.ID, w.program.Fields, "Another")
	require.Equal(t, int64(1), refused(t, domain.Conflict, err).Rev)
	last := w.lastRev(t, w.program.ID)

	fields := w.program.Fields
	fields.Units = "metric"
	changed, err := programs.Patch(t.Context(), w.director, at(1), to(fields))
	require.NoError(t, err)
	require.Equal(t, last+1, changed.Rev)
	_, err = programs.Patch(t.Context(), w.director, at(1), to(w.program.Fields))
	require.Equal(t, changed.Rev, refused(t, domain.Stale, err).Rev)
	again, err := programs.Patch(t.Context(), w.director, at(1), to(fields))
	require.NoError(t, err, "it has been applied already")
	require.Equal(t, changed, again)
	fields.TimeZone = "Nowhere/Town"
	_, err = programs.Patch(t.Context(), w.director, anyRev, to(fields))
	require.Equal(t, "/time_zone", refused(t, domain.Invalid, err).Fields[0].Pointer)
	got, err := programs.Get(t.Context(), w.director)
	require.NoError(t, err)
	require.Equal(t, changed, got)

	history := w.history(t, w.program.ID, w.program.ID)
	require.Equal(t, []string{"create", "change"}, w.ops(t, w.program.ID))
	require.Nil(t, history[0].MemberID)
	require.Equal(t, w.director.MemberID, *history[1].MemberID)
	requireBefore(t, row{fields: w.program.Fields, found: nil}, change{Before: history[1].Before, BeforeFound: json.RawMessage("null")})
	require.Equal(t, last+1, w.lastRev(t, w.program.ID))
	_, _, err = programs.Create(t.Context(), id("other"), domain.ProgramFields{Name: " ", TimeZone: "UTC", Units: "yards"}, "")
	require.Len(t, refused(t, domain.Invalid, err).Fields, 2)
}
