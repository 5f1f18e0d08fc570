package api

import (
	"bytes"
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/api/pages"
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

// GetMe answers with who the caller is, as JSON or as the page where those begin who have no board.
func (s *Server) GetMe(c *gin.Context) {
	media, err := accepted(c, mediaJSON, mediaHTML)
	if err != nil {
		fail(c, err)
		return
	}
	a := actor(c)
	member, program, err := s.stores.Me.Get(c.Request.Context(), a)
	if err != nil {
		fail(c, err)
		return
	}
	f := program.Fields
	c.Header("Vary", "Authorization, Cookie, Accept")
	if media == mediaHTML {
		s.mePage(c, a, pages.MeView{Name: member.Fields.Name, Role: member.Fields.Role, Program: f.Name, Week: f.WeekAt(s.cfg.Now())},
			f.DayAt(s.cfg.Now()))
		return
	}
	writeJSON(c, http.StatusOK, meBody{
		MemberID: member.ID, Name: member.Fields.Name, Role: member.Fields.Role,
		Program: meProgram{program.ID, f.Name, f.TimeZone, f.Units},
		TeamIDs: member.Fields.TeamIDs, GoalieIDs: member.Fields.GoalieIDs, ThisWeek: program.Fields.WeekAt(s.cfg.Now()),
	})
}

func (s *Server) mePage(c *gin.Context, a domain.Actor, v pages.MeView, today domain.Date) {
	sight, err := s.stores.Me.See(c.Request.Context(), a, today)
	if err != nil {
		fail(c, err)
		return
	}
	v.Teams, v.Goalies = sight.Teams, sight.Goalies
	v.Weeks = domain.ScopeOf(a.Role, domain.Read, domain.NounWeek) != domain.ScopeNone
	var body bytes.Buffer
	if err := pages.Me(&body, v); err != nil {
		fail(c, err)
		return
	}
	writePage(c, http.StatusOK, body.Bytes())
}
