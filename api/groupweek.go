package api

import (
	"io"

	"github.com/gin-gonic/gin"

	"cagework/api/pages"
	"cagework/domain"
	"cagework/domain/summary"
	"cagework/openapi/server"
)

// GetTeamWeek answers with the weekly summary of a team, as JSON, as a page or its goalies' rates as CSV.
func (s *Server) GetTeamWeek(c *gin.Context, id uuid, week string, _ server.GetTeamWeekParams) {
	w, media, ok := askedWeek(c, week)
	if !ok {
		return
	}
	records, err := s.stores.Weeks.Team(c.Request.Context(), actor(c), domain.ID(id), w)
	if err != nil {
		fail(c, err)
		return
	}
	v := summary.OfTeam(records)
	writeWeek(c, media, "team-"+v.Week.String(), weekFaces{
		json: v,
		page: func(w io.Writer) error { return pages.TeamWeek(w, v, records.Program.Fields) },
		csv:  func(w io.Writer) error { return summary.GroupWeekCSV(w, v.GroupWeek) },
	})
}

// GetProgramWeek answers with the board, the week of every goalie whom the caller may read about.
func (s *Server) GetProgramWeek(c *gin.Context, week string, _ server.GetProgramWeekParams) {
	w, media, ok := askedWeek(c, week)
	if !ok {
		return
	}
	records, err := s.stores.Weeks.Program(c.Request.Context(), actor(c), w)
	if err != nil {
		fail(c, err)
		return
	}
	v := summary.OfProgram(records)
	writeWeek(c, media, "program-"+v.Week.String(), weekFaces{
		json: v,
		page: func(w io.Writer) error { return pages.ProgramWeek(w, v, records.Program.Fields) },
		csv:  func(w io.Writer) error { return summary.GroupWeekCSV(w, v.GroupWeek) },
	})
}
