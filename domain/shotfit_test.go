package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// The goal is 6 ft square, so its thirds are 0.6096 m and its posts stand 0.9144 m from the middle. The slack of a
// band or side is the ball's radius, 0.0318 m; of the opening the ball's diameter, 0.0637 m; and the uncertainty
// stated comes on top of both.
func sixFootGoal(hand Hand) ShotPlace {
	comp := quarters
	comp.CodeOfPlay, comp.GoalWidthM, comp.GoalHeightM = "mens_field", 1.8288, 1.8288
	return ShotPlace{Competition: comp, Goalie: &GoalieFields{StickHand: hand}}
}

func finish(outcome Outcome, x, up float64) ShotFields {
	f := goodShot()
	f.Outcome, f.FinishXM, f.FinishUpM = outcome, &x, &up
	return f
}

func pointers(faults []FieldError) []string {
	out := []string{}
	for _, f := range faults {
		out = append(out, f.Pointer)
	}
	return out
}

func TestBandsFromBothSidesOfTheirBorders(t *testing.T) {
	for _, c := range []struct {
		band      Band
		up        float64
		uncertain *float64
		refused   bool
	}{
		{Mid, .1, nil, true},
		{Low, 0, nil, false}, {Low, .609, nil, false}, {Low, .640, nil, false}, {Low, .643, nil, true},
		{Mid, .579, nil, false}, {Mid, .576, nil, true}, {Mid, 1.250, nil, false}, {Mid, 1.253, nil, true},
		{High, 1.188, nil, false}, {High, 1.185, nil, true}, {High, 1.8288, nil, false}, {High, 1.89, nil, false},
		{Low, .740, new(.1), false}, {Low, .743, new(.1), true}, {High, 1.088, new(.1), false}, {High, 1.085, new(.1), true},
	} {
		f := finish(Save, 0, c.up)
		f.FinishBand, f.FinishUncertainM = &c.band, c.uncertain
		want := []string{}
		if c.refused {
			want = []string{"/finish_band"}
		}
		assert.Equal(t, want, pointers(f.Contradictions(sixFootGoal(Right))), "%s at %.3f", c.band, c.up)
	}
}

func TestSidesFromBothSidesOfTheirBorders(t *testing.T) {
	for _, c := range []struct {
		side    Side
		x       float64 // for a goalie whose stick is on the right; mirrored for the left
		refused bool
	}{
		{StickSide, .914, false}, {StickSide, .97, false}, {StickSide, .274, false}, {StickSide, .272, true}, {StickSide, -.5, true},
		{Middle, 0, false}, {Middle, .336, false}, {Middle, .338, true}, {Middle, -.336, false}, {Middle, -.338, true},
		{OffSide, -.914, false}, {OffSide, -.97, false}, {OffSide, -.274, false}, {OffSide, -.272, true}, {OffSide, .5, true},
	} {
		for hand, mirror := range map[Hand]float64{Right: 1, Left: -1} {
			f := finish(Goal, c.x*mirror, 1)
			f.FinishSide = &c.side
			want := []string{}
			if c.refused {
				want = []string{"/finish_side"}
			}
			assert.Equal(t, want, pointers(f.Contradictions(sixFootGoal(hand))), "%s at %.3f, %s", c.side, c.x, hand)
			nobody := sixFootGoal(hand)
			nobody.Goalie = nil
			assert.Empty(t, f.Contradictions(nobody), "without a goalie there is no stick side")
		}
	}
}

func TestAFinishOutsideTheOpening(t *testing.T) {
	for _, outcome := range []Outcome{Save, Goal, OwnGoal} {
		for _, c := range []struct {
			x, up           float64
			uncertain       *float64
			refused, warned bool
		}{
			{.914, 1.828, nil, false, false},
			{.92, 1, nil, false, true}, {.977, 1, nil, false, true}, {.979, 1, nil, true, true},
			{-.977, 1, nil, false, true}, {-.979, 1, nil, true, true},
			{0, 1.892, nil, false, true}, {0, 1.893, nil, true, true},
			{.9144 + .03, 1.8288 + .04, nil, false, true}, // 0.05 m past the corner
			{.9144 + .06, 1.8288 + .08, nil, true, true},  // 0.10 m past it
			{1.077, 1, new(.1), false, true}, {1.079, 1, new(.1), true, true},
		} {
			f := finish(outcome, c.x, c.up)
			f.FinishUncertainM = c.uncertain
			refused, warned := f.Contradictions(sixFootGoal(Right)), f.Warnings(ShotFound{}, sixFootGoal(Right))
			assert.Equal(t, c.refused, len(refused) == 1, "%s at %.3f, %.3f", outcome, c.x, c.up)
			assert.Equal(t, c.warned, len(warned) == 1, "%s at %.3f, %.3f", outcome, c.x, c.up)
			for _, fault := range append(refused, warned...) {
				assert.Equal(t, "/finish_x_m", fault.Pointer)
			}
		}
	}
}

func TestAWideShotMayFinishAnywhereOutside(t *testing.T) {
	for _, c := range []struct {
		outcome Outcome
		x       float64
		want    []string
	}{
		{Wide, 3, []string{}}, {Wide, .914, []string{"/outcome"}}, {Wide, 0, []string{"/outcome"}}, {Blocked, 2, []string{}},
		// The post reaches from .9145 to .9628 m, the ball .0318 m to either side of its middle.
		{Wide, .9948, []string{}}, {Wide, .9944, []string{"/outcome"}}, {Wide, -.9944, []string{"/outcome"}},
		{Pipe, .93, []string{}}, {Pipe, .9944, []string{}}, {Pipe, .9948, []string{"/outcome"}}, {Pipe, .8829, []string{}},
		{Pipe, .8825, []string{"/outcome"}}, {Pipe, 0, []string{"/outcome"}},
	} {
		f := finish(c.outcome, c.x, 1)
		assert.Empty(t, f.Contradictions(sixFootGoal(Right)))
		assert.Equal(t, c.want, pointers(f.Warnings(ShotFound{}, sixFootGoal(Right))), "%s at %.3f", c.outcome, c.x)
	}
}

func TestAnOutcomeAtTheFrameAllowsForTheUncertainty(t *testing.T) {
	for _, c := range []struct {
		outcome      Outcome
		x, uncertain float64
	}{{Pipe, .8, .09}, {Wide, .95, .06}} {
		f := finish(c.outcome, c.x, 1)
		assert.Equal(t, []string{"/outcome"}, pointers(f.Warnings(ShotFound{}, sixFootGoal(Right))))
		f.FinishUncertainM = &c.uncertain
		assert.Empty(t, f.Warnings(ShotFound{}, sixFootGoal(Right)), c.outcome)
	}
}

func TestNothingIsHeldAgainstAShotWithoutItsFinish(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := goodShot()
		f.Outcome = rapid.SampledFrom(Outcomes).Draw(t, "outcome")
		f.FinishBand, f.FinishSide = new(rapid.SampledFrom(Bands).Draw(t, "band")), new(rapid.SampledFrom(Sides).Draw(t, "side"))
		assert.Empty(t, f.Contradictions(sixFootGoal(Left)))
		assert.Equal(t, []FieldError{}, f.Warnings(ShotFound{}, sixFootGoal(Left)), "a list, never null")
	})
}
