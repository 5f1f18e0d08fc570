package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/api/pages"
	"cagework/domain"
	"cagework/domain/summary"
	"cagework/openapi/server"
)

// GetGoalieWeek answers with the weekly summary of a goalie, as JSON, as a page or its rates as CSV.
func (s *Server) GetGoalieWeek(c *gin.Context, id uuid, week string, _ server.GetGoalieWeekParams) {
	answerWeek(c, "", week, func(w domain.Week) (weekFaces, error) {
		records, err := s.stores.Weeks.Goalie(c.Request.Context(), actor(c), domain.ID(id), w)
		if err != nil {
			return weekFaces{}, err
		}
		v := summary.OfGoalie(records)
		return weekFaces{
			json: v,
			page: func(w io.Writer) error { return pages.GoalieWeek(w, v, records.Program.Fields) },
			csv:  func(w io.Writer) error { return summary.GoalieWeekCSV(w, v) },
		}, nil
	})
}

// weekFaces are the forms in which one summary can be had.
type weekFaces struct {
	json      any
	page, csv func(io.Writer) error
}

// answerWeek answers with the summary of the week that is asked for, in the form that is asked for. The name of its table
// begins with a prefix, so that files of different summaries do not meet.
func answerWeek(c *gin.Context, prefix, week string, work func(domain.Week) (weekFaces, error)) {
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
	faces, err := work(w)
	if err != nil {
		fail(c, err)
		return
	}
	writeWeek(c, media, prefix+w.String(), faces)
}

// writeWeek sends a summary in the form asked for, or that what the caller has still holds.
func writeWeek(c *gin.Context, media, name string, faces weekFaces) {
	var body bytes.Buffer
	var err error
	switch media {
	case mediaHTML:
		err = faces.page(&body)
	case mediaCSV:
		err = faces.csv(&body)
	default:
		err = json.NewEncoder(&body).Encode(faces.json)
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
		c.Header("Content-Disposition", `attachment; filename="`+name+`.csv"`)
		c.Data(http.StatusOK, mediaCSV+"; charset=utf-8", body.Bytes())
	default:
		c.Data(http.StatusOK, mediaJSON, body.Bytes())
	}
}
