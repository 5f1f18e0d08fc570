package postgres_test

import (
	"testing"

	"cagework/domain"

	"github.com/stretchr/testify/require"
)

// member makes a member of a role in a team, which is made too where it is not there, and gives who acts.
func (s *scene) member(t *testing.T, name string, role domain.Role, team string) domain.Actor {
	t.Helper()
	if _, err := s.stores.Teams.Get(t.Context(), s.director, id(team)); err != nil {
		made(t, s.stores.Teams, s.director, team, domain.TeamFields{Name: team, CompetitionID: s.competition.ID})
	}
	m := made(t, s.stores.Members, s.director, name, domain.MemberFields{
		Name: name, Role: role, TeamIDs: []domain.ID{id(team)}, GoalieIDs: []domain.ID{}})
	return domain.Actor{ProgramID: s.program.ID, MemberID: m.ID, Role: role, TeamIDs: m.Fields.TeamIDs}
}

// spell puts a goalie on a team's roster.
func (s *scene) spell(t *testing.T, a domain.Actor, name string, team, goalie domain.ID) domain.RosterSpell {
	t.Helper()
	return made(t, s.stores.RosterSpells, a, name, domain.RosterSpellFields{TeamID: team, GoalieID: goalie, FromOn: day("2026-02-01")})
}

// revs gives the revs of what an actor sees of a record's history, page by page.
func (s *scene) revs(t *testing.T, a domain.Actor, record domain.ID, limit int) []int64 {
	t.Helper()
	var revs []int64
	for after := int64(0); ; {
		page, err := s.stores.Changes.Of(t.Context(), a, record, limit, after)
		require.NoError(t, err)
		require.LessOrEqual(t, len(page.Items), limit)
		for _, c := range page.Items {
			revs = append(revs, c.Rev)
		}
		if page.Next == nil {
			return revs
		}
		require.Len(t, page.Items, limit, "only the last page may be short")
		after = *page.Next
	}
}

// undoLast undoes the last change of a record, whether the actor may read that or not.
func (s *scene) undoLast(t *testing.T, a domain.Actor, record domain.ID) error {
	t.Helper()
	rev := ask[int64](t, s.world, `SELECT max(rev) FROM changes WHERE program_id = $1 AND record_id = $2`, s.program.ID, record)
	_, err := s.stores.Changes.Undo(t.Context(), a, record, at(rev), 0)
	return err
}

// TestEachChangeBelongsToWhomTheRecordDid moves a game to and fro between two teams. A change shows what was before it.
func TestEachChangeBelongsToWhomTheRecordDid(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	coaches := []domain.Actor{s.member(t, "own coach", domain.Coach, "team"), s.member(t, "other coach", domain.Coach, "other team")}
	want, revs := make([][]int64, 2), []int64{s.game.Rev}
	want[0] = append(want[0], s.game.Rev)
	team := 0
	for round := range 9 {
		f := s.game.Fields
		f.TeamID, f.Opponent = id([]string{"team", "other team"}[(round/2)%2]), new(string(rune('a'+round)))
		game, err := s.stores.Games.Patch(t.Context(), s.director, s.game.ID, anyRev, to(f))
		require.NoError(t, err)
		want[team] = append(want[team], game.Rev)
		revs = append(revs, game.Rev)
		team = (round / 2) % 2
	}
	require.Greater(t, len(want[1]), 3)
	for _, limit := range []int{1, 2, 3, 50} {
		require.Equal(t, revs, s.revs(t, s.director, s.game.ID, limit))
		for i, coach := range coaches {
			require.Equal(t, want[i], s.revs(t, coach, s.game.ID, limit), "%d a page", limit)
		}
	}
	page, err := s.stores.Changes.Of(t.Context(), coaches[1], s.game.ID, 5, revs[len(revs)-1])
	require.NoError(t, err, "after the end there is nothing, and that is no refusal")
	require.Empty(t, page.Items)
	_, err = s.stores.Changes.Of(t.Context(), s.member(t, "third coach", domain.Coach, "third team"), s.game.ID, 5, revs[0])
	refused(t, domain.Forbidden, err)

	// The game is the first team's again. The other coach may not take back what they see, nor the own coach what was
	// changed while the game was the others'.
	require.Equal(t, 0, team)
	_, err = s.stores.Changes.Undo(t.Context(), coaches[1], s.game.ID, anyRev, want[1][0])
	refused(t, domain.Forbidden, err)
	_, err = s.stores.Changes.Undo(t.Context(), coaches[0], s.game.ID, anyRev, want[1][0])
	refused(t, domain.Forbidden, err)
	_, err = s.stores.Changes.Undo(t.Context(), coaches[0], s.game.ID, anyRev, want[0][1])
	require.NoError(t, err)
}

