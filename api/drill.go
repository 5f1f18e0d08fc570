package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListDrills answers with a page of drills.
func (s *Server) ListDrills(c *gin.Context, p server.ListDrillsParams) {
	list(c, s.stores.Drills, p.Limit, p.Cursor, domain.Filter{})
}

// GetDrill answers with one drill.
func (s *Server) GetDrill(c *gin.Context, id uuid) { get(c, s.stores.Drills, id) }

// PutDrill creates or confirms a drill.
func (s *Server) PutDrill(c *gin.Context, id uuid) { put(c, s.stores.Drills, id) }

// PatchDrill changes a drill.
func (s *Server) PatchDrill(c *gin.Context, id uuid, _ server.PatchDrillParams) {
	patch(c, s.stores.Drills, id)
}

// RemoveDrill takes a drill away.
func (s *Server) RemoveDrill(c *gin.Context, id uuid, _ server.RemoveDrillParams) {
	remove(c, s.stores.Drills, id)
}
