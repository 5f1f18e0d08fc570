package postgres_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// filmed is a scene whose game has a view of the ground, on which a metre is 100 pixels, and one of the goal's plane, on
// which it is 200.
type filmed struct {
	*scene
	ground, goal domain.View
}

func newFilmed(t *testing.T) *filmed {
	t.Helper()
	f := &filmed{scene: newScene(t)}
	f.ground = made(t, f.stores.Views, f.director, "ground", f.flat(domain.GroundPlane, 100, 1000, 800))
	f.goal = made(t, f.stores.Views, f.director, "goal", f.flat(domain.GoalPlane, 200, 1000, 900))
	return f
}

// flat is a picture square to a plane, with the origin at (u, v).
func (f *filmed) flat(plane domain.ViewPlane, perMetre, u, v float64) domain.ViewFields {
	view := domain.ViewFields{GameID: f.game.ID, Name: "flat", Plane: plane, WidthPx: 2000, HeightPx: 1000, PixelErrorPx: 1}
	for _, p := range [][2]float64{{-2, 0}, {2, 0}, {-1.5, 2}, {1.5, 2}, {0, 3}, {0.5, 1}} {
		mark := domain.ViewMark{Name: string(rune('a' + len(view.Marks))), UPx: u + perMetre*p[0], VPx: v - perMetre*p[1], XM: &p[0]}
		if plane == domain.GroundPlane {
			mark.YM = &p[1]
		} else {
			mark.UpM = &p[1]
		}
		view.Marks = append(view.Marks, mark)
	}
	return view
}

// clicked is a save from 3 m out and 2 m to the right, after a pass from 2 m out and 3 m to the left, by a goalie at
// (0.4, 0.4), that came in half a metre to the right and 0.4 m up.
func (f *filmed) clicked() domain.ShotFields {
	return domain.ShotFields{
		GameID: f.game.ID, Outcome: domain.Save, FilmMs: new(5000),
		GroundViewID: &f.ground.ID, BallUPx: new(1200.), BallVPx: new(500.),
		PassUPx: new(700.), PassVPx: new(600.), GoalieUPx: new(1040.), GoalieVPx: new(760.),
		GoalViewID: &f.goal.ID, FinishUPx: new(1100.), FinishVPx: new(820.),
	}
}

func TestAClickBecomesASpot(t *testing.T) {
	t.Parallel()
	f := newFilmed(t)
	shot := made(t, f.stores.Shots, f.director, "clicked", f.clicked())
	require.InDelta(t, 2, *shot.Found.ClickedBallXM, 1e-6)
	require.InDelta(t, 3, *shot.Found.ClickedBallYM, 1e-6)
	require.Less(t, *shot.Found.ClickedBallErrorM, .1)
	require.InDelta(t, -3, *shot.Found.ClickedPassXM, 1e-6)
	require.InDelta(t, 2, *shot.Found.ClickedPassYM, 1e-6)
	require.Less(t, *shot.Found.ClickedPassErrorM, .2)
	require.InDelta(t, .4, *shot.Found.ClickedGoalieXM, 1e-6)
	require.InDelta(t, .4, *shot.Found.ClickedGoalieYM, 1e-6)
	require.Less(t, *shot.Found.ClickedGoalieErrorM, .1)
	require.InDelta(t, .5, *shot.Found.ClickedFinishXM, 1e-6)
	require.InDelta(t, .4, *shot.Found.ClickedFinishUpM, 1e-6)
	require.Nil(t, shot.Fields.BallXM, "what a client wrote stays as it was")
	got, err := f.stores.Shots.Get(t.Context(), f.director, shot.ID)
	require.NoError(t, err)
	require.Equal(t, shot, got)

	again, how, err := f.stores.Shots.Put(t.Context(), f.director, shot.ID, f.clicked())
	require.NoError(t, err)
	require.Equal(t, domain.Unchanged, how)
	require.Equal(t, shot, again)

	results, err := f.stores.Shots.PutMany(t.Context(), f.director, []domain.ShotItem{
		{ID: id("one"), ShotFields: f.clicked()}, {ID: id("two"), ShotFields: f.clicked()},
	})
	require.NoError(t, err)
	for _, r := range results {
		require.NoError(t, r.Err)
		require.Equal(t, shot.Found.ShotSpots, r.Shot.Found.ShotSpots)
	}
}

