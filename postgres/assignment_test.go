package postgres_test

import (
	"encoding/json"
	"testing"

	"cagework/domain"

	"github.com/stretchr/testify/require"
)

// blockScene is a scene with a target that its game and two earlier ones have tries at: in March a save and two goals, on
// 11 April a save. The blocks of the tests are for it.
type blockScene struct {
	*scene
	target domain.Target
	early  domain.Shot // one of the goals in March
}

func newBlockScene(t *testing.T) *blockScene {
	t.Helper()
	s := &blockScene{scene: newScene(t)}
	f := bareTarget()
	f.Code, f.Active, f.Weeks, f.Kinds = "any_save", true, 6, []domain.GameKind{domain.KindGame}
	f.Of, f.Hit = []domain.Clause{{Field: "on_goal", Is: true}}, []domain.Clause{{Field: "outcome", Is: "save"}}
	f.Rates = []domain.TargetRate{{CodeOfPlay: "mens_field", Level: "high_school", Rate: .5, Source: "invented"}}
	s.target = made(t, s.stores.Targets, s.director, "any save", f)
	for i, on := range []string{"2026-03-07", "2026-03-21"} {
		game := made(t, s.stores.Games, s.director, "game "+on, s.gameOn(on))
		for n, outcome := range []domain.Outcome{domain.Goal, domain.Save}[:2-i] {
			shot := s.shotAt(1, 500+n, outcome)
			shot.GameID, shot.GoalieID = game.ID, &s.goalie.ID
			rec := made(t, s.stores.Shots, s.director, "shot "+on+string(outcome), shot)
			if outcome == domain.Goal {
				s.early = rec
			}
		}
	}
	return s
}

func (s *blockScene) block(start string) domain.AssignmentFields {
	return domain.AssignmentFields{
		GoalieID: s.goalie.ID, TargetID: s.target.ID, DrillID: s.drill.ID,
		Dose: domain.Dose{Minutes: 5, Repetitions: 10, TimesAWeek: 2}, StartsOn: day(start), Weeks: 2, Status: domain.Assigned,
	}
}

// counts gives what an assignment keeps, without what was thought of it.
func counts(t *testing.T, a domain.Assignment) []domain.BlockBaseline {
	t.Helper()
	require.NotNil(t, a.Found.Baselines)
	out := []domain.BlockBaseline{}
	for _, b := range *a.Found.Baselines {
		require.Equal(t, []int{b.Hits, b.Tries}, []int{b.Frozen.Hits, b.Frozen.Tries})
		require.NotEmpty(t, b.Frozen.Prior)
		require.NotEmpty(t, b.Frozen.Method)
		b.Frozen, b.ChanceBelow = domain.FrozenRate{}, 0
		out = append(out, b)
	}
	return out
}

func baseline(from, to string, hits, tries int) []domain.BlockBaseline {
	return []domain.BlockBaseline{{
		CodeOfPlay: "mens_field", Level: "high_school", From: day(from), To: day(to), Hits: hits, Tries: tries, TargetRate: .5,
	}}
}

func (s *blockScene) patched(t *testing.T, id domain.ID, change func(*domain.AssignmentFields)) domain.Assignment {
	t.Helper()
	rec, err := s.stores.Assignments.Patch(t.Context(), s.director, id, anyRev, func(f domain.AssignmentFields) (domain.AssignmentFields, error) {
		change(&f)
		return f, nil
	})
	require.NoError(t, err)
	return rec
}