// TestAChangeFromBeforeBelongingWasKept goes with the record while that is there, and is the director's alone when it is not.
func TestAChangeFromBeforeBelongingWasKept(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	own, other := s.member(t, "own", domain.Recorder, "team"), s.member(t, "other", domain.Recorder, "other team")
	late := s.shot.Fields
	late.Outcome = domain.Goal
	shot, err := s.stores.Shots.Patch(t.Context(), own, s.shot.ID, anyRev, to(late))
	require.NoError(t, err)
	s.exec(t, `UPDATE changes SET of_team_ids = NULL, of_member_id = NULL`)
	require.Len(t, s.revs(t, own, shot.ID, 5), 2)
	_, err = s.stores.Changes.Of(t.Context(), other, shot.ID, 0, 0)
	refused(t, domain.Forbidden, err)
	_, err = s.stores.Changes.Undo(t.Context(), own, shot.ID, at(shot.Rev), 0)
	require.NoError(t, err)

	require.NoError(t, s.stores.Shots.Remove(t.Context(), own, shot.ID, anyRev))
	s.exec(t, `UPDATE changes SET of_team_ids = NULL, of_member_id = NULL`)
	_, err = s.stores.Changes.Of(t.Context(), own, shot.ID, 0, 0)
	refused(t, domain.Forbidden, err)
	refused(t, domain.Forbidden, s.undoLast(t, own, shot.ID))
	require.NoError(t, s.takeBack(t.Context(), s.director, shot.ID))
	require.Len(t, s.revs(t, own, shot.ID, 1), 5, "it is there again")
}

// TestAGoalieIsOfWhoMadeThemUntilTheyAreOnARoster and, once they are on none any more, of the director alone.
func TestAGoalieIsOfWhoMadeThemUntilTheyAreOnARoster(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	coach, recorder := s.member(t, "coach", domain.Coach, "team"), s.member(t, "recorder", domain.Recorder, "team")
	other := s.member(t, "other", domain.Coach, "other team")
	goalies := s.stores.Goalies
	sees := func(a domain.Actor, record domain.ID) bool {
		t.Helper()
		_, err := goalies.Get(t.Context(), a, record)
		if err != nil {
			refused(t, domain.Forbidden, err)
		}
		page, listErr := goalies.List(t.Context(), a, domain.Query{})
		require.NoError(t, listErr)
		listed := false
		for _, g := range page.Items {
			listed = listed || g.ID == record
		}
		require.Equal(t, err == nil, listed, "a list shows what one may get")
		return listed
	}
	goalie := made(t, goalies, coach, "new goalie", goalieCalled("Juno"))
	require.Equal(t, []bool{true, false, false, true}, []bool{sees(coach, goalie.ID), sees(recorder, goalie.ID), sees(other, goalie.ID), sees(s.director, goalie.ID)})
	_, _, err := s.stores.RosterSpells.Put(t.Context(), other, id("grab"), domain.RosterSpellFields{
		TeamID: id("other team"), GoalieID: goalie.ID, FromOn: day("2026-02-01")})
	refused(t, domain.Forbidden, err)
	require.NoError(t, goalies.Remove(t.Context(), coach, goalie.ID, anyRev))
	_, err = s.stores.Changes.Of(t.Context(), other, goalie.ID, 0, 0)
	refused(t, domain.Forbidden, err)
	refused(t, domain.Forbidden, s.undoLast(t, other, goalie.ID))
	require.NoError(t, s.takeBack(t.Context(), s.director, goalie.ID))
	require.True(t, sees(coach, goalie.ID), "who brings it back does not take it away")

	_, _, err = s.stores.RosterSpells.Put(t.Context(), coach, id("of nobody"), domain.RosterSpellFields{
		TeamID: s.team.ID, GoalieID: id("nobody"), FromOn: day("2026-02-01")})
	require.Equal(t, "/goalie_id", refused(t, domain.Invalid, err).Fields[0].Pointer)
	spell := s.spell(t, coach, "spell", s.team.ID, goalie.ID)
	require.True(t, sees(recorder, goalie.ID))
	require.Len(t, s.revs(t, recorder, goalie.ID, 5), 3, "what was before the first roster goes with the goalie")
	require.NoError(t, s.stores.RosterSpells.Remove(t.Context(), recorder, spell.ID, anyRev))
	require.Equal(t, []bool{false, false, false, true}, []bool{sees(coach, goalie.ID), sees(recorder, goalie.ID), sees(other, goalie.ID), sees(s.director, goalie.ID)})
	_, err = goalies.Patch(t.Context(), coach, goalie.ID, anyRev, to(goalieCalled("Wren")))
	refused(t, domain.Forbidden, err)
	for _, a := range []domain.Actor{coach, other} {
		_, _, err = s.stores.RosterSpells.Put(t.Context(), a, id("again of "+a.MemberID.String()), domain.RosterSpellFields{
			TeamID: a.TeamIDs[0], GoalieID: goalie.ID, FromOn: day("2026-02-01")})
		refused(t, domain.Forbidden, err)
	}
	refused(t, domain.Forbidden, s.undoLast(t, other, spell.ID))
	require.NoError(t, s.takeBack(t.Context(), coach, spell.ID), "a spell that was removed by mistake is its team's still")
	require.True(t, sees(recorder, goalie.ID))

	require.NoError(t, s.stores.RosterSpells.Remove(t.Context(), coach, spell.ID, anyRev))
	s.spell(t, s.director, "elsewhere", id("other team"), goalie.ID)
	refused(t, domain.Forbidden, s.undoLast(t, coach, spell.ID))
	require.Equal(t, []bool{false, true}, []bool{sees(coach, goalie.ID), sees(other, goalie.ID)})
}

