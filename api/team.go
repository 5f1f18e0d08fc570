package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListTeams answers with a page of teams.
func (s *Server) ListTeams(c *gin.Context, p server.ListTeamsParams) {
	list(c, s.stores.Teams, p.Limit, p.Cursor, domain.Filter{})
}

// GetTeam answers with one team.
func (s *Server) GetTeam(c *gin.Context, id uuid) { get(c, s.stores.Teams, id) }

// PutTeam creates or confirms a team.
func (s *Server) PutTeam(c *gin.Context, id uuid) { put(c, s.stores.Teams, id) }

// PatchTeam changes a team.
func (s *Server) PatchTeam(c *gin.Context, id uuid, _ server.PatchTeamParams) {
	patch(c, s.stores.Teams, id)
}

// RemoveTeam takes a team away.
func (s *Server) RemoveTeam(c *gin.Context, id uuid, _ server.RemoveTeamParams) {
	remove(c, s.stores.Teams, id)
}
