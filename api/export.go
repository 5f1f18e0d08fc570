package api

import (
	"bytes"
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

// GetGoalieExport hands over what is held on a goalie.
func (s *Server) GetGoalieExport(c *gin.Context, id uuid) {
	export(c, domain.NounGoalie, domain.ID(id), s.stores.Exports.Goalie)
}

// GetMemberExport hands over what is held on a member.
func (s *Server) GetMemberExport(c *gin.Context, id uuid) {
	export(c, domain.NounMember, domain.ID(id), s.stores.Exports.Member)
}

// export answers with a zip file. It is made whole before its first byte leaves, so that no transaction waits for a slow
// reader and a fault is an answer, not a broken file; what is kept of it meanwhile is compressed.
func export(c *gin.Context, noun domain.Noun, id domain.ID, write func(ctx, domain.Actor, domain.ID, domain.ExportSink) error) {
	var file bytes.Buffer
	z := domain.NewExportZip(&file, "What is held on "+string(noun)+" "+id.String())
	err := write(c.Request.Context(), actor(c), id, z)
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		fail(c, err)
		return
	}
	c.Header("Cache-Control", "no-store")
	c.Header("Content-Disposition", `attachment; filename="`+string(noun)+"-"+id.String()+`.zip"`)
	c.Data(http.StatusOK, "application/zip", file.Bytes())
}
