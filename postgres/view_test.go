package postgres_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// bareView is the opening of the goal, from its corners.
func (s *scene) bareView() domain.ViewFields {
	corner := func(name string, u, v, x, up float64) domain.ViewMark {
		return domain.ViewMark{Name: name, UPx: u, VPx: v, XM: &x, UpM: &up}
	}
	return domain.ViewFields{
		GameID: s.game.ID, Name: "é", Plane: domain.GoalPlane, WidthPx: 640, HeightPx: 480, PixelErrorPx: .1,
		Marks: []domain.ViewMark{
			corner("left post's foot", 400, 300, -.915, 0), corner("right post's foot", 200, 310, .915, 0),
			corner("right upper corner", 202, 105, .915, 1.83), corner("left upper corner", 398, 110, -.915, 1.83),
		},
	}
}

// fullView is the ground, from marks that are all that a mark can be, and one by its name alone.
func (s *scene) fullView() domain.ViewFields {
	v := domain.ViewFields{
		GameID: s.game.ID, Name: "Press box", Plane: domain.GroundPlane, FromFilmMs: new(0), ToFilmMs: new(domain.MaxFilm),
		WidthPx: 3840, HeightPx: 2160, PixelErrorPx: 1.25,
	}
	for _, m := range [][4]float64{{1000, 500, -5, 20}, {3000, 480, 15, 20}, {3500, 1800, 12, -8}, {300, 1900, -8, -8}, {1700, 1200, 0.1, 2.74}} {
		name := string(rune('a' + len(v.Marks)))
		v.Marks = append(v.Marks, domain.ViewMark{Name: name, UPx: m[0], VPx: m[1], XM: new(m[2]), YM: new(m[3]),
			PixelErrorPx: new(50.), PlaceErrorM: new(.333)})
	}
	v.Marks = append(v.Marks, domain.ViewMark{Name: "post_right", UPx: 1850, VPx: 1330, PixelErrorPx: new(50.)})
	return v
}

func TestAViewIsOfItsGame(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	made(t, s.stores.Games, s.director, "other game", s.gameOn("2026-04-18"))
	view := made(t, s.stores.Views, s.director, "view", s.fullView())
	require.Len(t, view.Found.ResidualsPx, 6)

	moved := s.fullView()
	moved.GameID = id("other game")
	_, err := s.stores.Views.Patch(t.Context(), s.director, view.ID, anyRev, to(moved))
	require.Equal(t, "/game_id", refused(t, domain.Invalid, err).Fields[0].Pointer)

	nowhere := s.fullView()
	nowhere.GameID = id("no game")
	_, _, err = s.stores.Views.Put(t.Context(), s.director, id("nowhere"), nowhere)
	require.Equal(t, "/game_id", refused(t, domain.Invalid, err).Fields[0].Pointer)

	page, err := s.stores.Views.List(t.Context(), s.director, domain.Query{Filter: domain.Filter{GameID: &s.game.ID}})
	require.NoError(t, err)
	require.Equal(t, []domain.View{view}, page.Items)
	page, err = s.stores.Views.List(t.Context(), s.director, domain.Query{Filter: domain.Filter{GameID: new(id("other game"))}})
	require.NoError(t, err)
	require.Empty(t, page.Items)
	refused(t, domain.InUse, s.stores.Games.Remove(t.Context(), s.director, s.game.ID, anyRev))
}

// TestMarksByNameLieWhereTheCompetitionHasThem: their places are found when the view is written and stand beside it.
func TestMarksByNameLieWhereTheCompetitionHasThem(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	comp, err := s.stores.Competitions.Get(t.Context(), s.director, s.game.Fields.CompetitionID)
	require.NoError(t, err)
	fields := s.fullView()
	view := made(t, s.stores.Views, s.director, "named", fields)
	require.Equal(t, []domain.MarkPlace{{Name: "post_right", XM: comp.Fields.GoalWidthM / 2, YM: new(0.)}}, view.Found.Places)
	require.Equal(t, fields, view.Fields, "what a client wrote stays as it was")
	got, err := s.stores.Views.Get(t.Context(), s.director, view.ID)
	require.NoError(t, err)
	require.Equal(t, view, got)
	again, how, err := s.stores.Views.Put(t.Context(), s.director, view.ID, fields)
	require.NoError(t, err)
	require.Equal(t, domain.Unchanged, how)
	require.Equal(t, view, again)

	unknown := s.fullView()
	unknown.Marks[5].Name = "flag"
	_, err = s.stores.Views.Patch(t.Context(), s.director, view.ID, anyRev, to(unknown))
	refusal := refused(t, domain.Invalid, err).Fields[0]
	require.Equal(t, "/marks/5/name", refusal.Pointer)
	require.Contains(t, refusal.Detail, "crease_top")

	// Measured: the place that somebody gives stands, and the history has what it was.
	measured := s.fullView()
	measured.Marks[5].XM, measured.Marks[5].YM = new(1.), new(.05)
	placed, err := s.stores.Views.Patch(t.Context(), s.director, view.ID, anyRev, to(measured))
	require.NoError(t, err)
	require.Empty(t, placed.Found.Places)
	require.NotEqual(t, view.Found.ResidualsPx, placed.Found.ResidualsPx)
	_, err = s.stores.Changes.Undo(t.Context(), s.director, view.ID, anyRev, placed.Rev)
	require.NoError(t, err)
	back, err := s.stores.Views.Get(t.Context(), s.director, view.ID)
	require.NoError(t, err)
	require.Equal(t, view.Found, back.Found)
}

// TestMarksByNameHoldTheCompetition: a game whose views stand on its competition's sizes keeps it.
func TestMarksByNameHoldTheCompetition(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	comp, err := s.stores.Competitions.Get(t.Context(), s.director, s.game.Fields.CompetitionID)
	require.NoError(t, err)
	wider := comp.Fields
	wider.Name, wider.GoalWidthM = "Wider", 2
	made(t, s.stores.Competitions, s.director, "wider", wider)
	game := made(t, s.stores.Games, s.director, "filmed", s.gameOn("2026-04-18"))
	fields := s.fullView()
	fields.GameID = game.ID
	view := made(t, s.stores.Views, s.director, "named", fields)
	moved := game.Fields
	moved.CompetitionID = id("wider")
	_, err = s.stores.Games.Patch(t.Context(), s.director, game.ID, anyRev, to(moved))
	require.Contains(t, refused(t, domain.InUse, err).Message, "views")
	fields.Marks = fields.Marks[:5]
	_, err = s.stores.Views.Patch(t.Context(), s.director, view.ID, anyRev, to(fields))
	require.NoError(t, err)
	_, err = s.stores.Games.Patch(t.Context(), s.director, game.ID, anyRev, to(moved))
	require.NoError(t, err, "marks with places of their own stand on nothing")
}
