package domain

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func derivedOf(t *testing.T, s *CountedShot) map[string]any {
	t.Helper()
	goalie := GoalieFields{StickHand: s.StickHand}
	text, err := json.Marshal(s.Shot.Fields.Derived(s.Shot.Found, ShotPlace{Competition: s.Competition, Goalie: &goalie}))
	require.NoError(t, err)
	var out map[string]any
	require.NoError(t, json.Unmarshal(text, &out))
	return out
}

// What a shot's answer says and what a target may ask about are one: the same names, the same values, the same unknowns.
func TestDerivedAreTheFieldsOfTargets(t *testing.T) {
	for _, code := range []CodeOfPlay{"mens_field", "womens_field", "box"} {
		full, bare := seenFrom(code, -6, 6), seenFrom(code, 0, 9)
		full.StickHand = Right
		f := &full.Shot.Fields
		*f = placed().Shot.Fields
		full.Competition.ArcApexM, full.Competition.ShadeNearM = new(.7), new(.1)
		f.BallXM, f.BallYM, f.GoalieXM, f.GoalieYM = new(-6.0), new(6.0), new(-.3), new(.5)
		f.Outcome, f.ReleaseLevel, f.GoalieFacingDeg = Save, new(High), new(-45.0)
		bare.Shot.Fields.BallXM, bare.Shot.Fields.BallYM = nil, nil
		for _, s := range []*CountedShot{full, bare} {
			derived, same, told := derivedOf(t, s), 0, 0
			for name, value := range derived {
				if _, is := ShotFieldNamed(name); !is {
					continue
				}
				same++
				if value != nil {
					told++
				}
				assert.EqualValues(t, fieldOf(t, name, s), value, "%s: %s", code, name)
			}
			assert.Equal(t, 29, same)
			if s == bare {
				assert.Zero(t, told)
			} else {
				assert.GreaterOrEqual(t, told, 26, code)
			}
		}
		assert.Equal(t, "right", derivedOf(t, full)["off_angle_side"], "the bisector's spot is further left")
		assert.Greater(t, derivedOf(t, full)["drag_flight_time_s"], derivedOf(t, full)["flight_time_s"])
	}
}

func TestDerivedSaysWhatTheSpotsTellOfHabits(t *testing.T) {
	s := placed()
	got := derivedOf(t, s)
	assert.Equal(t, "yes", got["on_angle"])
	assert.Equal(t, "yes", got["depth_held"])
	s.Shot.Fields.GoalieYM = new(1.1)
	assert.Equal(t, "no", derivedOf(t, s)["depth_held"], "0.4 m further out than the arc")
	s.Shot.Fields.BallUncertainM = new(.11)
	assert.Nil(t, derivedOf(t, s)["on_angle"])
	s = placed()
	s.Competition.ArcApexM = nil
	assert.Nil(t, derivedOf(t, s)["depth_held"])
	assert.Equal(t, "yes", derivedOf(t, s)["on_angle"], "needs no arc")
}

func TestNothingIsDerivedFromACoarseSpot(t *testing.T) {
	s := placed()
	assert.Equal(t, false, derivedOf(t, s)["coarse"])
	s.Shot.Fields.GoalieUncertainM = new(1.01)
	got := derivedOf(t, s)
	assert.Equal(t, true, got["coarse"])
	assert.Nil(t, got["depth_m"])
	assert.NotNil(t, got["distance_m"])
	s.Shot.Fields.BallUncertainM = new(1.01)
	assert.Nil(t, derivedOf(t, s)["distance_m"])

	clicked := ShotFields{Outcome: Wide}
	far := ShotFound{ShotSpots: ShotSpots{ClickedBallXM: new(0.), ClickedBallYM: new(9.), ClickedBallErrorM: new(1.01)}}
	place := ShotPlace{Competition: s.Competition}
	assert.True(t, clicked.Derived(far, place).Coarse)
	far.ClickedBallErrorM = new(.5)
	assert.InDelta(t, 9, *clicked.Derived(far, place).DistanceM, 1e-9)
	assert.False(t, clicked.Derived(ShotFound{}, place).Coarse, "nothing was marked")
}

