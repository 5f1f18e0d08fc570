package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListRules answers with a page of rules.
func (s *Server) ListRules(c *gin.Context, p server.ListRulesParams) {
	list(c, s.stores.Rules, p.Limit, p.Cursor, domain.Filter{})
}

// GetRule answers with one rule.
func (s *Server) GetRule(c *gin.Context, id uuid) { get(c, s.stores.Rules, id) }

// PutRule creates or confirms a rule.
func (s *Server) PutRule(c *gin.Context, id uuid) { put(c, s.stores.Rules, id) }

// PatchRule changes a rule.
func (s *Server) PatchRule(c *gin.Context, id uuid, _ server.PatchRuleParams) {
	patch(c, s.stores.Rules, id)
}

// RemoveRule takes a rule away.
func (s *Server) RemoveRule(c *gin.Context, id uuid, _ server.RemoveRuleParams) {
	remove(c, s.stores.Rules, id)
}