// TestSpotsFollowTheView: when a view is corrected each shot that names it moves, by a change of its own; an undo of the
// correction moves it back.
func TestSpotsFollowTheView(t *testing.T) {
	t.Parallel()
	f := newFilmed(t)
	shot := made(t, f.stores.Shots, f.director, "clicked", f.clicked())
	tapped := f.clicked()
	tapped.GroundViewID, tapped.BallUPx, tapped.BallVPx, tapped.BallXM, tapped.BallYM = nil, nil, nil, new(1.), new(1.)
	tapped.PassUPx, tapped.PassVPx, tapped.GoalieUPx, tapped.GoalieVPx = nil, nil, nil, nil
	other := made(t, f.stores.Shots, f.director, "tapped", tapped)

	// The marks had been clicked half a metre too far to the left.
	corrected, err := f.stores.Views.Patch(t.Context(), f.director, f.ground.ID, at(f.ground.Rev), to(f.flat(domain.GroundPlane, 100, 1050, 800)))
	require.NoError(t, err)
	moved, err := f.stores.Shots.Get(t.Context(), f.director, shot.ID)
	require.NoError(t, err)
	require.Greater(t, moved.Rev, corrected.Rev)
	require.InDelta(t, 1.5, *moved.Found.ClickedBallXM, 1e-6)
	require.InDelta(t, 3, *moved.Found.ClickedBallYM, 1e-6)
	require.InDelta(t, -3.5, *moved.Found.ClickedPassXM, 1e-6)
	require.InDelta(t, 2, *moved.Found.ClickedPassYM, 1e-6)
	require.InDelta(t, -.1, *moved.Found.ClickedGoalieXM, 1e-6)
	require.InDelta(t, .4, *moved.Found.ClickedGoalieYM, 1e-6)
	require.NotEqual(t, shot.Found.Derived.OffAngleCM, moved.Found.Derived.OffAngleCM, "what follows from the spots follows them")
	require.Equal(t, shot.Found.ClickedFinishXM, moved.Found.ClickedFinishXM)
	require.Equal(t, shot.Fields, moved.Fields)
	history := f.history(t, f.program.ID, shot.ID)
	require.Len(t, history, 2)
	var was domain.ShotFound
	require.NoError(t, json.Unmarshal(history[1].BeforeFound, &was))
	require.InDelta(t, 2, *was.ClickedBallXM, 1e-6)
	require.InDelta(t, -3, *was.ClickedPassXM, 1e-6)
	require.InDelta(t, .4, *was.ClickedGoalieXM, 1e-6)
	still, err := f.stores.Shots.Get(t.Context(), f.director, other.ID)
	require.NoError(t, err)
	require.Equal(t, other, still, "a shot that does not name the view stays")

	// A name changes no spot.
	renamed := corrected.Fields
	renamed.Name = "another"
	named, err := f.stores.Views.Patch(t.Context(), f.director, f.ground.ID, at(corrected.Rev), to(renamed))
	require.NoError(t, err)
	require.Len(t, f.history(t, f.program.ID, shot.ID), 2)

	_, err = f.stores.Changes.Undo(t.Context(), f.director, f.ground.ID, at(named.Rev), corrected.Rev)
	require.NoError(t, err)
	back, err := f.stores.Shots.Get(t.Context(), f.director, shot.ID)
	require.NoError(t, err)
	require.InDelta(t, 2, *back.Found.ClickedBallXM, 1e-6)
	require.InDelta(t, -3, *back.Found.ClickedPassXM, 1e-6)
	require.InDelta(t, .4, *back.Found.ClickedGoalieXM, 1e-6)
}