// TestARemovalIsConfirmed: sent again with the state that it removed, it is done; with any other it finds nothing.
func TestARemovalIsConfirmed(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	for _, k := range s.kinds() {
		one, _, err := k.put(t.Context(), s.director, id("gone "+k.field), k.full)
		require.NoError(t, err)
		present := one.rev
		if !k.fixed {
			two, err := k.patch(t.Context(), s.director, one.id, at(one.rev), k.bare)
			require.NoError(t, err)
			present = two.rev
		}
		require.NoError(t, k.remove(t.Context(), s.director, one.id, at(present)))
		before := s.digest(t)
		require.NoError(t, k.remove(t.Context(), s.director, one.id, at(present)), k.field)
		for _, rev := range []domain.Rev{anyRev, {}, at(present - 1), at(present + 1), at(1)} {
			refused(t, domain.NotFound, k.remove(t.Context(), s.director, one.id, rev))
		}
		refused(t, domain.NotFound, k.remove(t.Context(), s.director, id("never was"), at(present)))
		require.Equal(t, before, s.digest(t))
		if k.field == "Tokens" {
			continue
		}
		require.NoError(t, s.takeBack(t.Context(), s.director, one.id))
		refused(t, domain.Stale, k.remove(t.Context(), s.director, one.id, at(present)))
	}
}

// TestAnUndoSentAgainIsConfirmed: of a change, a removal, a creation and the program, once and no more.
func TestAnUndoSentAgainIsConfirmed(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	undo := s.stores.Changes.Undo
	goalie, err := s.stores.Goalies.Patch(t.Context(), s.director, s.goalie.ID, anyRev, to(goalieCalled("Juno")))
	require.NoError(t, err)
	twice := func(record domain.ID, rev int64) domain.Undone {
		t.Helper()
		first, err := undo(t.Context(), s.director, record, at(rev), 0)
		require.NoError(t, err)
		last := s.lastRev(t, s.program.ID)
		again, err := undo(t.Context(), s.director, record, at(rev), 0)
		require.NoError(t, err)
		require.Equal(t, first, again)
		again, err = undo(t.Context(), s.director, record, anyRev, rev)
		require.NoError(t, err)
		require.Equal(t, first, again)
		require.Equal(t, last, s.lastRev(t, s.program.ID), "nothing was written")
		return first
	}
	require.Equal(t, "Wren", twice(goalie.ID, goalie.Rev).Record.(domain.Goalie).Fields.Name)
	season := made(t, s.stores.Seasons, s.director, "season", domain.SeasonFields{Name: "Spring", StartsOn: day("2026-02-01"), EndsOn: day("2026-06-30")})
	require.Nil(t, twice(season.ID, season.Rev).Record)
	removal := s.lastRev(t, s.program.ID)
	require.NotNil(t, twice(season.ID, removal).Record)
	program := s.program.Fields
	program.Name = "Another name"
	named, err := s.stores.Programs.Patch(t.Context(), s.director, anyRev, func(domain.ProgramFields) (domain.ProgramFields, error) { return program, nil })
	require.NoError(t, err)
	twice(s.program.ID, named.Rev)

	_, err = undo(t.Context(), s.director, season.ID, anyRev, 0)
	require.Equal(t, "/rev", refused(t, domain.Invalid, err).Fields[0].Pointer)
	_, err = undo(t.Context(), s.director, season.ID, domain.Rev{Of: []int64{1, 2, 3}}, 0)
	refused(t, domain.Stale, err)
	_, err = undo(t.Context(), s.director, season.ID, at(removal+1), season.Rev)
	require.NoError(t, err, "what was created is gone again")
}
