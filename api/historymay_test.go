package api_test

import (
	"fmt"
	"net/http"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
)

// crew is a program with two teams, somebody of each role in both of them, and what history is made of. The other team has a
// goalie, a game and whatever else stands on these.
type crew struct {
	*service
	tokens map[string]string // who → token
	ids    map[string]string // who → member
	teams  map[string]string // own, other → team
	game   map[string]string // own, other → game
	made   int
}

// everybody is who asks for each history.
var everybody = []string{"director", "own coach", "other coach", "own recorder", "other recorder", "colleague", "own viewer"}

func newCrew(t *testing.T) *crew {
	t.Helper()
	c := &crew{service: newService(t), tokens: map[string]string{}, ids: map[string]string{}, game: map[string]string{}}
	c.collegeSeason()
	c.teams = map[string]string{"own": idIn(teamPath), "other": c.id("other team")}
	c.put("", "/v1/teams/"+c.teams["other"], map[string]any{"name": "Others", "competition_id": idIn(competitionPath), "practice_minutes": 0})
	c.tokens["director"] = c.director
	for who, role := range map[string]domain.Role{"coach": domain.Coach, "recorder": domain.Recorder, "viewer": domain.Viewer} {
		for _, of := range []string{"own", "other"} {
			c.member(of+" "+who, role, of)
		}
	}
	c.member("colleague", domain.Recorder, "own")
	for of, team := range c.teams {
		c.game[of] = c.fresh()
		c.put("", "/v1/games/"+c.game[of], c.gameBody(team))
	}
	return c
}

func (c *crew) member(who string, role domain.Role, of string) {
	c.t.Helper()
	c.ids[who] = c.fresh()
	c.put("", "/v1/members/"+c.ids[who], map[string]any{"name": "A " + string(role), "role": role,
		"team_ids": []string{c.teams[of]}, "goalie_ids": []string{}})
	id, err := domain.ParseID(c.ids[who])
	require.NoError(c.t, err)
	c.tokens[who] = c.newToken(c.program, id)
}

// fresh gives an id that nothing has.
func (c *crew) fresh() string {
	c.made++
	return c.id(fmt.Sprint("fresh ", c.made))
}

// put makes a record and gives its path.
func (c *crew) put(token, path string, body any) string {
	c.t.Helper()
	c.do(call{method: http.MethodPut, path: path, token: token, body: body}).want(http.StatusCreated)
	return path
}

func (c *crew) remove(path string) {
	c.t.Helper()
	c.do(call{method: http.MethodDelete, path: path, ifMatch: "*"}).want(http.StatusNoContent)
}

func (c *crew) gameBody(team string) map[string]any {
	return map[string]any{"team_id": team, "competition_id": idIn(competitionPath), "played_on": "2014-02-08", "kind": "game"}
}

func (c *crew) shotBody(of string) map[string]any {
	return map[string]any{"game_id": c.game[of], "outcome": "wide", "film_ms": 1}
}

func (c *crew) goalie(token string) string {
	c.t.Helper()
	return c.put(token, "/v1/goalies/"+c.fresh(), goalieBody)
}

func (c *crew) spell(of, goalie string) string {
	c.t.Helper()
	return c.put("", "/v1/roster-spells/"+c.fresh(), map[string]any{"team_id": c.teams[of], "goalie_id": idIn(goalie), "from_on": "2014-01-01"})
}

func (c *crew) rostered(of string) string {
	c.t.Helper()
	goalie := c.goalie("")
	c.spell(of, goalie)
	return goalie
}

func (c *crew) shot(of string) string {
	c.t.Helper()
	return c.put("", "/v1/shots/"+c.fresh(), c.shotBody(of))
}

// first gives the id of the first record of a list.
func (c *crew) first(list string) string {
	c.t.Helper()
	items, _ := c.do(call{method: http.MethodGet, path: list + "?limit=1"}).object()["items"].([]any)
	require.Len(c.t, items, 1)
	record, _ := items[0].(map[string]any)
	id, _ := record["id"].(string)
	return id
}

func (c *crew) habitCode() string {
	c.t.Helper()
	code, _ := c.do(call{method: http.MethodGet, path: "/v1/habits/" + c.first("/v1/habits")}).object()["code"].(string)
	return code
}

