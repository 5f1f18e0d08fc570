package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestClickedSpotsStandInForSpots(t *testing.T) {
	f := ShotFields{Outcome: Save}
	near := f.With(ShotSpots{new(3.), new(4.), new(1.), new(.2), new(.3), new(.05)})
	assert.Equal(t, []*float64{new(3.), new(4.), new(.2), new(.3), new(.05)},
		[]*float64{near.BallXM, near.BallYM, near.FinishXM, near.FinishUpM, near.FinishUncertainM})
	coarse := f.With(ShotSpots{ClickedBallXM: new(3.), ClickedBallYM: new(4.), ClickedBallErrorM: new(1.01)})
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
