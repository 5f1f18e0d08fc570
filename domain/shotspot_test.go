package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestClickedSpotsStandInForSpots(t *testing.T) {
	f := ShotFields{Outcome: Save}
	near := f.With(ShotSpots{
		new(3.), new(4.), new(1.), new(-5.), new(6.), new(.9), new(.1), new(.6), new(.08), new(.2), new(.3), new(.05),
	})
	assert.Equal(t, []*float64{new(3.), new(4.), new(1.), new(-5.), new(6.), new(.1), new(.6), new(.08), new(.2), new(.3), new(.05)},
		[]*float64{
			near.BallXM, near.BallYM, near.BallUncertainM, near.PassXM, near.PassYM, near.GoalieXM, near.GoalieYM, near.GoalieUncertainM,
			near.FinishXM, near.FinishUpM, near.FinishUncertainM,
		})
	f.GoalieFacingDeg = new(10.)
	coarse := f.With(ShotSpots{
		new(3.), new(4.), new(1.01), new(-5.), new(6.), new(1.01), new(.1), new(.6), new(1.01), new(.2), new(.3), new(1.01),
	})
	f.GoalieFacingDeg = nil // it goes with the spot
	assert.Equal(t, f, coarse, "nothing is worked out from a coarse spot")
	assert.Equal(t, f, f.With(ShotSpots{}))
}

func TestCoarseClicksAreWarnedOf(t *testing.T) {
	f := ShotFields{Outcome: Wide, GroundViewID: new(NameID(ID{}, "view")), BallUPx: new(1.), BallVPx: new(1.)}
	found := ShotFound{ShotSpots: ShotSpots{ClickedBallXM: new(3.), ClickedBallYM: new(4.), ClickedBallErrorM: new(1.01)}}
	assert.Contains(t, pointers(f.Warnings(found, sixFootGoal(Right))), "/ball_u_px")
	found.ClickedBallErrorM = new(1.)
	assert.NotContains(t, pointers(f.Warnings(found, sixFootGoal(Right))), "/ball_u_px")
	assert.Contains(t, pointers(f.Warnings(ShotFound{}, sixFootGoal(Right))), "/ball_u_px", "the view gives no spot")
}

// A finish that the click's own error puts under the ground lay on it.
func TestAFinishIsNotUnderTheGround(t *testing.T) {
	view := flatView()
	view.Plane = GoalPlane
	for i := range view.Marks {
		view.Marks[i].UpM, view.Marks[i].YM = view.Marks[i].YM, nil
	}
	mapping, err := NewMapping(View{Fields: view})
	require.NoError(t, err)
	shot := ShotFields{GameID: view.GameID, GoalViewID: new(NameID(ID{}, "view")), FinishUPx: new(1000.), FinishVPx: new(801.)}
	spots, faults := FindSpots(shot, map[ID]*Mapping{*shot.GoalViewID: mapping})
	assert.Empty(t, faults)
	require.NotNil(t, spots.ClickedFinishUpM)
	assert.Zero(t, *spots.ClickedFinishUpM)
	shot.FinishVPx = new(850.)
	_, faults = FindSpots(shot, map[ID]*Mapping{*shot.GoalViewID: mapping})
	assert.Equal(t, []string{"/finish_u_px"}, pointers(faults))
}

func TestCoarseSpotsStayOut(t *testing.T) {
	f := ShotFields{Outcome: Wide, BallXM: new(3.), BallYM: new(4.), GoalieXM: new(.1), GoalieYM: new(.5), GoalieFacingDeg: new(10.)}
	f.BallUncertainM, f.GoalieUncertainM = new(1.), new(1.)
	assert.Equal(t, f, f.With(ShotSpots{}), "up to a metre they count")
	assert.Empty(t, f.Warnings(ShotFound{}, sixFootGoal(Right)))
	f.BallUncertainM, f.GoalieUncertainM = new(1.01), new(1.01)
	assert.Equal(t, ShotFields{Outcome: Wide}, f.With(ShotSpots{}))
	assert.Equal(t, []string{"/ball_uncertain_m", "/goalie_uncertain_m"}, pointers(f.Warnings(ShotFound{}, sixFootGoal(Right))))
}

