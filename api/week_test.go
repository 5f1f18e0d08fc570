package api_test

import (
	"net/http"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

func (s *service) week(accept string) answer {
	s.t.Helper()
	return s.do(call{method: http.MethodGet, path: goaliePath + "/weeks/2014-W06", header: http.Header{"Accept": {accept}}})
}

// TestAWeekInItsFaces: one resource, chosen by Accept; and 304 while nothing has changed.
func TestAWeekInItsFaces(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	for accept, media := range map[string]string{
		"": "application/json", "*/*": "application/json", "application/json": "application/json",
		"text/html": "text/html; charset=utf-8",
		"text/html, application/xml;q=0.9, */*;q=0.8": "text/html; charset=utf-8", // as a browser asks
		"text/csv":                          "text/csv; charset=utf-8",
		"text/html;q=0.2, application/json": "application/json",
	} {
		require.Equal(t, media, s.week(accept).want(http.StatusOK).header.Get("Content-Type"), accept)
	}
	s.week("image/png").want(http.StatusNotAcceptable).wantProblem(domain.NotAcceptable, "")
	s.week("text/html;q=0, application/json;q=0").want(http.StatusNotAcceptable)

	tag := s.week("*/*").header.Get("ETag")
	again := func(tag string) answer {
		return s.do(call{method: http.MethodGet, path: goaliePath + "/weeks/2014-W06", header: http.Header{"If-None-Match": {tag}}})
	}
	require.Empty(t, again(tag).want(http.StatusNotModified).body)
	require.Equal(t, tag, again(`"other", W/`+tag).want(http.StatusNotModified).header.Get("ETag"))
	s.postGame(0, 3600, 3, 2)
	again(tag).want(http.StatusOK)
}

// TestTheBoardAndATeamsWeek: the goalies on the rosters of a week, whose shots those are, and what is not charted.
func TestTheBoardAndATeamsWeek(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	s.postGame(0, 3600, 3, 2)
	var stray struct{ Goalies []any }
	s.do(call{method: http.MethodGet, path: "/v1/program/weeks/2014-W06"}).want(http.StatusOK).into(&stray)
	require.Len(t, stray.Goalies, 1, "who is on no roster but faced shots is not lost")
	spell := func(name, goalie, from string) {
		s.do(call{method: http.MethodPut, path: "/v1/roster-spells/" + s.id(name), body: map[string]any{
			"team_id": idIn(teamPath), "goalie_id": goalie, "from_on": from, "to_on": nil}}).want(201)
	}
	late := s.id("late")
	s.do(call{method: http.MethodPut, path: "/v1/goalies/" + late, body: `{"name":"Zed Late","stick_hand":"left","availability":"held","allowed_drill_ids":[]}`}).want(201)
	spell("late spell", late, "2014-02-10")
	spell("spell", idIn(goaliePath), "2014-01-01")
	empty := s.game("not charted", "2014-02-09")

	type board struct {
		Teams   []map[string]any
		Goalies []struct {
			Goalie  map[string]any
			Charted map[string]any
			Plays   []any
		}
		NotCharted []map[string]any `json:"not_charted"`
	}
	read := func(path string) board {
		var v board
		s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).into(&v)
		return v
	}
	v := read("/v1/program/weeks/2014-W06")
	require.Len(t, v.Teams, 1)
	require.Len(t, v.Goalies, 1, "the other's spell begins in the week after")
	require.Equal(t, idIn(goaliePath), v.Goalies[0].Goalie["id"])
	require.EqualValues(t, 2, v.Goalies[0].Charted["team_games"])
	require.EqualValues(t, 10, v.Goalies[0].Charted["shots"])
	require.Equal(t, "2014-02-08", v.Goalies[0].Charted["last_shot_on"])
	require.Len(t, v.Goalies[0].Plays, 1)
	require.Equal(t, empty, v.NotCharted[0]["game_id"])
	require.Len(t, read("/v1/program/weeks/2014-W07").Goalies, 2)
	require.Equal(t, v.Goalies, read(teamPath+"/weeks/2014-W06").Goalies)

	for path, holds := range map[string]string{
		"/v1/program/weeks/2014-W07": "Limited or held", teamPath + "/weeks/2014-W07": "Zed Late",
	} {
		face := func(accept string) answer {
			return s.do(call{method: http.MethodGet, path: path, header: http.Header{"Accept": {accept}}}).want(http.StatusOK)
		}
		require.Contains(t, string(face("text/html").body), holds)
		table := face("text/csv")
		require.Contains(t, table.header.Get("Content-Disposition"), "2014-W07.csv")
		require.True(t, strings.HasPrefix(string(table.body), "goalie_id,goalie,teams,availability,code,"))
	}
	s.do(call{method: http.MethodGet, path: "/v1/program/weeks/2014-W60"}).want(http.StatusBadRequest)
	s.do(call{method: http.MethodGet, path: "/v1/teams/" + s.id("none") + "/weeks/2014-W06"}).want(http.StatusNotFound)
}
