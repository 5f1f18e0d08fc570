package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/api/pages"
	"cagework/domain"
	"cagework/domain/summary"
	"cagework/openapi/server"
)

// GetGoalieWeek answers with the weekly summary of a goalie, as JSON, as a page or its rates as CSV.
func (s *Server) GetGoalieWeek(c *gin.Context, id uuid, week string, _ server.GetGoalieWeekParams) {
	w, err := domain.ParseWeek(week)
	if err != nil {
		fail(c, badQuery("week", err.Error()))
		return
	}
	media, err := accepted(c, mediaJSON, mediaHTML, mediaCSV)
	if err != nil {
		fail(c, err)
		return
	}
	records, err := s.stores.Weeks.Goalie(c.Request.Context(), actor(c), domain.ID(id), w)
	if err != nil {
		fail(c, err)
		return
	}
	writeWeek(c, media, summary.OfGoalie(records), records.Program.Fields)
}

func writeWeek(c *gin.Context, media string, v summary.GoalieWeek, program domain.ProgramFields) {
	var body bytes.Buffer
	var err error
	switch media {
	case mediaHTML:
		err = pages.GoalieWeek(&body, v, program)
	case mediaCSV:
		err = summary.GoalieWeekCSV(&body, v)
	default:
		err = json.NewEncoder(&body).Encode(v)
	}
	if err != nil {
		fail(c, err)
		return
	}
	// The tag is of what is sent: a summary has no single rev, for it stands on many records.
	sum := sha256.Sum256(body.Bytes())
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	c.Header("ETag", tag)
	c.Header("Cache-Control", "private, no-cache")
	c.Header("Vary", "Authorization, Cookie, Accept")
	switch {
	case noneMatch(c, tag):
		c.Status(http.StatusNotModified)
		c.Writer.WriteHeaderNow()
	case media == mediaHTML:
		writePage(c, http.StatusOK, body.Bytes())
	case media == mediaCSV:
		c.Header("Content-Disposition", `attachment; filename="`+v.Week.String()+`.csv"`)
		c.Data(http.StatusOK, mediaCSV+"; charset=utf-8", body.Bytes())
	default:
		c.Data(http.StatusOK, mediaJSON, body.Bytes())
	}
}
