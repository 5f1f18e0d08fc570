package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListGoalies answers with a page of goalies.
func (s *Server) ListGoalies(c *gin.Context, p server.ListGoaliesParams) {
	list(c, s.stores.Goalies, p.Limit, p.Cursor, domain.Filter{TeamID: idOf(p.TeamID)})
}

// GetGoalie answers with one goalie.
func (s *Server) GetGoalie(c *gin.Context, id uuid) { get(c, s.stores.Goalies, id) }

// PutGoalie creates or confirms a goalie.
func (s *Server) PutGoalie(c *gin.Context, id uuid) { put(c, s.stores.Goalies, id) }

// PatchGoalie changes a goalie.
func (s *Server) PatchGoalie(c *gin.Context, id uuid, _ server.PatchGoalieParams) {
	patch(c, s.stores.Goalies, id)
}

// RemoveGoalie takes a goalie away.
func (s *Server) RemoveGoalie(c *gin.Context, id uuid, _ server.RemoveGoalieParams) {
	remove(c, s.stores.Goalies, id)
}
