package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListStints answers with a page of stints.
func (s *Server) ListStints(c *gin.Context, p server.ListStintsParams) {
	list(c, s.stores.Stints, p.Limit, p.Cursor, domain.Filter{GameID: idOf(p.GameID), GoalieID: idOf(p.GoalieID)})
}

// GetStint answers with one stint.
func (s *Server) GetStint(c *gin.Context, id uuid) { get(c, s.stores.Stints, id) }

// PutStint creates or confirms a stint.
func (s *Server) PutStint(c *gin.Context, id uuid) { put(c, s.stores.Stints, id) }

// PatchStint changes a stint.
func (s *Server) PatchStint(c *gin.Context, id uuid, _ server.PatchStintParams) {
	patch(c, s.stores.Stints, id)
}

// RemoveStint takes a stint away.
func (s *Server) RemoveStint(c *gin.Context, id uuid, _ server.RemoveStintParams) {
	remove(c, s.stores.Stints, id)
}
