package domain

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// seenFrom is a shot from a spot in a game of the first starter competition of a code of play.
func seenFrom(code CodeOfPlay, x, y float64) *CountedShot {
	s := shotOf(ShotFields{Outcome: Goal, BallXM: &x, BallYM: &y})
	for _, c := range Starter(ID{}).Competitions {
		if c.Fields.CodeOfPlay == code {
			s.Competition = c.Fields
			return s
		}
	}
	return s
}

// The posts are 6 ft apart, 1.829 m in the starter data; the rest are right triangles.
func TestWhatFollowsFromASpotIsAField(t *testing.T) {
	s := seenFrom("mens_field", -4, 3)
	assert.InDelta(t, 5-2.743, fieldOf(t, "crease_edge_m", s), 1e-9)
	assert.InDelta(t, math.Hypot(4-.9145, 3), fieldOf(t, "near_post_m", s), 1e-9)
	assert.InDelta(t, math.Hypot(4+.9145, 3), fieldOf(t, "far_post_m", s), 1e-9)
	assert.Equal(t, "left", fieldOf(t, "ball_side", s))
	assert.InDelta(t, 2*math.Atan(.9145/9)*180/math.Pi, fieldOf(t, "goal_angle_deg", seenFrom("mens_field", 0, 9)), 1e-9)
	assert.Zero(t, fieldOf(t, "goal_angle_deg", seenFrom("mens_field", 4, -2)), "behind, no goal shows")
	assert.Equal(t, True, Clause{Field: "goal_angle_deg", GTE: new(11.0)}.Eval(seenFrom("mens_field", 0, 9)))
	assert.Empty(t, Clause{Field: "in_8m_arc", Is: true}.Check())

	bare := shotOf(ShotFields{Outcome: Save})
	bare.Competition = s.Competition
	for _, name := range []string{"crease_edge_m", "near_post_m", "far_post_m", "goal_angle_deg", "ball_side", "in_8m_arc", "in_12m_fan"} {
		assert.Nil(t, fieldOf(t, name, bare), name)
		assert.Nil(t, fieldOf(t, name, seenFrom("mens_field", 0, -1)), "%s of a ball in the net", name)
	}
}

func TestTheWomensAreasAreKnownOfTheirGameOnly(t *testing.T) {
	for _, c := range []struct {
		y        float64
		arc, fan any
	}{{10.5, true, true}, {10.7, false, true}, {14.7, false, false}} {
		assert.Equal(t, c.arc, fieldOf(t, "in_8m_arc", seenFrom("womens_field", 0, c.y)), "%g", c.y)
		assert.Equal(t, c.fan, fieldOf(t, "in_12m_fan", seenFrom("womens_field", 0, c.y)), "%g", c.y)
	}
	international := seenFrom("womens_field", 0, 10.7)
	international.Competition.CreaseRadiusM = 3
	assert.Equal(t, true, fieldOf(t, "in_8m_arc", international), "8 m from a circle of 3 m")
	assert.Nil(t, fieldOf(t, "in_8m_arc", seenFrom("mens_field", 0, 5)))
	assert.Nil(t, fieldOf(t, "in_12m_fan", seenFrom("box", 0, 5)))
}

func TestAFinishPointTellsBandAndSide(t *testing.T) {
	s := seenFrom("mens_field", 5, 5)
	s.Shot.Fields.FinishXM, s.Shot.Fields.FinishUpM = new(-.6), new(.2)
	assert.Equal(t, "low", fieldOf(t, "finish_band", s))
	assert.Nil(t, fieldOf(t, "finish_side", s), "of nobody")
	s.StickHand = Right
	assert.Equal(t, "off_side", fieldOf(t, "finish_side", s))
	s.StickHand = Left
	assert.Equal(t, "stick_side", fieldOf(t, "finish_side", s))
	s.Shot.Fields.FinishXM = new(.1)
	assert.Equal(t, "middle", fieldOf(t, "finish_side", s))
	s.Shot.Fields.ReleaseLevel = new(High)
	assert.Equal(t, "full", fieldOf(t, "change_of_plane", s), "by the point's band")

	s.Shot.Fields.FinishBand, s.Shot.Fields.FinishSide = new(Mid), new(OffSide)
	assert.Equal(t, "mid", fieldOf(t, "finish_band", s), "what was charted stands")
	assert.Equal(t, "off_side", fieldOf(t, "finish_side", s))
	assert.Equal(t, "part", fieldOf(t, "change_of_plane", s))

	wide := seenFrom("mens_field", 5, 5)
	wide.Shot.Fields.Outcome, wide.StickHand = Wide, Right
	wide.Shot.Fields.FinishXM, wide.Shot.Fields.FinishUpM = new(-1.6), new(.2)
	assert.Nil(t, fieldOf(t, "finish_band", wide), "a wide shot has none")
	assert.Nil(t, fieldOf(t, "finish_side", wide))
}

func TestABallWhereNoneCanBeIsRefused(t *testing.T) {
	for pointer, spots := range map[string][][2]float64{
		"/ball_x_m": {{33, 5}, {-40, 5}},
		"/ball_y_m": {{0, 0}, {.5, 0}, {0, -1}, {0, -18}, {0, 120}},
		"":          {{3, 0}, {0, .1}, {0, -3}, {-28, 40}},
	} {
		for _, at := range spots {
			s := seenFrom("mens_field", at[0], at[1])
			faults := s.Shot.Fields.Contradictions(ShotPlace{Competition: s.Competition})
			if pointer == "" {
				assert.Empty(t, faults, "%v", at)
			} else if assert.Len(t, faults, 1, "%v", at) {
				assert.Equal(t, pointer, faults[0].Pointer, "%v", at)
			}
		}
	}
	floor := seenFrom("box", 15.9, 5)
	assert.NotEmpty(t, floor.Shot.Fields.Contradictions(ShotPlace{Competition: floor.Competition}), "a box floor is narrower")
}
