package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListTokens answers with a page of tokens.
func (s *Server) ListTokens(c *gin.Context, p server.ListTokensParams) {
	list(c, s.stores.Tokens, p.Limit, p.Cursor, domain.Filter{MemberID: idOf(p.MemberID)})
}

// GetToken answers with one token.
func (s *Server) GetToken(c *gin.Context, id uuid) { get(c, s.stores.Tokens, id) }

// PutToken creates or confirms a token.
func (s *Server) PutToken(c *gin.Context, id uuid) { put(c, s.stores.Tokens, id) }

// RemoveToken takes a token away.
func (s *Server) RemoveToken(c *gin.Context, id uuid, _ server.RemoveTokenParams) {
	remove(c, s.stores.Tokens, id)
}