// TestSpotsFollowAMarkByName: a mark that loses the place that was measured takes the competition's, and the shots follow.
func TestSpotsFollowAMarkByName(t *testing.T) {
	t.Parallel()
	f := newFilmed(t)
	measured := f.flat(domain.GroundPlane, 100, 1000, 800)
	measured.Marks = measured.Marks[:4]
	measured.Marks[0] = domain.ViewMark{Name: "post_right", UPx: 1100, VPx: 800, XM: new(1.), YM: new(0.)}
	view, err := f.stores.Views.Patch(t.Context(), f.director, f.ground.ID, anyRev, to(measured))
	require.NoError(t, err)
	shot := made(t, f.stores.Shots, f.director, "clicked", f.clicked())
	named := measured
	named.Marks = append([]domain.ViewMark{}, measured.Marks...)
	named.Marks[0].XM, named.Marks[0].YM = nil, nil
	view, err = f.stores.Views.Patch(t.Context(), f.director, view.ID, at(view.Rev), to(named))
	require.NoError(t, err)
	require.Len(t, view.Found.Places, 1)
	moved, err := f.stores.Shots.Get(t.Context(), f.director, shot.ID)
	require.NoError(t, err)
	require.Greater(t, moved.Rev, view.Rev)
	require.NotEqual(t, shot.Found.ClickedBallXM, moved.Found.ClickedBallXM)
	mapped, err := domain.MapClicks(view, []domain.Click{{UPx: *shot.Fields.BallUPx, VPx: *shot.Fields.BallVPx}})
	require.NoError(t, err)
	require.InDelta(t, mapped.Items[0].Spot.XM, *moved.Found.ClickedBallXM, 1e-12, "shots and clicks go by the same places")
}

// TestAClickThatLosesItsSpot: the correction of a view is not held up by its shots.
func TestAClickThatLosesItsSpot(t *testing.T) {
	t.Parallel()
	f := newFilmed(t)
	shot := made(t, f.stores.Shots, f.director, "clicked", f.clicked())
	later := f.ground.Fields
	later.FromFilmMs = new(5001)
	_, err := f.stores.Views.Patch(t.Context(), f.director, f.ground.ID, anyRev, to(later))
	require.NoError(t, err)
	got, err := f.stores.Shots.Get(t.Context(), f.director, shot.ID)
	require.NoError(t, err)
	require.Nil(t, got.Found.ClickedBallXM)
	require.Nil(t, got.Found.ClickedPassXM)
	require.Nil(t, got.Found.ClickedGoalieXM)
	for i, pointer := range []string{"/ball_u_px", "/pass_u_px", "/goalie_u_px"} {
		require.Equal(t, pointer, got.Found.Warnings[i].Pointer)
	}

	// Finding whose shot it was leaves the finish alone.
	made(t, f.stores.Stints, f.director, "stint", f.stint(&f.goalie.ID, 1, 720, 4, 0))
	got, err = f.stores.Shots.Get(t.Context(), f.director, shot.ID)
	require.NoError(t, err)
	require.InDelta(t, .5, *got.Found.ClickedFinishXM, 1e-6)
}

