package api_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// judgedWeek is what the tests of bounds read of a goalie's week.
type judgedWeek struct {
	Method struct {
		Judgement map[string]float64
		Set       []string
		Text      string
	}
	Plays []struct {
		Rates []struct {
			Code  string
			State string
		}
	}
}

func (s *service) judged() (v judgedWeek, state string) {
	s.t.Helper()
	s.do(call{method: http.MethodGet, path: goaliePath + "/weeks/2014-W06"}).want(http.StatusOK).into(&v)
	for _, r := range v.Plays[0].Rates {
		if r.Code == "low_save" {
			state = r.State
		}
	}
	return v, state
}

func (s *service) setBounds(token, patch string) answer {
	s.t.Helper()
	return s.do(call{method: http.MethodPatch, path: "/v1/program", token: token, ifMatch: "*", body: patch})
}

// TestADirectorSetsTheBounds changes bounds of the judgement: a goalie's state follows, and the method says so.
func TestADirectorSetsTheBounds(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.lowGame()
	own, state := s.judged()
	require.Equal(t, "clear_gap", state)
	require.Empty(t, own.Method.Set)

	changed := s.setBounds("", `{"judgement":{"too_wide":0.1,"page_alarms":1.5}}`).want(http.StatusOK).object()
	set := changed["judgement"].(map[string]any)
	require.Len(t, set, len(domain.BoundList))
	require.InDelta(t, 0.1, set["too_wide"], 0)
	require.Nil(t, set["clear_gap"], "what is not set is null")
	v, state := s.judged()
	require.Equal(t, "too_few", state)
	require.Equal(t, []string{"too_wide", "page_alarms"}, v.Method.Set)
	require.InDelta(t, 0.1, v.Method.Judgement["too_wide"], 0)
	require.InDelta(t, 0.9, v.Method.Judgement["clear_gap"], 0)
	require.Contains(t, v.Method.Text, "an interval of 80 % wider than .10")
	page := s.do(call{method: http.MethodGet, path: goaliePath + "/weeks/2014-W06", header: http.Header{"Accept": {"text/html"}}}).want(http.StatusOK)
	require.Contains(t, string(page.body), "and with bounds that the program set itself")
	require.Contains(t, string(page.body), "too wide 0.1 (the service&#39;s own is 0.3)")

	s.setBounds("", `{"judgement":{"too_wide":null}}`).want(http.StatusOK)
	v, state = s.judged()
	require.Equal(t, "clear_gap", state)
	require.Equal(t, []string{"page_alarms"}, v.Method.Set)
	s.setBounds("", `{"judgement":null}`).want(http.StatusOK)
	v, _ = s.judged()
	require.Equal(t, own, v)
}

func TestBoundsThatAreRefusedAreNamed(t *testing.T) {
	t.Parallel()
	s := newService(t)
	for patch, pointer := range map[string]string{
		`{"judgement":{"clear_gap":0.4}}`:                      "/judgement/clear_gap",
		`{"judgement":{"clear_gap":0.7}}`:                      "/judgement/clear_gap",
		`{"judgement":{"leaning_below":0.95}}`:                 "/judgement/leaning_below",
		`{"judgement":{"leaning_met":0.3}}`:                    "/judgement/leaning_met",
		`{"judgement":{"clear_gap":0.95,"own_list":2}}`:        "/judgement/own_list",
		`{"judgement":{"helped":0.12345}}`:                     "/judgement/helped",
		`{"judgement":{"margin":"a little"}}`:                  "/judgement/margin",
		`{"judgement":{"interval":0.9}}`:                       "/judgement/interval",
		`{"judgement":0.9}`:                                    "/judgement",
		`{"judgement":{"board_alarms":-1,"page_alarms":1000}}`: "/judgement/board_alarms",
	} {
		s.setBounds("", patch).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, pointer)
	}
	for _, role := range []domain.Role{domain.Coach, domain.Recorder, domain.Viewer} {
		s.setBounds(s.newMember(role), `{"judgement":{"clear_gap":0.95}}`).want(http.StatusForbidden).wantProblem(domain.Forbidden, "")
	}
	program := s.do(call{method: http.MethodGet, path: "/v1/program"}).want(http.StatusOK).object()
	require.EqualValues(t, 1, program["rev"], "nothing was changed")
	me := s.do(call{method: http.MethodGet, path: "/v1/me"}).want(http.StatusOK).object()
	require.NotContains(t, me["program"], "judgement")
}

// TestABlockKeepsTheBoundOfItsDay: what a block is judged by is the bound as it stood when it was given.
func TestABlockKeepsTheBoundOfItsDay(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.lowGame()
	before, _ := s.blocks("2014-W06")
	s.do(call{method: http.MethodPut, path: "/v1/assignments/" + s.id("block"), body: before.recommended("2014-02-10")}).want(http.StatusCreated)
	s.setBounds("", `{"judgement":{"helped":0.3}}`).want(http.StatusOK)
	v, _ := s.blocks("2014-W06")
	require.InDelta(t, 0.1, v.Blocks[0].Counts[0]["help"].(map[string]any)["level"], 0)
	again := before.recommended("2014-02-17")
	s.do(call{method: http.MethodPut, path: "/v1/assignments/" + s.id("later block"), body: again}).want(http.StatusCreated)
	later := s.do(call{method: http.MethodGet, path: "/v1/assignments/" + s.id("later block")}).want(http.StatusOK).object()
	kept := later["baselines"].([]any)[0].(map[string]any)["frozen"].(map[string]any)
	require.InDelta(t, 0.3, kept["level"], 0)
}