// filmedShot is a shot of which all three spots on the ground were clicked on the picture of flatView: the ball 5 m to the
// right and 5 m out, after a pass from 4 m to the left and 6 m out, the goalie at (0.3, 0.5).
func filmedShot(view ViewFields) (ShotFields, map[ID]*Mapping, error) {
	mapping, err := NewMapping(View{Fields: view})
	id := NameID(ID{}, "view")
	return ShotFields{
		GameID: view.GameID, Outcome: Wide, FilmMs: new(7), GroundViewID: &id, BallUPx: new(1500.), BallVPx: new(300.),
		PassUPx: new(600.), PassVPx: new(200.), GoalieUPx: new(1030.), GoalieVPx: new(750.), GoalieFacingDeg: new(45.),
	}, map[ID]*Mapping{id: mapping}, err
}

func TestEachClickOnTheGroundHasItsSpot(t *testing.T) {
	f, views, err := filmedShot(flatView())
	require.NoError(t, err)
	require.Empty(t, f.Check())
	spots, faults := FindSpots(f, views)
	require.Empty(t, faults)
	want := ShotSpots{
		ClickedBallXM: new(5.), ClickedBallYM: new(5.), ClickedPassXM: new(-4.), ClickedPassYM: new(6.),
		ClickedGoalieXM: new(.3), ClickedGoalieYM: new(.5),
	}
	for _, c := range [][2]*float64{
		{want.ClickedBallXM, spots.ClickedBallXM}, {want.ClickedBallYM, spots.ClickedBallYM},
		{want.ClickedPassXM, spots.ClickedPassXM}, {want.ClickedPassYM, spots.ClickedPassYM},
		{want.ClickedGoalieXM, spots.ClickedGoalieXM}, {want.ClickedGoalieYM, spots.ClickedGoalieYM},
	} {
		assert.InDelta(t, *c[0], *c[1], 1e-6)
	}
	// A pixel is a centimetre here: the ellipse of the click alone reaches 2.146 cm, and those of the marks add to it.
	for _, e := range []*float64{spots.ClickedBallErrorM, spots.ClickedPassErrorM, spots.ClickedGoalieErrorM} {
		assert.Greater(t, *e, .02146)
		assert.Less(t, *e, .08)
	}
	d := f.Derived(ShotFound{ShotSpots: spots}, sixFootGoal(Right))
	assert.InDelta(t, .5, *d.DepthM, 1e-6)
	assert.True(t, *d.CrossedMiddle)
	assert.False(t, d.Coarse)

	// One alone is enough, and the others may be stated.
	f.BallUPx, f.BallVPx, f.BallXM, f.BallYM, f.PassUPx, f.PassVPx = nil, nil, new(5.), new(5.), nil, nil
	require.Empty(t, f.Check())
	spots, faults = FindSpots(f, views)
	require.Empty(t, faults)
	assert.Nil(t, spots.ClickedBallXM)
	assert.Nil(t, spots.ClickedPassXM)
	assert.InDelta(t, .3, *spots.ClickedGoalieXM, 1e-6)
}

func TestClicksOnTheGroundAreChecked(t *testing.T) {
	for name, c := range map[string]struct {
		pointer string
		change  func(*ShotFields)
	}{
		"half a pass":   {"/ground_view_id", func(f *ShotFields) { f.PassVPx = nil }},
		"half a goalie": {"/ground_view_id", func(f *ShotFields) { f.GoalieUPx, f.GoalieFacingDeg = nil, nil }},
		"no view":       {"/ground_view_id", func(f *ShotFields) { f.GroundViewID = nil }},
		"no click": {"/ground_view_id", func(f *ShotFields) {
			f.BallUPx, f.BallVPx, f.PassUPx, f.PassVPx, f.GoalieUPx, f.GoalieVPx, f.GoalieFacingDeg = nil, nil, nil, nil, nil, nil, nil
		}},
		"a pass and a click":   {"/pass_x_m", func(f *ShotFields) { f.PassXM, f.PassYM = new(1.), new(1.) }},
		"a goalie and a click": {"/goalie_x_m", func(f *ShotFields) { f.GoalieXM, f.GoalieYM = new(1.), new(1.) }},
		"too far":              {"/pass_u_px", func(f *ShotFields) { f.PassUPx = new(20001.) }},
		"below nothing":        {"/goalie_v_px", func(f *ShotFields) { f.GoalieVPx = new(-1.) }},
		"facing nowhere":       {"/goalie_facing_deg", func(f *ShotFields) { f.GoalieUPx, f.GoalieVPx = nil, nil }},
	} {
		f, _, err := filmedShot(flatView())
		require.NoError(t, err)
		c.change(&f)
		assert.Equal(t, []string{c.pointer}, pointers(f.Check()), name)
	}
	for pointer, change := range map[string]func(*ShotFields){
		"/pass_u_px":   func(f *ShotFields) { f.PassUPx = new(2000.5) },
		"/goalie_u_px": func(f *ShotFields) { f.GoalieVPx = new(1000.5) },
	} {
		f, views, err := filmedShot(flatView())
		require.NoError(t, err)
		change(&f)
		_, faults := FindSpots(f, views)
		assert.Equal(t, []string{pointer}, pointers(faults), "outside the picture")
	}
}