func TestClicksThatDoNotFitAreRefused(t *testing.T) {
	t.Parallel()
	f := newFilmed(t)
	made(t, f.stores.Games, f.director, "other game", f.gameOn("2026-04-18"))
	foreign := f.ground.Fields
	foreign.GameID = id("other game")
	made(t, f.stores.Views, f.director, "foreign", foreign)
	span := f.ground.Fields
	span.ToFilmMs = new(4999)
	made(t, f.stores.Views, f.director, "first half", span)
	for name, c := range map[string]struct {
		pointer string
		change  func(*domain.ShotFields)
	}{
		"no view":            {"/ground_view_id", func(s *domain.ShotFields) { s.GroundViewID = new(id("no view")) }},
		"another game":       {"/ground_view_id", func(s *domain.ShotFields) { s.GroundViewID = new(id("foreign")) }},
		"another time":       {"/ground_view_id", func(s *domain.ShotFields) { s.GroundViewID = new(id("first half")) }},
		"another plane":      {"/goal_view_id", func(s *domain.ShotFields) { s.GoalViewID = &f.ground.ID }},
		"outside":            {"/ball_u_px", func(s *domain.ShotFields) { s.BallUPx = new(2000.5) }},
		"a pass outside":     {"/pass_u_px", func(s *domain.ShotFields) { s.PassUPx = new(2000.5) }},
		"a goalie outside":   {"/goalie_u_px", func(s *domain.ShotFields) { s.GoalieVPx = new(1000.5) }},
		"a pass in the net":  {"/pass_y_m", func(s *domain.ShotFields) { s.PassUPx, s.PassVPx = new(1000.), new(850.) }},
		"a pass and a spot":  {"/pass_x_m", func(s *domain.ShotFields) { s.PassXM, s.PassYM = new(1.), new(1.) }},
		"half a goalie":      {"/ground_view_id", func(s *domain.ShotFields) { s.GoalieVPx = nil }},
		"outside the goal":   {"/finish_x_m", func(s *domain.ShotFields) { s.FinishUPx = new(1300.) }},
		"under the ground":   {"/finish_u_px", func(s *domain.ShotFields) { s.FinishVPx = new(960.) }},
		"half a click":       {"/ground_view_id", func(s *domain.ShotFields) { s.BallVPx = nil }},
		"a click and a spot": {"/ball_x_m", func(s *domain.ShotFields) { s.BallXM, s.BallYM = new(1.), new(1.) }},
	} {
		shot := f.clicked()
		c.change(&shot)
		_, _, err := f.stores.Shots.Put(t.Context(), f.director, id(name), shot)
		require.Equal(t, c.pointer, refused(t, domain.Invalid, err).Fields[0].Pointer, name)
	}
}

func TestAViewThatShotsNameStays(t *testing.T) {
	t.Parallel()
	f := newFilmed(t)
	shot := made(t, f.stores.Shots, f.director, "clicked", f.clicked())
	err := refused(t, domain.InUse, f.stores.Views.Remove(t.Context(), f.director, f.goal.ID, anyRev))
	require.Contains(t, err.Message, "shots stand on it")
	require.NoError(t, f.stores.Shots.Remove(t.Context(), f.director, shot.ID, anyRev))
	require.NoError(t, f.stores.Views.Remove(t.Context(), f.director, f.goal.ID, anyRev))
}

// TestClickedSpotsAreCountedLikeSpots: what a week is worked out from holds the spots in their places.
func TestClickedSpotsAreCountedLikeSpots(t *testing.T) {
	t.Parallel()
	f := newFilmed(t)
	shot := f.clicked()
	shot.GoalieID = &f.goalie.ID
	made(t, f.stores.Shots, f.director, "clicked", shot)
	week, err := f.stores.Weeks.Goalie(t.Context(), f.director, f.goalie.ID, domain.WeekOf(day("2026-04-11")))
	require.NoError(t, err)
	var counted *domain.CountedShot
	for _, s := range week.Faced.Shots {
		if s.Shot.ID == id("clicked") {
			counted = s
		}
	}
	require.NotNil(t, counted)
	require.InDelta(t, 2, *counted.Shot.Fields.BallXM, 1e-6)
	require.InDelta(t, 3, *counted.Shot.Fields.BallYM, 1e-6)
	require.InDelta(t, -3, *counted.Shot.Fields.PassXM, 1e-6)
	require.InDelta(t, .4, *counted.Shot.Fields.GoalieYM, 1e-6)
	require.Equal(t, counted.Shot.Found.ClickedGoalieErrorM, counted.Shot.Fields.GoalieUncertainM)
	require.InDelta(t, .5, *counted.Shot.Fields.FinishXM, 1e-6)
}
