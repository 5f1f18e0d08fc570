package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListTargets answers with a page of targets.
func (s *Server) ListTargets(c *gin.Context, p server.ListTargetsParams) {
	list(c, s.stores.Targets, p.Limit, p.Cursor, domain.Filter{})
}

// GetTarget answers with one target.
func (s *Server) GetTarget(c *gin.Context, id uuid) { get(c, s.stores.Targets, id) }

// PutTarget creates or confirms a target.
func (s *Server) PutTarget(c *gin.Context, id uuid) { put(c, s.stores.Targets, id) }

// PatchTarget changes a target.
func (s *Server) PatchTarget(c *gin.Context, id uuid, _ server.PatchTargetParams) {
	patch(c, s.stores.Targets, id)
}

// RemoveTarget takes a target away.
func (s *Server) RemoveTarget(c *gin.Context, id uuid, _ server.RemoveTargetParams) {
	remove(c, s.stores.Targets, id)
}
