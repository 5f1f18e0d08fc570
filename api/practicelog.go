package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListPracticeLogs answers with a page of practice logs.
func (s *Server) ListPracticeLogs(c *gin.Context, p server.ListPracticeLogsParams) {
	listOfWeek(c, s.stores.PracticeLogs, p.Limit, p.Cursor, p.Week, domain.Filter{GoalieID: idOf(p.GoalieID), TeamID: idOf(p.TeamID)})
}

// GetPracticeLog answers with one practice log.
func (s *Server) GetPracticeLog(c *gin.Context, id uuid) { get(c, s.stores.PracticeLogs, id) }

// PutPracticeLog creates or confirms a practice log.
func (s *Server) PutPracticeLog(c *gin.Context, id uuid) { put(c, s.stores.PracticeLogs, id) }

// PatchPracticeLog changes a practice log.
func (s *Server) PatchPracticeLog(c *gin.Context, id uuid, _ server.PatchPracticeLogParams) {
	patch(c, s.stores.PracticeLogs, id)
}

// RemovePracticeLog takes a practice log away.
func (s *Server) RemovePracticeLog(c *gin.Context, id uuid, _ server.RemovePracticeLogParams) {
	remove(c, s.stores.PracticeLogs, id)
}