func TestCoarseClicksOfAPassAndAGoalieAreWarnedOf(t *testing.T) {
	f, _, err := filmedShot(flatView())
	require.NoError(t, err)
	found := ShotFound{ShotSpots: ShotSpots{
		new(5.), new(5.), new(.05), new(-4.), new(6.), new(1.01), new(.3), new(.5), new(1.01), nil, nil, nil,
	}}
	assert.Equal(t, []string{"/pass_u_px", "/goalie_u_px"}, pointers(f.Warnings(found, sixFootGoal(Right))))
	d := f.Derived(found, sixFootGoal(Right))
	assert.True(t, d.Coarse)
	assert.NotNil(t, d.DistanceM)
	assert.Nil(t, d.SwingDeg)
	assert.Nil(t, d.DepthM)
	found.ShotSpots = ShotSpots{}
	assert.Equal(t, []string{"/ball_u_px", "/pass_u_px", "/goalie_u_px"}, pointers(f.Warnings(found, sixFootGoal(Right))), "no spot by the view")
}

// A spot that a corrected view moves to where none can be takes the others with it, so the shot says so.
func TestASpotThatMovedOffIsWarnedOf(t *testing.T) {
	f, _, err := filmedShot(flatView())
	require.NoError(t, err)
	found := ShotFound{ShotSpots: ShotSpots{
		new(5.), new(5.), new(.05), new(.1), new(-.5), new(.05), new(.3), new(.5), new(.05), nil, nil, nil,
	}}
	assert.Equal(t, []FieldError{{"/pass_y_m", "lies inside the net"}}, f.Warnings(found, sixFootGoal(Right)))
	assert.Nil(t, f.Derived(found, sixFootGoal(Right)).DistanceM)
}

// Only clicks that are known to 10 cm win over the eye; see TestSpotsThatAreKnownWellWinOverTheEye.
func TestHabitsFollowClicksThatAreKnownWell(t *testing.T) {
	answers := func(errorM float64) (onAngle any) {
		s := placed()
		f := &s.Shot.Fields
		f.BallXM, f.BallYM, f.BallUncertainM, f.GoalieXM, f.GoalieYM, f.GoalieUncertainM = nil, nil, nil, nil, nil, nil
		*f = f.With(ShotSpots{
			ClickedBallXM: new(0.), ClickedBallYM: new(9.), ClickedBallErrorM: new(.05),
			ClickedGoalieXM: new(.16), ClickedGoalieYM: new(.6), ClickedGoalieErrorM: &errorM,
		})
		s.Reading = &Reading{Fields: ReadingFields{Habits: map[string]Answer{"on_angle": Yes}}}
		return habitField("on_angle").Value(s)
	}
	assert.Equal(t, "no", answers(.1), "16 cm off, and known")
	assert.Equal(t, "yes", answers(.101), "not known well enough: the eye")
}

// Whatever is clicked, a shot's spot is where the view maps that click, and putting the spots in their places twice is once.
func TestSpotsAreWhereTheViewMapsTheClicks(t *testing.T) {
	f, views, err := filmedShot(flatView())
	require.NoError(t, err)
	f.GoalieFacingDeg = nil
	rapid.Check(t, func(t *rapid.T) {
		shot := f
		click := func(name string) (u, v *float64) {
			if !rapid.Bool().Draw(t, name) {
				return nil, nil
			}
			return new(rapid.Float64Range(0, 2000).Draw(t, name+" u")), new(rapid.Float64Range(0, 1000).Draw(t, name+" v"))
		}
		shot.BallUPx, shot.BallVPx = click("ball")
		shot.PassUPx, shot.PassVPx = click("pass")
		shot.GoalieUPx, shot.GoalieVPx = click("goalie")
		spots, faults := FindSpots(shot, views)
		require.Empty(t, faults)
		for _, k := range shot.groundClicks(&spots) {
			if k.u == nil {
				assert.Nil(t, *k.x, k.name)
				continue
			}
			want, _ := views[*shot.GroundViewID].Map(Click{UPx: *k.u, VPx: *k.v})
			assert.Equal(t, []float64{want.XM, *want.YM, want.HalfMajorM}, []float64{**k.x, **k.y, **k.errorM}, k.name)
		}
		assert.Equal(t, shot.With(spots), shot.With(spots).With(spots))
	})
}
