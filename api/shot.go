package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListShots answers with a page of shots.
func (s *Server) ListShots(c *gin.Context, p server.ListShotsParams) {
	listOfWeek(c, s.stores.Shots, p.Limit, p.Cursor, p.Week, domain.Filter{
		GameID: idOf(p.GameID), GoalieID: idOf(p.GoalieID), TeamID: idOf(p.TeamID), SeasonID: idOf(p.SeasonID),
		Unresolved: p.Unresolved,
	})
}

// GetShot answers with one shot.
func (s *Server) GetShot(c *gin.Context, id uuid) { get(c, s.stores.Shots, id) }

// PutShot creates or confirms a shot.
func (s *Server) PutShot(c *gin.Context, id uuid) { put(c, s.stores.Shots, id) }

// PatchShot changes a shot.
func (s *Server) PatchShot(c *gin.Context, id uuid, _ server.PatchShotParams) {
	patch(c, s.stores.Shots, id)
}

// RemoveShot takes a shot away.
func (s *Server) RemoveShot(c *gin.Context, id uuid, _ server.RemoveShotParams) {
	remove(c, s.stores.Shots, id)
}
