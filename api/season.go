package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListSeasons answers with a page of seasons.
func (s *Server) ListSeasons(c *gin.Context, p server.ListSeasonsParams) {
	list(c, s.stores.Seasons, p.Limit, p.Cursor, domain.Filter{})
}

// GetSeason answers with one season.
func (s *Server) GetSeason(c *gin.Context, id uuid) { get(c, s.stores.Seasons, id) }

// PutSeason creates or confirms a season.
func (s *Server) PutSeason(c *gin.Context, id uuid) { put(c, s.stores.Seasons, id) }

// PatchSeason changes a season.
func (s *Server) PatchSeason(c *gin.Context, id uuid, _ server.PatchSeasonParams) {
	patch(c, s.stores.Seasons, id)
}

// RemoveSeason takes a season away.
func (s *Server) RemoveSeason(c *gin.Context, id uuid, _ server.RemoveSeasonParams) {
	remove(c, s.stores.Seasons, id)
}
