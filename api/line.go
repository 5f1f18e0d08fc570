package api

import (
	"net/http"

	"github.com/gin-gonic/gin"
	openapi_types "github.com/oapi-codegen/runtime/types"

	"cagework/domain"
	"cagework/domain/summary"
	"cagework/openapi/server"
)

// linesBody is the official line of a goalie over a span: one for each code of play and level.
type linesBody struct {
	GoalieID domain.ID      `json:"goalie_id"`
	From     *domain.Date   `json:"from"`
	To       *domain.Date   `json:"to"`
	Lines    []summary.Line `json:"lines"`
}

// ListGoalieLines answers with a goalie's official lines over a span or a season.
func (s *Server) ListGoalieLines(c *gin.Context, id uuid, p server.ListGoalieLinesParams) {
	span := domain.Span{From: dayOf(p.From), To: dayOf(p.To)}
	faced, err := s.stores.Lines.Goalie(c.Request.Context(), actor(c), domain.ID(id), span, idOf(p.SeasonID))
	if err != nil {
		fail(c, err)
		return
	}
	writeJSON(c, http.StatusOK, linesBody{
		GoalieID: domain.ID(id), From: orNull(faced.From), To: orNull(faced.To), Lines: summary.Lines(faced),
	})
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