// gone are records of the own team and of the program that were removed again: how each is made, and who may read and take
// back what.
var gone = map[string]struct {
	make        func(*crew) string
	read, write []string
	neverUndone bool
}{
	"a goalie who was on a roster": {
		make: func(c *crew) string {
			goalie := c.goalie(c.tokens["own coach"])
			c.remove(c.spell("own", goalie))
			return goalie
		}, read: []string{"director"}, write: []string{"director"},
	},
	"a goalie who was on no roster": {
		make: func(c *crew) string { return c.goalie(c.tokens["own coach"]) },
		read: []string{"director", "own coach"}, write: []string{"director", "own coach"},
	},
	"a goalie of the director's": {
		make: func(c *crew) string { return c.goalie("") },
		read: []string{"director"}, write: []string{"director"},
	},
	"a goalie's only spell": {
		make: func(c *crew) string { return c.spell("own", c.goalie("")) },
		read: ofOwn("director", "own coach", "own recorder"), write: ofOwn("director", "own coach", "own recorder"),
	},
	"a goalie's other spell": {
		make: func(c *crew) string { return c.spell("own", c.rostered("other")) },
		read: ofOwn("director", "own coach", "own recorder"), write: []string{"director"}, // the goalie is the others' now
	},
	"a game": {
		make: func(c *crew) string { return c.put("", "/v1/games/"+c.fresh(), c.gameBody(c.teams["own"])) },
		read: ofOwn("director", "own coach", "own recorder"), write: ofOwn("director", "own coach", "own recorder"),
	},
	"a shot": {
		make: func(c *crew) string { return c.shot("own") },
		read: ofOwn("director", "own coach", "own recorder"), write: ofOwn("director", "own coach", "own recorder"),
	},
	"a recorder's reading": {
		make: func(c *crew) string {
			return c.put(c.tokens["own recorder"], "/v1/readings/"+c.fresh(), map[string]any{"shot_id": idIn(c.shot("own")),
				"how_read": "film", "habits": map[string]any{c.habitCode(): "yes"}})
		}, read: []string{"director", "own coach", "own recorder"}, write: []string{"director", "own coach", "own recorder"},
	},
	"an assignment": {
		make: func(c *crew) string {
			return c.put("", "/v1/assignments/"+c.fresh(), map[string]any{"goalie_id": idIn(c.rostered("own")),
				"target_id": c.first("/v1/targets"), "drill_id": c.first("/v1/drills"), "minutes": 10, "repetitions": 10,
				"times_a_week": 2, "starts_on": "2014-02-10", "weeks": 2, "status": "assigned"})
		}, read: []string{"director", "own coach"}, write: []string{"director", "own coach"},
	},
	"a member": {
		make: func(c *crew) string {
			return c.put("", "/v1/members/"+c.fresh(), map[string]any{"name": "Ode", "role": "coach",
				"team_ids": []string{c.teams["own"]}, "goalie_ids": []string{}})
		}, read: []string{"director"}, write: []string{"director"},
	},
	"a target": {
		make: func(c *crew) string { return c.put("", "/v1/targets/"+c.fresh(), c.targetBody()) },
		read: []string{"director", "own coach", "other coach"}, write: []string{"director"},
	},
	"a season": {
		make: func(c *crew) string {
			return c.put("", "/v1/seasons/"+c.fresh(), map[string]any{"name": "2015", "starts_on": "2015-01-01", "ends_on": "2015-06-30"})
		}, read: slices.DeleteFunc(slices.Clone(everybody), func(who string) bool { return who == "own viewer" }), write: []string{"director"},
	},
	"a token": {
		make: func(c *crew) string {
			return c.put("", "/v1/tokens/"+c.fresh(), map[string]any{"member_id": c.ids["own coach"], "label": "phone", "expires_at": "2099-01-01T00:00:00Z"})
		}, read: []string{"director"}, write: []string{"director"}, neverUndone: true,
	},
}

// ofOwn adds the own team's other recorder.
func ofOwn(who ...string) []string { return append(who, "colleague") }

func (c *crew) targetBody() map[string]any {
	c.t.Helper()
	body := c.do(call{method: http.MethodGet, path: "/v1/targets/" + c.first("/v1/targets")}).object()
	delete(body, "id")
	delete(body, "rev")
	body["code"] = "code_" + c.fresh()[:6]
	return body
}

// noHistory is all that is said of the history of a record to whom nothing of it is open, whatever it is.
func (c *crew) noHistory(a answer) {
	c.t.Helper()
	var p api.Problem
	a.want(http.StatusForbidden).into(&p)
	if p.Detail != "A viewer may not read any change." && p.Detail != "A viewer may not write any change." {
		require.Equal(c.t, "Nothing of this record's history is yours.", p.Detail)
	}
}

func (c *crew) undo(who, path, match string) answer {
	c.t.Helper()
	return c.do(call{method: http.MethodPost, path: "/v1/changes/" + idIn(path) + "/undo", token: c.tokens[who], ifMatch: match, body: `{}`})
}

