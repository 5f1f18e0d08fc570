package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListClears answers with a page of clears.
func (s *Server) ListClears(c *gin.Context, p server.ListClearsParams) {
	listOfWeek(c, s.stores.Clears, p.Limit, p.Cursor, p.Week, domain.Filter{GameID: idOf(p.GameID), GoalieID: idOf(p.GoalieID), TeamID: idOf(p.TeamID), SeasonID: idOf(p.SeasonID)})
}

// GetClear answers with one clear.
func (s *Server) GetClear(c *gin.Context, id uuid) { get(c, s.stores.Clears, id) }

// PutClear creates or confirms a clear.
func (s *Server) PutClear(c *gin.Context, id uuid) { put(c, s.stores.Clears, id) }

// PatchClear changes a clear.
func (s *Server) PatchClear(c *gin.Context, id uuid, _ server.PatchClearParams) {
	patch(c, s.stores.Clears, id)
}

// RemoveClear takes a clear away.
func (s *Server) RemoveClear(c *gin.Context, id uuid, _ server.RemoveClearParams) {
	remove(c, s.stores.Clears, id)
}
