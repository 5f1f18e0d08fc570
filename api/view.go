package api

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListViews answers with a page of views.
func (s *Server) ListViews(c *gin.Context, p server.ListViewsParams) {
	listOfWeek(c, s.stores.Views, p.Limit, p.Cursor, p.Week, domain.Filter{GameID: idOf(p.GameID), TeamID: idOf(p.TeamID), SeasonID: idOf(p.SeasonID)})
}

// GetView answers with one view.
func (s *Server) GetView(c *gin.Context, id uuid) { get(c, s.stores.Views, id) }

// PutView creates or confirms a view.
func (s *Server) PutView(c *gin.Context, id uuid) { put(c, s.stores.Views, id) }

// PatchView changes a view.
func (s *Server) PatchView(c *gin.Context, id uuid, _ server.PatchViewParams) {
	patch(c, s.stores.Views, id)
}

// RemoveView takes a view away.
func (s *Server) RemoveView(c *gin.Context, id uuid, _ server.RemoveViewParams) {
	remove(c, s.stores.Views, id)
}

// MapClicks maps clicks by a view.
func (s *Server) MapClicks(c *gin.Context, id uuid) {
	clicks, err := decode[domain.Clicks](c)
	if err == nil {
		err = domain.Refusal(clicks.Check())
	}
	if err != nil {
		fail(c, err)
		return
	}
	view, err := s.stores.Views.Get(c.Request.Context(), actor(c), domain.ID(id))
	if err != nil {
		fail(c, err)
		return
	}
	mapped, err := domain.MapClicks(view, clicks.Clicks)
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("ETag", etag(view.Rev))
	writeJSON(c, http.StatusOK, mapped)
}
