package api

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// GetProgram answers with the caller's program.
func (s *Server) GetProgram(c *gin.Context) {
	program, err := s.stores.Programs.Get(c.Request.Context(), actor(c))
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("ETag", etag(program.Rev))
	writeJSON(c, http.StatusOK, program)
}

// PatchProgram changes the caller's program.
func (s *Server) PatchProgram(c *gin.Context, _ server.PatchProgramParams) {
	rev, body, err := patchRequest[domain.ProgramFields](c)
	if err != nil {
		fail(c, err)
		return
	}
	program, err := s.stores.Programs.Patch(c.Request.Context(), actor(c), rev, merge[domain.ProgramFields](body))
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("ETag", etag(program.Rev))
	writeJSON(c, http.StatusOK, program)
}
