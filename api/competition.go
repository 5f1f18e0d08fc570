package api

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListCompetitions answers with a page of competitions.
func (s *Server) ListCompetitions(c *gin.Context, p server.ListCompetitionsParams) {
	list(c, s.stores.Competitions, p.Limit, p.Cursor, domain.Filter{})
}

// GetCompetition answers with one competition.
func (s *Server) GetCompetition(c *gin.Context, id uuid) { get(c, s.stores.Competitions, id) }

// PutCompetition creates or confirms a competition.
func (s *Server) PutCompetition(c *gin.Context, id uuid) { put(c, s.stores.Competitions, id) }

// PatchCompetition changes a competition.
func (s *Server) PatchCompetition(c *gin.Context, id uuid, _ server.PatchCompetitionParams) {
	patch(c, s.stores.Competitions, id)
}

// RemoveCompetition takes a competition away.
func (s *Server) RemoveCompetition(c *gin.Context, id uuid, _ server.RemoveCompetitionParams) {
	remove(c, s.stores.Competitions, id)
}

// GetCompetitionMarks answers with the marks that views of a competition's games may give by name.
func (s *Server) GetCompetitionMarks(c *gin.Context, id uuid) {
	competition, err := s.stores.Competitions.Get(c.Request.Context(), actor(c), domain.ID(id))
	if err != nil {
		fail(c, err)
		return
	}
	writeJSON(c, http.StatusOK, domain.MarksOf(competition))
}
