package api_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// TestWhereEachRoleLands: after signing in and at the service's bare address, on a page that may be read.
func TestWhereEachRoleLands(t *testing.T) {
	t.Parallel()
	s := newService(t)
	w := &world{name: "landing", seed: s.program}
	w.build(s, everything(s.director))
	team, err := domain.ParseID(idIn(w.put["team"]))
	require.NoError(t, err)
	start := s.do(call{method: http.MethodGet, path: "/", token: "-"}).want(http.StatusSeeOther)
	require.Equal(t, "/sign-in", start.header.Get("Location"))
	for role, says := range map[domain.Role]string{
		domain.Director: "Each goalie this week", domain.Coach: "Each goalie this week",
		domain.Recorder: "You chart shots", domain.Viewer: "None has been handed out to read here yet",
	} {
		b := s.signIn(s.newMember(role, team))
		lands := b.do(call{method: http.MethodGet, path: "/"}).want(http.StatusSeeOther).header.Get("Location")
		got := b.do(call{method: http.MethodGet, path: lands, header: page}).want(http.StatusOK)
		require.Contains(t, string(got.body), says, role)
		require.Contains(t, string(got.body), `action="/sign-out"`, role)
		me := b.do(call{method: http.MethodGet, path: "/v1/me", header: page}).want(http.StatusOK)
		require.Contains(t, string(me.body), "signed in as a "+string(role))
		require.Equal(t, "same-origin", me.header.Get("Referrer-Policy"))
	}
}

// TestThePageOfAMemberNamesTheirsAlone.
func TestThePageOfAMemberNamesTheirsAlone(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	s.do(call{method: http.MethodPut, path: "/v1/goalies/" + s.id("other"),
		body: map[string]any{"name": "Juno Ashe", "stick_hand": "left", "availability": "full", "allowed_drill_ids": []string{}}}).want(http.StatusCreated)
	goalie, err := domain.ParseID(idIn(goaliePath))
	require.NoError(t, err)
	viewer, _, err := s.stores.Members.Put(t.Context(), domain.Actor{ProgramID: s.program, Role: domain.Director}, domain.ID{1}, domain.MemberFields{
		Name: "Kit", Role: domain.Viewer, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{goalie}})
	require.NoError(t, err)
	see := func(token string) string {
		return string(s.do(call{method: http.MethodGet, path: "/v1/me", token: token, header: page}).want(http.StatusOK).body)
	}
	name, _ := s.do(call{method: http.MethodGet, path: goaliePath}).object()["name"].(string)
	mine := see(s.newToken(s.program, viewer.ID))
	require.Contains(t, mine, "<li>"+name+"</li>")
	require.NotContains(t, mine, "Juno")
	team, err := domain.ParseID(idIn(teamPath))
	require.NoError(t, err)
	for _, tc := range []struct {
		teams        []domain.ID
		goalie, team bool
	}{{[]domain.ID{team}, true, true}, {nil, false, false}} {
		if tc.goalie {
			s.do(call{method: http.MethodPut, path: "/v1/roster-spells/" + s.id("spell"), body: map[string]any{
				"team_id": team, "goalie_id": goalie, "from_on": "2014-01-01"}}).want(http.StatusCreated)
		}
		got := see(s.newMember(domain.Coach, tc.teams...))
		require.Equal(t, tc.goalie, strings.Contains(got, `/weeks/`) && strings.Contains(got, name))
		require.Equal(t, tc.team, strings.Contains(got, "/v1/teams/"))
		require.NotContains(t, got, "Juno", "on no roster")
	}
	require.Contains(t, see(s.director), name)
}