// TestDerivedSaysWhereTheArcHasTheGoalie: straight out it is the apex, and along the goal line the end, so that the way round
// is a quarter of an ellipse whose length lies between the straight line and the way along its two half axes.
func TestDerivedSaysWhereTheArcHasTheGoalie(t *testing.T) {
	s := placed()
	s.Shot.Fields.PassYM = new(0.0)
	s.Competition.ArcHalfStanceM = new(.3)
	end := s.Competition.GoalWidthM/2 - .3
	got := derivedOf(t, s)
	assert.InDelta(t, 0, got["arc_x_m"], 1e-9)
	assert.InDelta(t, .7, got["arc_y_m"], 1e-9)
	assert.Equal(t, "bisector", got["arc_how"])
	assert.InDelta(t, math.Hypot(end, .7), got["travel_m"], 1e-9)
	assert.Greater(t, got["travel_around_m"], got["travel_m"])
	assert.Less(t, got["travel_around_m"], end+.7)
	s.Shot.Fields.BallXM, s.Shot.Fields.BallYM = new(0.0), new(-4.0)
	got = derivedOf(t, s)
	assert.Equal(t, "behind", got["arc_how"])
	assert.InDelta(t, .6, got["depth_m"], 1e-9, "it stands on no bisector")
	assert.Nil(t, got["out_along_bisector_m"])
	s.Competition.ArcApexM = nil
	for _, name := range []string{"arc_x_m", "arc_y_m", "arc_how", "travel_around_m"} {
		assert.Nil(t, derivedOf(t, s)[name], name)
	}
}

func TestDerivedSaysWhetherTheHipsFacedTheBall(t *testing.T) {
	s := placed()
	assert.Nil(t, derivedOf(t, s)["off_square_deg"], "nobody read it")
	assert.Nil(t, derivedOf(t, s)["square"])
	s.Shot.Fields.GoalieXM, s.Shot.Fields.GoalieFacingDeg = new(0.0), new(-20.0)
	assert.InDelta(t, 20, derivedOf(t, s)["off_square_deg"], 1e-9)
	assert.Equal(t, true, derivedOf(t, s)["square"])
	s.Shot.Fields.GoalieFacingDeg = new(21.0)
	assert.Equal(t, false, derivedOf(t, s)["square"])
}

// TestDerivedSaysWhatNetShowed: straight out, by similar triangles, 0.25 m of the body at 0.6 m off the line covers 0.25*9/8.4
// of the line for a ball at 9 m.
func TestDerivedSaysWhatNetShowed(t *testing.T) {
	s := placed()
	s.Shot.Fields.GoalieXM, s.Competition.GoalHeightM = new(0.0), 1.829
	net := []string{"open_right_low", "open_right_high", "open_left_low", "open_left_high", "open_above"}
	got := derivedOf(t, s)
	assert.Nil(t, got["open_right_high"], "whose stick it was is not known")
	assert.Nil(t, got["open_left_high"])
	assert.NotNil(t, got["open_right_low"], "where only the body is the stick does not matter")
	wide, grown := s.Competition.GoalWidthM, 9/8.4
	body, crosse := (wide/2-.25*grown)/wide, (wide/2-.55*grown)/wide
	for hand, want := range map[Hand][]float64{Right: {body, crosse, body, body}, Left: {body, body, body, crosse}} {
		s.StickHand = hand
		got := derivedOf(t, s)
		for i, name := range net[:4] {
			assert.InDelta(t, want[i], got[name], 1e-9, "%s %s", hand, name)
		}
		assert.InDelta(t, (1.829-1.5-.1*grown)/1.829, got["open_above"], 1e-9, "from 1.5 m past 1.6 m")
	}
	s.Shot.Fields.ReleaseUpM = nil
	assert.Nil(t, derivedOf(t, s)["open_above"])
	assert.NotNil(t, derivedOf(t, s)["open_right_low"])
	s.Shot.Fields.GoalieXM = nil
	assert.Nil(t, derivedOf(t, s)["open_right_low"])
}
