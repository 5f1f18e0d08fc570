package api

import (
	"slices"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListFits answers with a page of fits.
func (s *Server) ListFits(c *gin.Context, p server.ListFitsParams) {
	code, level := (*domain.CodeOfPlay)(p.CodeOfPlay), (*domain.Level)(p.Level)
	if code != nil && !slices.Contains(domain.CodesOfPlay, *code) {
		fail(c, badQuery("code_of_play", "is not on the list of codes"))
		return
	}
	if level != nil && !slices.Contains(domain.Levels, *level) {
		fail(c, badQuery("level", "is not on the list of codes"))
		return
	}
	list(c, s.stores.Fits, p.Limit, p.Cursor, domain.Filter{CodeOfPlay: code, Level: level})
}

// GetFit answers with one fit.
func (s *Server) GetFit(c *gin.Context, id uuid) { get(c, s.stores.Fits, id) }

// PutFit makes or confirms a fit.
func (s *Server) PutFit(c *gin.Context, id uuid) { put(c, s.stores.Fits, id) }
