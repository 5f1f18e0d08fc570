package postgres_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// listed walks a list page by page and gives the ids.
func listed(t *testing.T, k kind, a domain.Actor, q domain.Query) []domain.ID {
	t.Helper()
	ids := []domain.ID{}
	for {
		rows, next, err := k.list(t.Context(), a, q)
		require.NoError(t, err)
		for _, r := range rows {
			ids = append(ids, r.id)
		}
		if next == nil {
			return ids
		}
		require.Len(t, rows, q.Limit, "only the last page is short")
		require.Equal(t, rows[len(rows)-1].id, *next)
		q.After = next
	}
}

func TestAListIsPagedInTheOrderOfIDs(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	want := []domain.ID{s.goalie.ID}
	for i := range 11 {
		goalie := made(t, s.stores.Goalies, s.director, fmt.Sprint("goalie ", i), goalieCalled("Wren"))
		want = append(want, goalie.ID)
	}
	slices.SortFunc(want, func(a, b domain.ID) int { return strings.Compare(a.String(), b.String()) })
	for _, k := range s.kinds() {
		if k.field != "Goalies" {
			continue
		}
		for _, limit := range []int{1, 4, 5, 11, 12, domain.MaxLimit} {
			require.Equal(t, want, listed(t, k, s.director, domain.Query{Limit: limit}), "by %d", limit)
		}
	}
	page, err := s.stores.Goalies.List(t.Context(), s.director, domain.Query{Limit: 1_000_000})
	require.NoError(t, err)
	require.Len(t, page.Items, 12, "more than is allowed gives what is allowed")
	page, err = s.stores.Goalies.List(t.Context(), s.director, domain.Query{After: &want[11]})
	require.NoError(t, err)
	require.NotNil(t, page.Items, "an empty list, not none")
	require.Empty(t, page.Items)
}

// TestAListHoldsWhatTheActorMayRead compares each list with what the actor gets one by one, for every role and kind.
func TestAListHoldsWhatTheActorMayRead(t *testing.T) {
	t.Parallel()
	s, rows, _ := peopled(t)
	other := made(t, s.stores.Teams, s.director, "other team", domain.TeamFields{Name: "B", CompetitionID: s.competition.ID})
	for _, role := range domain.Roles {
		for name, teams := range map[string][]domain.ID{"own": {s.team.ID}, "other": {other.ID}, "none": {}} {
			a := domain.Actor{ProgramID: s.program.ID, MemberID: id("somebody"), Role: role, TeamIDs: teams}
			for _, k := range s.kinds() {
				_, err := k.get(t.Context(), a, rows[k.field].id)
				if domain.ScopeOf(role, domain.Read, k.noun) == domain.ScopeNone {
					refused(t, domain.Forbidden, err)
					_, _, err := k.list(t.Context(), a, domain.Query{})
					refused(t, domain.Forbidden, err)
					continue
				}
				all := listed(t, k, a, domain.Query{Limit: domain.MaxLimit})
				if err == nil {
					require.Contains(t, all, rows[k.field].id, "%s %s %s", role, name, k.field)
				} else {
					refused(t, domain.Forbidden, err)
					require.NotContains(t, all, rows[k.field].id, "%s %s %s", role, name, k.field)
				}
				for _, one := range all {
					_, err := k.get(t.Context(), a, one)
					require.NoError(t, err, "%s %s %s is listed but cannot be read", role, name, k.field)
				}
			}
		}
	}
}

func TestFiltersNarrow(t *testing.T) {
	t.Parallel()
	s, rows, _ := peopled(t)
	yes := map[string]domain.Filter{
		"Tokens": {MemberID: &s.director.MemberID}, "Goalies": {TeamID: &s.team.ID}, "RosterSpells": {TeamID: &s.team.ID, GoalieID: &s.goalie.ID},
		"Games": {TeamID: &s.team.ID}, "Stints": {GameID: &s.game.ID}, "Shots": {GameID: &s.game.ID, GoalieID: &s.goalie.ID},
		"Readings": {GameID: &s.game.ID, MemberID: &s.director.MemberID},
	}
	for _, k := range s.kinds() {
		filter, takes := yes[k.field]
		if !takes {
			continue
		}
		ids := listed(t, k, s.director, domain.Query{Limit: 1, Filter: filter})
		if k.field == "Goalies" {
			require.Equal(t, []domain.ID{s.goalie.ID}, ids, "the other is in no team")
		} else {
			require.Contains(t, ids, rows[k.field].id, k.field)
		}
		for _, broken := range []func(*domain.Filter){
			func(f *domain.Filter) { f.TeamID = breakIf(f.TeamID) }, func(f *domain.Filter) { f.GoalieID = breakIf(f.GoalieID) },
			func(f *domain.Filter) { f.GameID = breakIf(f.GameID) }, func(f *domain.Filter) { f.MemberID = breakIf(f.MemberID) },
		} {
			other := filter
			if broken(&other); other != filter {
				_, _, err := k.list(t.Context(), s.director, domain.Query{Filter: other})
				require.Contains(t, refused(t, domain.Invalid, err).Fields[0].Pointer, "_id", k.field)
			}
		}
	}
}

// breakIf makes a filter that is there name nothing.
func breakIf(id *domain.ID) *domain.ID {
	if id == nil {
		return nil
	}
	return &domain.ID{1}
}
