package api

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi/server"
)

// GetPositioningLesson answers with what coming out does for one ball and one goalkeeper.
func (s *Server) GetPositioningLesson(c *gin.Context, p server.GetPositioningLessonParams) {
	q := domain.DefaultPositioning()
	if p.CompetitionID != nil {
		competition, err := s.stores.Competitions.Get(c.Request.Context(), actor(c), domain.ID(*p.CompetitionID))
		if domain.CodeOf(err) == domain.NotFound {
			err = domain.InvalidField("competition_id", "there is no such competition")
		}
		if err != nil {
			fail(c, err)
			return
		}
		q = q.In(competition)
	}
	given(&q.CodeOfPlay, (*domain.CodeOfPlay)(p.CodeOfPlay))
	given(&q.BallXM, p.BallXM)
	given(&q.BallYM, p.BallYM)
	given(&q.ReleaseUpM, p.ReleaseUpM)
	given(&q.SpeedMS, p.SpeedMs)
	given(&q.BodyWidthM, p.BodyWidthM)
	given(&q.BodyHeightM, p.BodyHeightM)
	given(&q.CrosseWidthM, p.CrosseWidthM)
	given(&q.CrosseHeightM, p.CrosseHeightM)
	given(&q.StickHand, (*domain.Hand)(p.StickHand))
	given(&q.ArcApexM, p.ArcApexM)
	given(&q.ArcHalfStanceM, p.ArcHalfStanceM)
	given(&q.ShadeNearM, p.ShadeNearM)
	given(&q.OutAlongBisectorM, p.OutAlongBisectorM)
	lesson, err := domain.TeachPositioning(actor(c), q)
	if err != nil {
		fail(c, err)
		return
	}
	writeJSON(c, http.StatusOK, lesson)
}

// given puts what a parameter says in the place of its default.
func given[T any](place *T, said *T) {
	if said != nil {
		*place = *said
	}
}
