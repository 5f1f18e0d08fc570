package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func fieldOf(t *testing.T, name string, s *CountedShot) any {
	t.Helper()
	f, ok := ShotFieldNamed(name)
	assert.True(t, ok, name)
	return f.Value(s)
}

func TestPlacesAreWorkedOut(t *testing.T) {
	s := shotOf(ShotFields{Outcome: Goal, BallXM: new(-4.0), BallYM: new(4.0), FinishXM: new(-.8), FinishUpM: new(.2)})
	s.Competition = CompetitionFields{CodeOfPlay: "mens_field", GoalWidthM: 1.83, GoalHeightM: 1.83}
	assert.InDelta(t, 45, fieldOf(t, "bearing_deg", s), 1e-9)
	assert.Equal(t, "alley", fieldOf(t, "area", s))
	assert.Equal(t, "near", fieldOf(t, "pipe", s))
	s.Shot.Fields.FinishXM = new(.8)
	assert.Equal(t, "far", fieldOf(t, "pipe", s))

	s.Shot.Fields.BallXM, s.Shot.Fields.BallYM = new(0.0), new(5.0)
	assert.Equal(t, "inside", fieldOf(t, "area", s))
	assert.Nil(t, fieldOf(t, "pipe", s), "straight out there is no near pipe")
	s.Competition.CodeOfPlay = "box"
	assert.Equal(t, "top", fieldOf(t, "area", s), "the inside of box is smaller")

	s.Shot.Fields.BallXM, s.Shot.Fields.BallYM = new(0.0), new(0.0)
	assert.Nil(t, fieldOf(t, "bearing_deg", s))
	bare := shotOf(ShotFields{Outcome: Save})
	for _, name := range []string{"bearing_deg", "area", "pipe", "change_of_plane", "clear_result"} {
		assert.Nil(t, fieldOf(t, name, bare), name)
	}
}

func TestASideAloneTellsOnlyTheMiddle(t *testing.T) {
	s := shotOf(ShotFields{Outcome: Save, BallXM: new(4.0), BallYM: new(4.0), FinishSide: new(Middle)})
	assert.Equal(t, "middle", fieldOf(t, "pipe", s))
	s.Shot.Fields.FinishSide = new(OffSide)
	assert.Nil(t, fieldOf(t, "pipe", s))
	assert.Nil(t, fieldOf(t, "pipe", shotOf(ShotFields{Outcome: Wide, FinishXM: new(.1), BallXM: new(4.0), BallYM: new(4.0)})))
}

func TestChangeOfPlane(t *testing.T) {
	for _, c := range []struct {
		release, finish Band
		want            string
	}{
		{High, Low, "full"}, {Low, High, "full"}, {High, Mid, "part"}, {Mid, Low, "part"}, {Low, Mid, "part"},
		{Mid, High, "part"}, {Mid, Mid, "none"}, {Low, Low, "none"}, {High, High, "none"},
	} {
		s := shotOf(ShotFields{Outcome: Save, ReleaseLevel: &c.release, FinishBand: &c.finish})
		assert.Equal(t, c.want, fieldOf(t, "change_of_plane", s), "%s to %s", c.release, c.finish)
		s.Shot.Fields.Deflected = true
		assert.Nil(t, fieldOf(t, "change_of_plane", s))
	}
}

func TestClearResultIsOfTheClearThatNamesTheShot(t *testing.T) {
	s := shotOf(ShotFields{Outcome: Save})
	s.Clear = new(ClearFailed)
	assert.Equal(t, "failed", fieldOf(t, "clear_result", s))
	assert.Equal(t, False, Clause{Field: "clear_result", Is: "cleared"}.Eval(s))
	assert.NotEmpty(t, Clause{Field: "clear_result", Is: "won"}.Check())
}

// TestASideTellsThePipeByTheStick: the same side lies at the near pipe of one goalie and at the far one of the other.
func TestASideTellsThePipeByTheStick(t *testing.T) {
	for name, c := range map[string]struct {
		side Side
		hand Hand
		want any
	}{
		"stick side, right, ball to the right": {StickSide, Right, "near"}, "stick side, left": {StickSide, Left, "far"},
		"off side, right": {OffSide, Right, "far"}, "off side, left": {OffSide, Left, "near"},
		"middle": {Middle, Right, "middle"}, "middle of nobody": {Middle, "", "middle"}, "hand not known": {StickSide, "", nil},
	} {
		s := &CountedShot{StickHand: c.hand, Competition: CompetitionFields{GoalWidthM: 1.829, GoalHeightM: 1.829},
			Shot: Shot{Fields: ShotFields{Outcome: Save, BallXM: new(5.0), BallYM: new(5.0), FinishSide: &c.side}}}
		pipe, ok := ShotFieldNamed("pipe")
		assert.True(t, ok)
		assert.Equal(t, c.want, pipe.Value(s), name)
	}
}
