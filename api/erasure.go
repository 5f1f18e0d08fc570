package api

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// erasureAsk is the body of an erasure.
type erasureAsk struct {
	DryRun bool    `json:"dry_run"`
	Digest *string `json:"digest"`
}

// erasureAnswer says what an erasure would do, or what it did.
type erasureAnswer struct {
	DryRun    bool                  `json:"dry_run"`
	Digest    *string               `json:"digest"`
	Counts    []domain.ErasedCount  `json:"counts"`
	Elsewhere []domain.ErasedRecord `json:"elsewhere"`
	Erasure   *domain.Erasure       `json:"erasure"`
}

// EraseGoalie erases a goalie, or says what that would do.
func (s *Server) EraseGoalie(c *gin.Context, id uuid, _ server.EraseGoalieParams) {
	s.erase(c, domain.NounGoalie, domain.ID(id))
}

// EraseMember erases a member, or says what that would do.
func (s *Server) EraseMember(c *gin.Context, id uuid, _ server.EraseMemberParams) {
	s.erase(c, domain.NounMember, domain.ID(id))
}

func (s *Server) erase(c *gin.Context, noun domain.Noun, id domain.ID) {
	ask, err := decode[erasureAsk](c)
	if err != nil {
		fail(c, err)
		return
	}
	if ask.DryRun {
		s.planErasure(c, noun, id)
		return
	}
	var consent domain.ErasureConsent
	if ask.Digest != nil {
		consent.Digest = *ask.Digest
	} else if c.GetHeader("If-Match") != "" { // without either the store says what is missing
		if consent.Rev, err = ifMatch(c); err != nil {
			fail(c, err)
			return
		}
	}
	done, err := s.stores.Erasures.Erase(c.Request.Context(), actor(c), noun, id, consent)
	if err != nil {
		fail(c, err)
		return
	}
	writeJSON(c, http.StatusOK, erasureAnswer{Counts: done.Fields.Counts, Elsewhere: []domain.ErasedRecord{}, Erasure: &done})
}

func (s *Server) planErasure(c *gin.Context, noun domain.Noun, id domain.ID) {
	plan, done, err := s.stores.Erasures.Plan(c.Request.Context(), actor(c), noun, id)
	if err != nil {
		fail(c, err)
		return
	}
	answer := erasureAnswer{DryRun: true, Counts: plan.Counts, Elsewhere: plan.Elsewhere, Erasure: done}
	if done == nil {
		answer.Digest = &plan.Digest
	}
	writeJSON(c, http.StatusOK, answer)
}

// ListErasures answers with a page of receipts.
func (s *Server) ListErasures(c *gin.Context, p server.ListErasuresParams) {
	list(c, s.stores.Erasures, p.Limit, p.Cursor, domain.Filter{})
}
