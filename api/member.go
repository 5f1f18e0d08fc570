package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListMembers answers with a page of members.
func (s *Server) ListMembers(c *gin.Context, p server.ListMembersParams) {
	list(c, s.stores.Members, p.Limit, p.Cursor, domain.Filter{TeamID: idOf(p.TeamID)})
}

// GetMember answers with one member.
func (s *Server) GetMember(c *gin.Context, id uuid) { get(c, s.stores.Members, id) }

// PutMember creates or confirms a member.
func (s *Server) PutMember(c *gin.Context, id uuid) { put(c, s.stores.Members, id) }

// PatchMember changes a member.
func (s *Server) PatchMember(c *gin.Context, id uuid, _ server.PatchMemberParams) {
	patch(c, s.stores.Members, id)
}

// RemoveMember takes a member away.
func (s *Server) RemoveMember(c *gin.Context, id uuid, _ server.RemoveMemberParams) {
	remove(c, s.stores.Members, id)
}
