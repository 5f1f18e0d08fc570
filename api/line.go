package api

import (
	"net/http"

	"github.com/gin-gonic/gin"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"cagework/domain"
	"cagework/domain/summary"
	"cagework/openapi/server"
)

// goalieLines are the official lines of a goalie over a span, cut as asked.
type goalieLines struct {
	GoalieID domain.ID `json:"goalie_id"`
	linesSpan
	Lines []summary.SpanLine `json:"lines"`
}

// teamLines are the official lines of a team over a span, cut as asked.
type teamLines struct {
	TeamID domain.ID `json:"team_id"`
	linesSpan
	Lines []summary.TeamLine `json:"lines"`
}

type linesSpan struct {
	From *domain.Date    `json:"from"`
	To   *domain.Date    `json:"to"`
	By   summary.LinesBy `json:"by"`
}

// ListGoalieLines answers with a goalie's official lines over a span or a season.
func (s *Server) ListGoalieLines(c *gin.Context, id uuid, p server.ListGoalieLinesParams) {
	span := domain.Span{From: dayOf(p.From), To: dayOf(p.To)}
	records, err := s.stores.Lines.Goalie(c.Request.Context(), actor(c), domain.ID(id), span, idOf(p.SeasonID))
	by, err := byOf((*string)(p.By), err)
	if err != nil {
		fail(c, err)
		return
	}
	writeJSON(c, http.StatusOK, goalieLines{domain.ID(id), spanOf(records, by), summary.GoalieLines(records, by)})
}

// ListTeamLines answers with a team's official lines over a span or a season.
func (s *Server) ListTeamLines(c *gin.Context, id uuid, p server.ListTeamLinesParams) {
	span := domain.Span{From: dayOf(p.From), To: dayOf(p.To)}
	records, err := s.stores.Lines.Team(c.Request.Context(), actor(c), domain.ID(id), span, idOf(p.SeasonID))
	by, err := byOf((*string)(p.By), err)
	if err != nil {
		fail(c, err)
		return
	}
	writeJSON(c, http.StatusOK, teamLines{domain.ID(id), spanOf(records, by), summary.TeamLines(records, by)})
}

func spanOf(r domain.LineRecords, by summary.LinesBy) linesSpan {
	return linesSpan{orNull(r.Faced.From), orNull(r.Faced.To), by}
}

// byOf reads how lines are cut; an error before goes first.
func byOf(by *string, err error) (summary.LinesBy, error) {
	if err != nil || by == nil {
		return summary.BySpan, err
	}
	switch cut := summary.LinesBy(*by); cut {
	case summary.BySpan, summary.BySeason, summary.ByGame:
		return cut, nil
	}
	return "", badQuery("by", "must be span, season or game")
}

func dayOf(d *openapi_types.Date) domain.Date {
	if d == nil {
		return domain.Date{}
	}
	return domain.DateOf(d.Time)
}

func orNull(d domain.Date) *domain.Date {
	if d.IsZero() {
		return nil
	}
	return &d
}
