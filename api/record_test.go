package api_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// TestWritingOneWay walks one record through the rules of writing, as a client on a bad line would meet them.
func TestWritingOneWay(t *testing.T) {
	t.Parallel()
	s := newService(t)
	put := func(body string) answer { return s.do(call{method: http.MethodPut, path: goaliePath, body: body}) }
	patch := func(match, body string) answer {
		return s.do(call{method: http.MethodPatch, path: goaliePath, ifMatch: match, body: body})
	}

	created := put(goalieBody).want(http.StatusCreated)
	first := created.header.Get("ETag")
	require.Equal(t, goaliePath, created.header.Get("Location"))
	require.Equal(t, first, put(goalieBody).want(http.StatusOK).header.Get("ETag"), "a repeat is unchanged")
	put(`{"name":"Somebody Else","stick_hand":"right","availability":"full","allowed_drill_ids":[]}`).
		want(http.StatusConflict).wantProblem(domain.Conflict, "")

	patch("", `{"availability":"limited"}`).want(http.StatusPreconditionRequired).wantProblem(domain.PreconditionRequired, "")
	patch(`W/`+first, `{"availability":"limited"}`).want(http.StatusPreconditionFailed)
	patch(`"x"`, `{"availability":"limited"}`).want(http.StatusPreconditionFailed)
	patch(`5`, `{"availability":"limited"}`).want(http.StatusBadRequest)
	second := patch(first, `{"availability":"limited"}`).want(http.StatusOK).header.Get("ETag")
	require.NotEqual(t, first, second)
	patch(first, `{"availability":"limited"}`).want(http.StatusOK) // the lost reply's repeat: applied already
	stale := patch(first, `{"availability":"held"}`).want(http.StatusPreconditionFailed)
	require.Equal(t, second, stale.header.Get("ETag"), "the client learns the present state")
	patch(`"1", `+second, `{"age_band":"high_school"}`).want(http.StatusOK)
	patch("*", `{"age_band":null}`).want(http.StatusOK)
	patch("*", `{"availability":null}`).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/availability")
	patch("*", `{"rev":7}`).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/rev")
	patch("*", `{"Availability":"full"}`).want(http.StatusUnprocessableEntity).wantProblem(domain.Invalid, "/Availability")
	patch("*", `[]`).want(http.StatusBadRequest)
	patch("*", `null`).want(http.StatusBadRequest)

	late := put(goalieBody).want(http.StatusOK) // the very first Put arrives once more
	require.Equal(t, "limited", late.object()["availability"], "and changes nothing back")

	remove := func(match string) answer {
		return s.do(call{method: http.MethodDelete, path: goaliePath, ifMatch: match})
	}
	remove("").want(http.StatusPreconditionRequired)
	remove(first).want(http.StatusPreconditionFailed)
	remove(late.header.Get("ETag")).want(http.StatusNoContent)
	remove("*").want(http.StatusNotFound)
	put(goalieBody).want(http.StatusConflict).wantProblem(domain.Removed, "")
}

// TestPages walks a list page by page while records come and go.
func TestPages(t *testing.T) {
	t.Parallel()
	s := newService(t)
	want := map[string]bool{}
	for i := range 7 {
		id := domain.NameID(s.program, "goalie "+strconvItoa(i)).String()
		s.do(call{method: http.MethodPut, path: "/v1/goalies/" + id, body: goalieBody}).want(http.StatusCreated)
		want[id] = true
	}
	first := s.do(call{method: http.MethodGet, path: "/v1/goalies?limit=3"}).want(http.StatusOK)
	require.Contains(t, first.header.Get("Link"), `rel="next"`)
	got := map[string]bool{}
	path := "/v1/goalies?limit=3"
	for pages := 1; ; pages++ {
		a := s.do(call{method: http.MethodGet, path: path}).want(http.StatusOK)
		var page struct {
			Items []struct{ ID string }
			Next  *string `json:"next_cursor"`
		}
		a.into(&page)
		for _, item := range page.Items {
			require.False(t, got[item.ID], "seen twice")
			got[item.ID] = true
		}
		if page.Next == nil {
			require.Equal(t, 3, pages)
			break
		}
		s.do(call{method: http.MethodPut, path: "/v1/goalies/" + domain.NameID(s.program, "late "+strconvItoa(pages)).String(),
			body: goalieBody}).want(http.StatusCreated)
		path = "/v1/goalies?limit=3&cursor=" + *page.Next
	}
	for id := range want {
		require.True(t, got[id], "missed")
	}
	other := "/v1/games?cursor=" + *cursorOf(first)
	s.do(call{method: http.MethodGet, path: other}).want(http.StatusBadRequest).wantProblem(domain.Malformed, "cursor")
	s.do(call{method: http.MethodGet, path: "/v1/goalies?limit=1000"}).want(http.StatusOK) // taken as the most
}

func cursorOf(a answer) *string {
	var page struct {
		Next *string `json:"next_cursor"`
	}
	a.into(&page)
	return page.Next
}