// TestWhoMayDoWhatWithWhatIsGone runs history, undo and a repeated removal for every role and team over what was removed.
func TestWhoMayDoWhatWithWhatIsGone(t *testing.T) {
	t.Parallel()
	c := newCrew(t)
	cases := 0
	for what, g := range gone {
		path := g.make(c)
		state := c.do(call{method: http.MethodGet, path: path}).want(http.StatusOK).header.Get("ETag")
		c.remove(path)
		removal := c.lastChange(path)
		for _, who := range everybody {
			cases += 3
			history := c.do(call{method: http.MethodGet, path: "/v1/changes/" + idIn(path), token: c.tokens[who]})
			if slices.Contains(g.read, who) {
				require.Equal(t, http.StatusOK, history.status, "history of %s by the %s: %s", what, who, history.body)
				require.Equal(t, removal, c.lastChangeSeenBy(c.tokens[who], path), "%s by the %s", what, who)
			} else {
				require.Equal(t, http.StatusForbidden, history.status, "history of %s by the %s: %s", what, who, history.body)
				c.noHistory(history)
			}
			again := c.do(call{method: http.MethodDelete, path: path, token: c.tokens[who], ifMatch: state})
			if slices.Contains(g.write, who) || what == "a goalie's other spell" && slices.Contains(g.read, who) {
				require.Equal(t, http.StatusNoContent, again.status, "repeated removal of %s by the %s: %s", what, who, again.body)
			} else {
				require.Contains(t, []int{http.StatusForbidden, http.StatusNotFound}, again.status, "repeated removal of %s by the %s", what, who)
			}
			c.do(call{method: http.MethodDelete, path: path, ifMatch: "*"}).want(http.StatusNotFound)
			if !slices.Contains(g.write, who) {
				undone := c.undo(who, path, removal)
				require.Equal(t, http.StatusForbidden, undone.status, "undo of %s by the %s: %s", what, who, undone.body)
				if what != "a goalie's other spell" {
					c.noHistory(undone)
				}
			}
		}
		require.Equal(t, removal, c.lastChange(path), "who may not has changed nothing: %s", what)
		for _, who := range g.write {
			undone := c.undo(who, path, c.lastChange(path))
			if g.neverUndone {
				undone.want(http.StatusConflict)
				continue
			}
			require.Equal(t, http.StatusOK, undone.status, "undo of %s by the %s: %s", what, who, undone.body)
			c.remove(path)
		}
	}
	require.GreaterOrEqual(t, cases, 13*7*3, "the matrix has shrunk")
}

// TestAnIDThatAnotherNounHoldsTellsNothing has every role put what it may write under the ids of the other team's records, of
// members, tokens and targets, while they are there and after: each gets the same words, and learns nothing by history or undo.
func TestAnIDThatAnotherNounHoldsTellsNothing(t *testing.T) {
	t.Parallel()
	c := newCrew(t)
	held := map[string]string{
		"goalie": c.rostered("other"), "shot": c.shot("other"), "game": c.put("", "/v1/games/"+c.fresh(), c.gameBody(c.teams["other"])),
		"roster_spell": c.spell("other", c.goalie("")), "member": gone["a member"].make(c), "token": gone["a token"].make(c),
		"target": gone["a target"].make(c),
		"reading": c.put(c.tokens["other recorder"], "/v1/readings/"+c.fresh(), map[string]any{"shot_id": idIn(c.shot("other")),
			"how_read": "film", "habits": map[string]any{c.habitCode(): "yes"}}),
	}
	for _, what := range []string{"a goalie who was on a roster", "a shot", "a member", "a token", "a target", "a game"} {
		path := gone[what].make(c)
		c.remove(path)
		held[what+", removed"] = path
	}
	attempts := map[string]struct {
		path string
		body map[string]any
		by   []string
	}{
		"shot":   {"/v1/shots/", c.shotBody("own"), []string{"director", "own coach", "own recorder"}},
		"game":   {"/v1/games/", c.gameBody(c.teams["own"]), []string{"director", "own coach", "own recorder"}},
		"goalie": {"/v1/goalies/", nil, []string{"director", "own coach"}},
		"target": {"/v1/targets/", c.targetBody(), []string{"director"}},
	}
	told := map[string]int{}
	for what, path := range held {
		for noun, try := range attempts {
			if what == noun || what == "a "+noun+", removed" || what == "a goalie who was on a roster, removed" && noun == "goalie" {
				continue
			}
			var body any = goalieBody
			if try.body != nil {
				body = try.body
			}
			for _, who := range try.by {
				before := c.history(path)
				a := c.do(call{method: http.MethodPut, path: try.path + idIn(path), token: c.tokens[who], body: body})
				require.Equal(t, http.StatusConflict, a.status, "a %s under the id of %s by the %s: %s", noun, what, who, a.body)
				require.Empty(t, a.header.Get("ETag"), "a rev tells of it")
				told[c.said(a)]++
				require.Equal(t, before, c.history(path))
				c.readsAsBefore(what, who, path)
			}
		}
		if what != "shot" && what != "a shot, removed" {
			c.batchUnder(t, path, told)
		}
	}
	require.Len(t, told, 1, "what is told depends on what holds the id: %v", told)
}

