package domain

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var teacher = Actor{Role: Recorder}

func TestALessonByItsDefaultsIsThereInEveryCodeOfPlay(t *testing.T) {
	for _, code := range CodesOfPlay {
		q := DefaultPositioning()
		q.CodeOfPlay = code
		l, err := TeachPositioning(teacher, q)
		require.NoError(t, err, code)
		require.Len(t, l.Depths, len(q.OutAlongBisectorM))
		assert.Equal(t, q, l.Question)
		for i, d := range l.Depths {
			assert.InDelta(t, q.OutAlongBisectorM[i], d.OutAlongBisectorM, 1e-9)
			assert.InDelta(t, 1, d.CoveredLow+d.RightLow+d.LeftLow, 1e-12)
			assert.InDelta(t, 1, d.CoveredHigh+d.RightHigh+d.LeftHigh, 1e-12)
		}
		assert.Len(t, l.Reactions, 3)
	}
}

// The crosse is where the stick is held, and the shade goes toward the pipe on the ball's side.
func TestALessonMirrorsStickAndShade(t *testing.T) {
	q := DefaultPositioning()
	q.BallXM, q.BallYM, q.ShadeNearM = 6, 6, 0.1
	right, err := TeachPositioning(teacher, q)
	require.NoError(t, err)
	assert.Less(t, right.AtArc.RightHigh, right.AtArc.RightLow)
	assert.InDelta(t, right.AtArc.LeftHigh, right.AtArc.LeftLow, 0)
	plain := q
	plain.ShadeNearM = 0
	unshaded, err := TeachPositioning(teacher, plain)
	require.NoError(t, err)
	assert.Greater(t, right.AtArc.XM, unshaded.AtArc.XM, "the near pipe is on the right")
	q.BallXM, q.StickHand = -6, Left
	left, err := TeachPositioning(teacher, q)
	require.NoError(t, err)
	assert.InDelta(t, -right.AtArc.XM, left.AtArc.XM, 1e-12)
	assert.InDelta(t, right.AtArc.RightHigh, left.AtArc.LeftHigh, 1e-12)
	for _, x := range []float64{0, 2} {
		q.BallXM = x // less than 30 degrees from straight out
		shaded, err := TeachPositioning(teacher, q)
		require.NoError(t, err)
		q.ShadeNearM = 0
		without, err := TeachPositioning(teacher, q)
		require.NoError(t, err)
		q.ShadeNearM = 0.1
		assert.Equal(t, without.AtArc, shaded.AtArc, "nobody shades a ball without a near pipe")
	}
}

func TestALessonRefusesByTheParameter(t *testing.T) {
	for name, c := range map[string]struct {
		parameter string
		change    func(*PositioningQuestion)
	}{
		"no such code":       {"code_of_play", func(q *PositioningQuestion) { q.CodeOfPlay = "polo" }},
		"no such hand":       {"stick_hand", func(q *PositioningQuestion) { q.StickHand = "both" }},
		"ball off the field": {"ball_x_m", func(q *PositioningQuestion) { q.BallXM = 60 }},
		"ball behind":        {"ball_y_m", func(q *PositioningQuestion) { q.BallYM = -3 }},
		"ball in the arc":    {"ball_y_m", func(q *PositioningQuestion) { q.BallYM = 0.5 }},
		"release":            {"release_up_m", func(q *PositioningQuestion) { q.ReleaseUpM = 4.01 }},
		"speed":              {"speed_ms", func(q *PositioningQuestion) { q.SpeedMS = 0 }},
		"body's width":       {"body_width_m", func(q *PositioningQuestion) { q.BodyWidthM = 0.09 }},
		"body's height":      {"body_height_m", func(q *PositioningQuestion) { q.BodyHeightM = math.NaN() }},
		"crosse's width":     {"crosse_width_m", func(q *PositioningQuestion) { q.CrosseWidthM = -0.01 }},
		"crosse's height":    {"crosse_height_m", func(q *PositioningQuestion) { q.CrosseHeightM = 3.01 }},
		"apex":               {"arc_apex_m", func(q *PositioningQuestion) { q.ArcApexM = 0 }},
		"half a stance":      {"arc_half_stance_m", func(q *PositioningQuestion) { q.ArcHalfStanceM = 0.51 }},
		"shade":              {"shade_near_m", func(q *PositioningQuestion) { q.ShadeNearM = -0.51 }},
		"shade of no number": {"shade_near_m", func(q *PositioningQuestion) { q.ShadeNearM = math.NaN() }},
		"no distance":        {"out_along_bisector_m", func(q *PositioningQuestion) { q.OutAlongBisectorM = nil }},
		"too many distances": {"out_along_bisector_m", func(q *PositioningQuestion) { q.OutAlongBisectorM = make([]float64, 21) }},
		"into the goal":      {"out_along_bisector_m/1", func(q *PositioningQuestion) { q.OutAlongBisectorM = []float64{1, -1} }},
		"past the ball":      {"out_along_bisector_m/0", func(q *PositioningQuestion) { q.OutAlongBisectorM = []float64{8.51} }},
	} {
		q := DefaultPositioning()
		c.change(&q)
		_, err := TeachPositioning(teacher, q)
		refused, is := errors.AsType[*Error](err)
		require.True(t, is, name)
		assert.Equal(t, Invalid, refused.Code, name)
		assert.Equal(t, []string{c.parameter}, pointers(refused.Fields), name)
	}
}

func TestALessonIsForTheStaff(t *testing.T) {
	for _, role := range Roles {
		_, err := TeachPositioning(Actor{Role: role}, DefaultPositioning())
		assert.Equal(t, role == Viewer, CodeOf(err) == Forbidden && err != nil, role)
	}
}
