package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListHabits answers with a page of habits.
func (s *Server) ListHabits(c *gin.Context, p server.ListHabitsParams) {
	list(c, s.stores.Habits, p.Limit, p.Cursor, domain.Filter{})
}

// GetHabit answers with one habit.
func (s *Server) GetHabit(c *gin.Context, id uuid) { get(c, s.stores.Habits, id) }

// PutHabit creates or confirms a habit.
func (s *Server) PutHabit(c *gin.Context, id uuid) { put(c, s.stores.Habits, id) }

// PatchHabit changes a habit.
func (s *Server) PatchHabit(c *gin.Context, id uuid, _ server.PatchHabitParams) {
	patch(c, s.stores.Habits, id)
}

// RemoveHabit takes a habit away.
func (s *Server) RemoveHabit(c *gin.Context, id uuid, _ server.RemoveHabitParams) {
	remove(c, s.stores.Habits, id)
}