// TestWhatWasKnownWhenABlockWasGivenStays corrects a shot, repeats the PUT, moves the block and takes that back.
func TestWhatWasKnownWhenABlockWasGivenStays(t *testing.T) {
	t.Parallel()
	s := newBlockScene(t)
	store := s.stores.Assignments
	first := made(t, store, s.director, "block", s.block("2026-03-30"))
	require.Equal(t, baseline("2026-02-16", "2026-03-29", 1, 3), counts(t, first))
	get := func() domain.Assignment {
		rec, err := store.Get(t.Context(), s.director, first.ID)
		require.NoError(t, err)
		return rec
	}
	require.Equal(t, first, get(), "it comes back as it went, to the last digit")

	save := s.early.Fields
	save.Outcome = domain.Save
	_, err := s.stores.Shots.Patch(t.Context(), s.director, s.early.ID, anyRev, to(save))
	require.NoError(t, err)
	require.Equal(t, first, get(), "a correction leaves it")
	again, how, err := store.Put(t.Context(), s.director, first.ID, s.block("2026-03-30"))
	require.NoError(t, err)
	require.Equal(t, domain.Unchanged, how)
	require.Equal(t, first, again, "a repeat leaves it")

	longer := s.patched(t, first.ID, func(f *domain.AssignmentFields) { f.Weeks, f.Status = 3, domain.Finished })
	require.Equal(t, first.Found, longer.Found, "it is the same block")
	moved := s.patched(t, first.ID, func(f *domain.AssignmentFields) { f.StartsOn = day("2026-04-13") })
	require.Equal(t, baseline("2026-03-02", "2026-04-12", 3, 4), counts(t, moved), "another start is another block")
	require.Equal(t, moved, get())

	history, err := s.stores.Changes.Of(t.Context(), s.director, first.ID, 0, 0)
	require.NoError(t, err)
	last := history.Items[len(history.Items)-1]
	var before domain.AssignmentFound
	require.NoError(t, json.Unmarshal(last.BeforeFound, &before))
	require.Equal(t, first.Found, before, "the history keeps it")
	_, err = s.stores.Changes.Undo(t.Context(), s.director, first.ID, at(moved.Rev), 0)
	require.NoError(t, err)
	require.Equal(t, first.Found, get().Found, "undo brings back what stood")

	require.NoError(t, store.Remove(t.Context(), s.director, first.ID, anyRev))
	require.NoError(t, s.takeBack(t.Context(), s.director, first.ID))
	require.Equal(t, first.Found, get().Found, "of a removed block too")
}

func TestAnotherTargetOrGoalieIsAnotherBlock(t *testing.T) {
	t.Parallel()
	s := newBlockScene(t)
	block := made(t, s.stores.Assignments, s.director, "block", s.block("2026-03-30"))
	f := s.target.Fields
	f.Code, f.Active, f.Weeks = "retired", false, 52
	retired := made(t, s.stores.Targets, s.director, "retired", f)
	other := made(t, s.stores.Goalies, s.director, "other", goalieCalled("Juno"))
	block = s.patched(t, block.ID, func(f *domain.AssignmentFields) { f.TargetID = retired.ID })
	require.Equal(t, baseline("2025-03-31", "2026-03-29", 1, 3), counts(t, block), "the whole look-back, though it is not in use")
	block = s.patched(t, block.ID, func(f *domain.AssignmentFields) { f.GoalieID = other.ID })
	require.Equal(t, &[]domain.BlockBaseline{}, block.Found.Baselines, "nothing was faced")
	unjudged := s.target.Fields
	unjudged.Code, unjudged.Rates = "unjudged", []domain.TargetRate{}
	aim := made(t, s.stores.Targets, s.director, "unjudged", unjudged)
	block = s.patched(t, block.ID, func(f *domain.AssignmentFields) { f.GoalieID, f.TargetID = s.goalie.ID, aim.ID })
	require.Equal(t, &[]domain.BlockBaseline{}, block.Found.Baselines, "no rate is to be reached")
	missing := s.block("2026-03-30")
	missing.GoalieID = id("nobody")
	_, _, err := s.stores.Assignments.Put(t.Context(), s.director, id("missing"), missing)
	require.Equal(t, "/goalie_id", refused(t, domain.Invalid, err).Fields[0].Pointer)
	missing = s.block("2026-03-30")
	missing.TargetID = id("nothing")
	_, _, err = s.stores.Assignments.Put(t.Context(), s.director, id("missing"), missing)
	require.Equal(t, "/target_id", refused(t, domain.Invalid, err).Fields[0].Pointer)
}

// TestABlockOlderThanItsBaselineHasNone: what the migration finds stays without one, also when it changes or comes back.
func TestABlockOlderThanItsBaselineHasNone(t *testing.T) {
	t.Parallel()
	s := newBlockScene(t)
	block := made(t, s.stores.Assignments, s.director, "block", s.block("2026-03-30"))
	s.exec(t, `UPDATE assignments SET baselines = NULL WHERE id = $1`, block.ID)
	block = s.patched(t, block.ID, func(f *domain.AssignmentFields) { f.Weeks = 3 })
	require.Nil(t, block.Found.Baselines)
	require.NoError(t, s.stores.Assignments.Remove(t.Context(), s.director, block.ID, anyRev))
	require.NoError(t, s.takeBack(t.Context(), s.director, block.ID))
	block, err := s.stores.Assignments.Get(t.Context(), s.director, block.ID)
	require.NoError(t, err)
	require.Nil(t, block.Found.Baselines)
}

