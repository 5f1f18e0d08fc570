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
	answerWeek(c, "team-", week, func(w domain.Week) (weekFaces, error) {
		records, err := s.stores.Weeks.Team(c.Request.Context(), actor(c), domain.ID(id), w)
		if err != nil {
			return weekFaces{}, err
		}
		v := summary.OfTeam(records)
		return groupFaces(v, v.GroupWeek, func(w io.Writer) error { return pages.TeamWeek(w, v, records.Program.Fields) }), nil
	})
}

// GetProgramWeek answers with the board, the week of every goalie whom the caller may read about.
func (s *Server) GetProgramWeek(c *gin.Context, week string, _ server.GetProgramWeekParams) {
	answerWeek(c, "program-", week, func(w domain.Week) (weekFaces, error) {
		records, err := s.stores.Weeks.Program(c.Request.Context(), actor(c), w)
		if err != nil {
			return weekFaces{}, err
		}
		v := summary.OfProgram(records)
		return groupFaces(v, v.GroupWeek, func(w io.Writer) error { return pages.ProgramWeek(w, v, records.Program.Fields) }), nil
	})
}

// groupFaces gives the forms of a team's or program's week; what they have in common makes the table.
func groupFaces(v any, group summary.GroupWeek, page func(io.Writer) error) weekFaces {
	return weekFaces{json: v, page: page, csv: func(w io.Writer) error { return summary.GroupWeekCSV(w, group) }}
}
