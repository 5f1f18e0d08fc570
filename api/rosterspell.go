package api

import (
	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// ListRosterSpells answers with a page of roster spells.
func (s *Server) ListRosterSpells(c *gin.Context, p server.ListRosterSpellsParams) {
	list(c, s.stores.RosterSpells, p.Limit, p.Cursor, domain.Filter{TeamID: idOf(p.TeamID), GoalieID: idOf(p.GoalieID)})
}

// GetRosterSpell answers with one roster spell.
func (s *Server) GetRosterSpell(c *gin.Context, id uuid) { get(c, s.stores.RosterSpells, id) }

// PutRosterSpell creates or confirms a roster spell.
func (s *Server) PutRosterSpell(c *gin.Context, id uuid) { put(c, s.stores.RosterSpells, id) }

// PatchRosterSpell changes a roster spell.
func (s *Server) PatchRosterSpell(c *gin.Context, id uuid, _ server.PatchRosterSpellParams) {
	patch(c, s.stores.RosterSpells, id)
}

// RemoveRosterSpell takes a roster spell away.
func (s *Server) RemoveRosterSpell(c *gin.Context, id uuid, _ server.RemoveRosterSpellParams) {
	remove(c, s.stores.RosterSpells, id)
}