// TestAnAssignmentIsSwappedForAnotherOfItsTarget swaps, refuses what is no swap, and keeps what a swap stands on.
func TestAnAssignmentIsSwappedForAnotherOfItsTarget(t *testing.T) {
	t.Parallel()
	s := newBlockScene(t)
	store := s.stores.Assignments
	old, next := made(t, store, s.director, "old", s.block("2026-03-30")), made(t, store, s.director, "next", s.block("2026-04-06"))
	other := made(t, s.stores.Goalies, s.director, "other", goalieCalled("Juno"))
	foreign, aside := s.block("2026-03-30"), s.block("2026-03-30")
	foreign.GoalieID = other.ID
	aside.TargetID = s.scene.target.ID
	made(t, store, s.director, "foreign", foreign)
	made(t, store, s.director, "aside", aside)
	swap := func(name string) error {
		f := old.Fields
		f.Status, f.Reason, f.SwappedForID = domain.Dropped, new("no wall"), new(id(name))
		_, err := store.Patch(t.Context(), s.director, old.ID, anyRev, to(f))
		return err
	}
	for name, why := range map[string]string{
		"old": "must name another assignment", "nothing": "there is no such assignment",
		"foreign": "is of another goalie", "aside": "is for another target",
	} {
		require.Equal(t, []domain.FieldError{{Pointer: "/swapped_for_id", Detail: why}}, refused(t, domain.Invalid, swap(name)).Fields)
	}
	_, stranger := s.another(t, "Millbrook")
	own := domain.Starter(stranger.ProgramID)
	theirs := s.block("2026-03-30")
	theirs.GoalieID = made(t, s.stores.Goalies, stranger, "their goalie", goalieCalled("Ada")).ID
	theirs.TargetID, theirs.DrillID = own.Targets[0].ID, own.Drills[0].ID
	theirs.Status, theirs.Reason, theirs.SwappedForID = domain.Dropped, new("no wall"), &next.ID
	_, _, err := store.Put(t.Context(), stranger, id("theirs"), theirs)
	require.Equal(t, "there is no such assignment", refused(t, domain.Invalid, err).Fields[0].Detail, "of another program")

	require.NoError(t, swap("next"))
	err = refused(t, domain.InUse, store.Remove(t.Context(), s.director, next.ID, anyRev))
	require.ErrorContains(t, err, "It cannot be removed: assignments stand on it.")
	for pointer, change := range map[string]func(*domain.AssignmentFields){
		"/goalie_id": func(f *domain.AssignmentFields) { f.GoalieID = other.ID },
		"/target_id": func(f *domain.AssignmentFields) { f.TargetID = aside.TargetID },
	} {
		f := next.Fields
		change(&f)
		_, err := store.Patch(t.Context(), s.director, next.ID, anyRev, to(f))
		require.Equal(t, []domain.FieldError{{Pointer: pointer, Detail: "cannot change; another assignment was swapped for this one"}},
			refused(t, domain.Invalid, err).Fields)
	}
	s.patched(t, next.ID, func(f *domain.AssignmentFields) { f.Weeks, f.StartsOn = 3, day("2026-04-13") })
	s.patched(t, old.ID, func(f *domain.AssignmentFields) { f.SwappedForID = nil })
	require.NoError(t, store.Remove(t.Context(), s.director, next.ID, anyRev))
}

func TestTheRuleThatGaveABlockStays(t *testing.T) {
	t.Parallel()
	s := newBlockScene(t)
	rule := made(t, s.stores.Rules, s.director, "rule", s.bareRule())
	f := s.block("2026-03-30")
	f.RuleID = &rule.ID
	block := made(t, s.stores.Assignments, s.director, "block", f)
	require.Equal(t, &rule.ID, block.Fields.RuleID)
	refused(t, domain.InUse, s.stores.Rules.Remove(t.Context(), s.director, rule.ID, anyRev))
	f.RuleID = new(id("nothing"))
	_, _, err := s.stores.Assignments.Put(t.Context(), s.director, id("other"), f)
	require.Equal(t, []domain.FieldError{{Pointer: "/rule_id", Detail: "there is no such rule"}}, refused(t, domain.Invalid, err).Fields)
	require.NoError(t, s.stores.Assignments.Remove(t.Context(), s.director, block.ID, anyRev))
	require.NoError(t, s.stores.Rules.Remove(t.Context(), s.director, rule.ID, anyRev))
}
