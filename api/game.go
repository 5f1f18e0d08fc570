package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListGames answers with a page of games.
func (s *Server) ListGames(c *gin.Context, p server.ListGamesParams) {
	listOfWeek(c, s.stores.Games, p.Limit, p.Cursor, p.Week, domain.Filter{
		TeamID: idOf(p.TeamID), GoalieID: idOf(p.GoalieID), SeasonID: idOf(p.SeasonID),
	})
}

// GetGame answers with one game.
func (s *Server) GetGame(c *gin.Context, id uuid) { get(c, s.stores.Games, id) }

// PutGame creates or confirms a game.
func (s *Server) PutGame(c *gin.Context, id uuid) { put(c, s.stores.Games, id) }

// PatchGame changes a game.
func (s *Server) PatchGame(c *gin.Context, id uuid, _ server.PatchGameParams) {
	patch(c, s.stores.Games, id)
}

// RemoveGame takes a game away.
func (s *Server) RemoveGame(c *gin.Context, id uuid, _ server.RemoveGameParams) {
	remove(c, s.stores.Games, id)
}
