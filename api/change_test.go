package api_test

import (
	"net/http"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// history gives a record's changes, oldest first.
func (s *service) history(path string) []domain.Change {
	s.t.Helper()
	return s.historySeenBy("", path)
}

func (s *service) historySeenBy(token, path string) []domain.Change {
	s.t.Helper()
	var page struct{ Items []domain.Change }
	s.do(call{method: http.MethodGet, path: "/v1/changes/" + idIn(path) + "?limit=200", token: token}).want(http.StatusOK).into(&page)
	return page.Items
}

// lastChange gives what If-Match wants of a record, also of a removed one.
func (s *service) lastChange(path string) string {
	s.t.Helper()
	return s.lastChangeSeenBy("", path)
}

func (s *service) lastChangeSeenBy(token, path string) string {
	s.t.Helper()
	all := s.historySeenBy(token, path)
	return `"` + strconv.FormatInt(all[len(all)-1].Rev, 10) + `"`
}

// TestHistoryAndUndo walks a goalie through changes, and back through undoing them.
func TestHistoryAndUndo(t *testing.T) {
	t.Parallel()
	s := newService(t)
	undo := func(match, body string) answer {
		return s.do(call{method: http.MethodPost, path: "/v1/changes/" + idIn(goaliePath) + "/undo", ifMatch: match, body: body})
	}
	undo("*", `{"rev":1}`).want(http.StatusNotFound)
	undo("*", `{}`).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/rev")
	first := s.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(201).header.Get("ETag")
	second := s.do(call{method: http.MethodPatch, path: goaliePath, ifMatch: first, body: `{"availability":"held"}`}).want(200).header.Get("ETag")
	undo("", `{}`).want(http.StatusPreconditionRequired)
	undo(first, `{}`).want(http.StatusPreconditionFailed)

	back := undo(second, `{}`).want(http.StatusOK)
	record, _ := back.object()["record"].(map[string]any)
	require.Equal(t, "full", record["availability"])
	require.Equal(t, back.header.Get("ETag"), s.do(call{method: http.MethodGet, path: goaliePath}).header.Get("ETag"))

	s.do(call{method: http.MethodDelete, path: goaliePath, ifMatch: "*"}).want(http.StatusNoContent)
	s.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(http.StatusConflict).wantProblem(domain.Removed, "")
	undo("*", `{}`).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/rev")
	undo(s.lastChange(goaliePath), `{}`).want(http.StatusOK)
	s.do(call{method: http.MethodGet, path: goaliePath}).want(http.StatusOK)
	s.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(http.StatusOK) // as if it had never gone

	changes := s.history(goaliePath)
	var ops []domain.ChangeOp
	for i, c := range changes {
		ops = append(ops, c.Op)
		require.NotNil(t, c.MemberID)
		if i > 0 {
			require.Greater(t, c.Rev, changes[i-1].Rev)
		}
	}
	require.Equal(t, []domain.ChangeOp{"create", "change", "change", "remove", "create"}, ops)
	require.Contains(t, string(changes[2].Before), `"held"`, "what it was before the undo")

	undo("*", `{"rev":999999}`).want(http.StatusNotFound)
	undo("*", `{"rev":0}`).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/rev")
	undo("*", `{"change":1}`).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/change")
	gone := undo(s.lastChange(goaliePath), `{}`).want(http.StatusOK) // the last change brought it back: undone, it is gone
	require.Nil(t, gone.object()["record"])
	s.do(call{method: http.MethodGet, path: goaliePath}).want(http.StatusNotFound)
}

// TestARevokedTokenStaysRevoked: no undo brings a secret back.
func TestARevokedTokenStaysRevoked(t *testing.T) {
	t.Parallel()
	s := newService(t)
	member := s.do(call{method: http.MethodGet, path: "/v1/me"}).object()["member_id"]
	path := "/v1/tokens/0195b000-0000-7000-8000-000000000009"
	s.do(call{method: http.MethodPut, path: path, body: map[string]any{"member_id": member, "label": "phone",
		"expires_at": "2099-01-01T00:00:00Z"}}).want(201)
	s.do(call{method: http.MethodDelete, path: path, ifMatch: "*"}).want(204)
	s.do(call{method: http.MethodPost, path: "/v1/changes/" + idIn(path) + "/undo", ifMatch: s.lastChange(path), body: `{}`}).want(http.StatusConflict)
	require.NotContains(t, string(s.history(path)[1].Before), "cw_")
}
