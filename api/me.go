package api

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/domain"
)

// meBody says who the caller is and what they may see.
type meBody struct {
	MemberID  domain.ID   `json:"member_id"`
	Name      string      `json:"name"`
	Role      domain.Role `json:"role"`
	Program   meProgram   `json:"program"`
	TeamIDs   []domain.ID `json:"team_ids"`
	GoalieIDs []domain.ID `json:"goalie_ids"`
	ThisWeek  domain.Week `json:"this_week"`
}

type meProgram struct {
	ID       domain.ID    `json:"id"`
	Name     string       `json:"name"`
	TimeZone string       `json:"time_zone"`
	Units    domain.Units `json:"units"`
}

// GetMe answers with who the caller is.
func (s *Server) GetMe(c *gin.Context) {
	member, program, err := s.stores.Me.Get(c.Request.Context(), actor(c))
	if err != nil {
		fail(c, err)
		return
	}
	f := program.Fields
	writeJSON(c, http.StatusOK, meBody{
		MemberID: member.ID, Name: member.Fields.Name, Role: member.Fields.Role,
		Program: meProgram{program.ID, f.Name, f.TimeZone, f.Units},
		TeamIDs: member.Fields.TeamIDs, GoalieIDs: member.Fields.GoalieIDs, ThisWeek: program.Fields.WeekAt(s.cfg.Now()),
	})
}
