package postgres_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// bareView is the opening of the goal, from its corners.
func (s *scene) bareView() domain.ViewFields {
	corner := func(name string, u, v, x, up float64) domain.ViewMark {
		return domain.ViewMark{Name: name, UPx: u, VPx: v, XM: x, UpM: &up}
	}
	return domain.ViewFields{
		GameID: s.game.ID, Name: "é", Plane: domain.GoalPlane, WidthPx: 640, HeightPx: 480, PixelErrorPx: .1,
		Marks: []domain.ViewMark{
			corner("left post's foot", 400, 300, -.915, 0), corner("right post's foot", 200, 310, .915, 0),
			corner("right upper corner", 202, 105, .915, 1.83), corner("left upper corner", 398, 110, -.915, 1.83),
		},
	}
}

// fullView is the ground, from marks that are all that a mark can be.
func (s *scene) fullView() domain.ViewFields {
	v := domain.ViewFields{
		GameID: s.game.ID, Name: "Press box", Plane: domain.GroundPlane, FromFilmMs: new(0), ToFilmMs: new(domain.MaxFilm),
		WidthPx: 3840, HeightPx: 2160, PixelErrorPx: 1.25,
	}
	for _, m := range [][4]float64{{1000, 500, -5, 20}, {3000, 480, 15, 20}, {3500, 1800, 12, -8}, {300, 1900, -8, -8}, {1700, 1200, 0.1, 2.74}} {
		name := string(rune('a' + len(v.Marks)))
		v.Marks = append(v.Marks, domain.ViewMark{Name: name, UPx: m[0], VPx: m[1], XM: m[2], YM: new(m[3]),
			PixelErrorPx: new(50.), PlaceErrorM: new(.333)})
	}
	return v
}

func TestAViewIsOfItsGame(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	made(t, s.stores.Games, s.director, "other game", s.gameOn("2026-04-18"))
	view := made(t, s.stores.Views, s.director, "view", s.fullView())
	require.Len(t, view.Found.ResidualsPx, 5)

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
