package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListReadings answers with a page of readings.
func (s *Server) ListReadings(c *gin.Context, p server.ListReadingsParams) {
	list(c, s.stores.Readings, p.Limit, p.Cursor, domain.Filter{GameID: idOf(p.GameID), ShotID: idOf(p.ShotID), MemberID: idOf(p.MemberID)})
}

// GetReading answers with one reading.
func (s *Server) GetReading(c *gin.Context, id uuid) { get(c, s.stores.Readings, id) }

// PutReading creates or confirms a reading.
func (s *Server) PutReading(c *gin.Context, id uuid) { put(c, s.stores.Readings, id) }

// PatchReading changes a reading.
func (s *Server) PatchReading(c *gin.Context, id uuid, _ server.PatchReadingParams) {
	patch(c, s.stores.Readings, id)
}

// RemoveReading takes a reading away.
func (s *Server) RemoveReading(c *gin.Context, id uuid, _ server.RemoveReadingParams) {
	remove(c, s.stores.Readings, id)
}
