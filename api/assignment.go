package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListAssignments answers with a page of assignments.
func (s *Server) ListAssignments(c *gin.Context, p server.ListAssignmentsParams) {
	list(c, s.stores.Assignments, p.Limit, p.Cursor, domain.Filter{GoalieID: idOf(p.GoalieID), TeamID: idOf(p.TeamID)})
}

// GetAssignment answers with one assignment.
func (s *Server) GetAssignment(c *gin.Context, id uuid) { get(c, s.stores.Assignments, id) }

// PutAssignment creates or confirms a assignment.
func (s *Server) PutAssignment(c *gin.Context, id uuid) { put(c, s.stores.Assignments, id) }

// PatchAssignment changes a assignment.
func (s *Server) PatchAssignment(c *gin.Context, id uuid, _ server.PatchAssignmentParams) {
	patch(c, s.stores.Assignments, id)
}

// RemoveAssignment takes a assignment away.
func (s *Server) RemoveAssignment(c *gin.Context, id uuid, _ server.RemoveAssignmentParams) {
	remove(c, s.stores.Assignments, id)
}