// said gives a refusal without what every answer has of its own.
func (c *crew) said(a answer) string {
	c.t.Helper()
	var p api.Problem
	a.into(&p)
	p.Instance, p.RequestID = "", ""
	return fmt.Sprintf("%+v", p)
}

// readsAsBefore asks for history and undo of an id under which somebody has just put something else.
func (c *crew) readsAsBefore(what, who, path string) {
	c.t.Helper()
	if who == "director" || what == "target" && who == "own coach" ||
		slices.Contains(gone[withoutRemoved(what)].read, who) { // it is theirs
		return
	}
	c.noHistory(c.do(call{method: http.MethodGet, path: "/v1/changes/" + idIn(path), token: c.tokens[who]}))
	c.noHistory(c.undo(who, path, c.lastChange(path)))
}

func withoutRemoved(what string) string {
	const removed = ", removed"
	if len(what) > len(removed) && what[len(what)-len(removed):] == removed {
		return what[:len(what)-len(removed)]
	}
	return ""
}

// batchUnder puts a batch in which one item is under the id.
func (c *crew) batchUnder(t *testing.T, path string, told map[string]int) {
	t.Helper()
	under, beside := c.shotBody("own"), c.shotBody("own")
	under["id"], beside["id"] = idIn(path), c.fresh()
	for _, who := range []string{"director", "own coach", "own recorder"} {
		var out batchAnswer
		c.do(call{method: http.MethodPost, path: "/v1/shots/batch", token: c.tokens[who], body: []any{under, beside}}).
			want(http.StatusMultiStatus).into(&out)
		require.Equal(t, domain.ItemConflict, out.Items[0].Status)
		require.Nil(t, out.Items[0].Rev)
		require.NotEqual(t, domain.ItemConflict, out.Items[1].Status)
		p := *out.Items[0].Problem
		p.Instance, p.RequestID = "", ""
		told[fmt.Sprintf("%+v", p)]++
	}
}

// TestAnUndoOverALossyLineIsAppliedOnce loses most replies; the client sends the same again until it has one.
func TestAnUndoOverALossyLineIsAppliedOnce(t *testing.T) {
	t.Parallel()
	s := newService(t)
	tag := s.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(201).header.Get("ETag")
	lost := 0
	// insist sends a request again after each reply that was lost.
	insist := func(replies int, c call) answer {
		for range replies {
			s.do(c)
			lost++
		}
		return s.do(c)
	}
	for round := range 30 {
		patched := s.do(call{method: http.MethodPatch, path: goaliePath, ifMatch: tag, body: fmt.Sprintf(`{"name":"Round %d"}`, round)}).want(200)
		before := len(s.history(goaliePath))
		undo := call{method: http.MethodPost, path: "/v1/changes/" + idIn(goaliePath) + "/undo", ifMatch: patched.header.Get("ETag"), body: `{}`}
		if round%3 == 1 { // any state, but a change that is named
			undo.ifMatch, undo.body = "*", `{"rev":`+undo.ifMatch[1:len(undo.ifMatch)-1]+`}`
		}
		tag = insist(round%4, undo).want(200).header.Get("ETag")
		require.Len(t, s.history(goaliePath), before+1, "round %d", round)
		now := s.do(call{method: http.MethodGet, path: goaliePath}).want(200)
		require.Equal(t, tag, now.header.Get("ETag"))
		require.NotContains(t, now.object()["name"], "Round")

		gone := call{method: http.MethodDelete, path: goaliePath, ifMatch: tag}
		insist(round%4, gone).want(204)
		require.Len(t, s.history(goaliePath), before+2)
		back := undo
		back.ifMatch, back.body = s.lastChange(goaliePath), `{}`
		tag = insist(round%4, back).want(200).header.Get("ETag")
		require.Len(t, s.history(goaliePath), before+3)
		s.do(call{method: http.MethodPost, path: undo.path, ifMatch: "*", body: `{}`}).want(422).wantProblem(domain.Invalid, "/rev")
	}
	require.Positive(t, lost)
}
