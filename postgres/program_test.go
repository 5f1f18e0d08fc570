package postgres_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// TestAProgramKeepsItsBounds: what is set comes back as it was set, changes are recorded and can be taken back, and what a
// program sets reaches its weeks, its boards and what is kept of a block, and nobody else's.
func TestAProgramKeepsItsBounds(t *testing.T) {
	t.Parallel()
	s := newSeasoned(t)
	programs, unset := s.stores.Programs, s.program
	require.Equal(t, domain.JudgementSettings{}, unset.Fields.Judgement)
	require.Empty(t, ask[string](t, s.world, `SELECT coalesce(string_agg(key, ','), '') FROM programs, jsonb_each(judgement)
		WHERE id = $1 AND value <> 'null'`, s.program.ID))
	before, err := programs.Get(t.Context(), s.director)
	require.NoError(t, err)
	require.Equal(t, unset.Fields, before.Fields)

	set := before.Fields
	set.Judgement = domain.JudgementSettings{ClearGap: new(0.95), Margin: new(0.0), Helped: new(0.123), BoardAlarms: new(7.5)}
	changed, err := programs.Patch(t.Context(), s.director, at(before.Rev), to(set))
	require.NoError(t, err)
	got, err := programs.Get(t.Context(), s.director)
	require.NoError(t, err)
	require.Equal(t, changed, got)
	require.Equal(t, set, got.Fields)

	bad := set
	bad.Judgement.LeaningBelow = new(0.96)
	_, err = programs.Patch(t.Context(), s.director, anyRev, to(bad))
	require.Equal(t, "/judgement/clear_gap", refused(t, domain.Invalid, err).Fields[0].Pointer)
	_, err = programs.Patch(t.Context(), s.coach, anyRev, to(before.Fields))
	refused(t, domain.Forbidden, err)

	week := domain.WeekOf(day("2026-04-11"))
	goalie, err := s.stores.Weeks.Goalie(t.Context(), s.director, s.goalie.ID, week)
	require.NoError(t, err)
	team, err := s.stores.Weeks.Team(t.Context(), s.director, s.team.ID, week)
	require.NoError(t, err)
	board, err := s.stores.Weeks.Program(t.Context(), s.director, week)
	require.NoError(t, err)
	require.NotEmpty(t, board.Weeks)
	for _, fields := range []domain.ProgramFields{goalie.Program.Fields, team.Program.Fields, board.Program.Fields, board.Weeks[0].Program.Fields} {
		require.Equal(t, set.Judgement, fields.Judgement)
	}
	other, elsewhere := s.world.another(t, "Elsewhere")
	got, err = programs.Get(t.Context(), elsewhere)
	require.NoError(t, err)
	require.Equal(t, other.Fields, got.Fields)
	require.Empty(t, got.Fields.Judgement.Set())

	undone, err := s.stores.Changes.Undo(t.Context(), s.director, s.program.ID, at(changed.Rev), changed.Rev)
	require.NoError(t, err)
	require.Equal(t, before.Fields, undone.Record.(domain.Program).Fields, "what was set afterwards is gone with it")
	again, err := s.stores.Changes.Undo(t.Context(), s.director, s.program.ID, at(undone.Rev), undone.Rev)
	require.NoError(t, err)
	require.Equal(t, set, again.Record.(domain.Program).Fields)
}

// TestAProgramOfOldHasNoBounds: a change from before programs had bounds is taken back to a program that sets none.
func TestAProgramOfOldHasNoBounds(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	set := w.program.Fields
	set.Name, set.Judgement = "Renamed", domain.JudgementSettings{ClearGap: new(0.95)}
	changed, err := w.stores.Programs.Patch(t.Context(), w.director, anyRev, to(set))
	require.NoError(t, err)
	w.exec(t, `UPDATE changes SET before = before - 'judgement' WHERE program_id = $1 AND rev = $2`, w.program.ID, changed.Rev)
	w.exec(t, `UPDATE programs SET judgement = '{"clear_gap": 0.95}' WHERE id = $1`, w.program.ID)
	got, err := w.stores.Programs.Get(t.Context(), w.director)
	require.NoError(t, err)
	require.Equal(t, set, got.Fields, "what the row does not name is not set")
	undone, err := w.stores.Changes.Undo(t.Context(), w.director, w.program.ID, at(changed.Rev), 0)
	require.NoError(t, err)
	require.Equal(t, w.program.Fields, undone.Record.(domain.Program).Fields)
	require.Equal(t, changed.Rev+1, undone.Rev)
}
