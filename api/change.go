package api

import (
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListChanges answers with a page of a record's history, oldest first.
func (s *Server) ListChanges(c *gin.Context, id uuid, p server.ListChangesParams) {
	var limit int
	if p.Limit != nil {
		if limit = *p.Limit; limit < 1 {
			fail(c, badQuery("limit", "must be 1 or more"))
			return
		}
	}
	var after int64
	if p.Cursor != nil {
		var err error
		if after, err = strconv.ParseInt(*p.Cursor, 36, 64); err != nil {
			fail(c, badQuery("cursor", "is not a cursor of this list and filter"))
			return
		}
	}
	page, err := s.stores.Changes.Of(c.Request.Context(), actor(c), domain.ID(id), limit, after)
	if err != nil {
		fail(c, err)
		return
	}
	if len(page.Items) > 0 {
		c.Set(accessNounKey, page.Items[0].Noun)
	}
	body := pageBody[domain.Change]{Items: page.Items}
	if page.Next != nil {
		next := strconv.FormatInt(*page.Next, 36)
		body.NextCursor = &next
		c.Header("Link", "<"+withCursor(c, next)+`>; rel="next"`)
	}
	writeJSON(c, http.StatusOK, body)
}

// undoBody says which change to take back; the last one when it is absent.
type undoBody struct {
	Rev *int64 `json:"rev"`
}

// undone is what an undo left.
type undone struct {
	Noun   domain.Noun `json:"noun"`
	Rev    int64       `json:"rev"`
	Record any         `json:"record"`
}

// UndoChange takes a change of a record back by another change.
func (s *Server) UndoChange(c *gin.Context, id uuid, _ server.UndoChangeParams) {
	last, err := ifMatch(c)
	if err != nil {
		fail(c, err)
		return
	}
	body, err := decode[undoBody](c)
	if err != nil {
		fail(c, err)
		return
	}
	var rev int64
	if body.Rev != nil {
		if rev = *body.Rev; rev < 1 {
			fail(c, domain.InvalidField("/rev", "must be 1 or more"))
			return
		}
	}
	out, err := s.stores.Changes.Undo(c.Request.Context(), actor(c), domain.ID(id), last, rev)
	if err != nil {
		fail(c, err)
		return
	}
	c.Set(accessNounKey, out.Noun)
	c.Header("ETag", etag(out.Rev))
	writeJSON(c, http.StatusOK, undone(out))
}
