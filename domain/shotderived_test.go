package domain

import (
	"encoding/json"
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
		f.Outcome, f.ReleaseLevel = Save, new(High)
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
			assert.Equal(t, 27, same)
			if s == bare {
				assert.Zero(t, told)
			} else {
				assert.GreaterOrEqual(t, told, 24, code)
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
