package postgres_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// triesOf gives a goalie's count at a target among those of a week; nothing for a goalie who is not there.
func triesOf(r domain.WeekRecords, goalie, target domain.ID) (hits, tries int) {
	for _, p := range r.Peers {
		for _, c := range p.Counts {
			if p.Goalie == goalie && c.Target == target {
				return c.Hits, c.Tries
			}
		}
	}
	return 0, 0
}

// The week of one goalie counts all of the program's, those whom its reader may not read about too, and counts anew
// after a write.
func TestAWeekCountsThePeers(t *testing.T) {
	t.Parallel()
	s := newSeasoned(t)
	overall := fullTarget()
	overall.Code, overall.Of, overall.Weeks, overall.Active = "overall", []domain.Clause{{Field: "on_goal", Is: true}}, 8, true
	overall.Hit, overall.Kinds = []domain.Clause{{Field: "outcome", Is: "save"}}, []domain.GameKind{domain.KindGame}
	overall.Rates = []domain.TargetRate{{CodeOfPlay: "mens_field", Level: "high_school", Rate: .5, Source: "invented"}}
	target := made(t, s.stores.Targets, s.director, "overall", overall)
	other := made(t, s.stores.Goalies, s.director, "peer", goalieCalled("Ada"))
	shotOf := func(name, game string, goalie domain.ID, outcome domain.Outcome) {
		f := s.shotAt(3, 100, outcome)
		f.GameID, f.GoalieID = id(game), &goalie
		made(t, s.stores.Shots, s.director, name, f)
	}
	shotOf("peer saves", "game", other.ID, domain.Save)
	week := domain.WeekOf(day("2026-04-06"))
	read := func(a domain.Actor) domain.WeekRecords {
		r, err := s.stores.Weeks.Goalie(t.Context(), a, s.goalie.ID, week)
		require.NoError(t, err)
		return r
	}
	for _, a := range []domain.Actor{s.coach, s.director} {
		r := read(a)
		hits, tries := triesOf(r, s.goalie.ID, target.ID)
		require.Equal(t, []int{1, 3}, []int{hits, tries}, "of 1 March, 11 and 12 April; October is before the look-back")
		hits, tries = triesOf(r, other.ID, target.ID)
		require.Equal(t, []int{1, 1}, []int{hits, tries})
	}
	shotOf("peer lets in", "game", other.ID, domain.Goal)
	hits, tries := triesOf(read(s.coach), other.ID, target.ID)
	require.Equal(t, []int{1, 2}, []int{hits, tries}, "what was written counts at once")

	before, err := s.stores.Weeks.Goalie(t.Context(), s.coach, s.goalie.ID, domain.WeekOf(day("2026-03-02")))
	require.NoError(t, err)
	hits, tries = triesOf(before, s.goalie.ID, target.ID)
	require.Equal(t, []int{0, 1}, []int{hits, tries}, "another week counts other days")

	board, err := s.stores.Weeks.Program(t.Context(), s.coach, week)
	require.NoError(t, err)
	for _, w := range board.Weeks {
		hits, tries = triesOf(w, other.ID, target.ID)
		require.Equal(t, []int{1, 2}, []int{hits, tries})
	}

	outside := newScene(t)
	made(t, outside.stores.Targets, outside.director, "overall", overall)
	foreign, err := outside.stores.Weeks.Goalie(t.Context(), outside.director, outside.goalie.ID, week)
	require.NoError(t, err)
	require.Len(t, foreign.Peers, 1, "another program's goalies are no peers")
}
