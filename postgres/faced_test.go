package postgres_test

import (
	"encoding/json"
	"testing"

	"cagework/domain"

	"github.com/stretchr/testify/require"
)

// cage is a scene with a second goalie and shots whose goalie is to be found: a on the clock in the first period, b on
// the clock in the third, f on film only, and given, which names its goalie.
type cage struct {
	*scene
	other   domain.Goalie
	a, b, f domain.Shot
	given   domain.Shot
}

func newCage(t *testing.T) *cage {
	t.Helper()
	c := &cage{scene: newScene(t)}
	st := c.stores
	c.given = c.shot
	c.other = made(t, st.Goalies, c.director, "other", goalieCalled("Juno"))
	c.a = made(t, st.Shots, c.director, "a", c.shotAt(1, 700, domain.Goal))
	c.b = made(t, st.Shots, c.director, "b", c.shotAt(3, 100, domain.Wide))
	c.f = made(t, st.Shots, c.director, "f", domain.ShotFields{GameID: c.game.ID, Outcome: domain.Save, FilmMs: new(5_000)})
	return c
}

// faced asks whose a shot is, and that it has a history of so many changes whose newest is its rev.
func (c *cage) faced(t *testing.T, shot domain.Shot, how string, goalie, stint *domain.ID, changes int) {
	t.Helper()
	now, err := c.stores.Shots.Get(t.Context(), c.director, shot.ID)
	require.NoError(t, err)
	want := domain.ShotFound{ElapsedS: shot.Found.ElapsedS, FacedGoalieID: goalie, FacedStintID: stint}
	require.Equal(t, how, string(now.Found.FacedHow))
	want.FacedHow = now.Found.FacedHow
	want.Warnings, want.Derived = now.Found.Warnings, now.Found.Derived // worked out, not found
	require.Equal(t, want, now.Found)
	require.Equal(t, shot.Fields, now.Fields, "what was charted stays")
	history := c.history(t, c.program.ID, shot.ID)
	require.Len(t, history, changes)
	require.Equal(t, now.Rev, history[changes-1].Rev)
	for _, h := range history {
		require.NotNil(t, h.MemberID, "%s %d was somebody's doing", h.Op, h.Rev)
		require.Equal(t, c.director.MemberID, *h.MemberID)
	}
}

func TestWhoseShotIsFoundAgainWhenAStintChanges(t *testing.T) {
	t.Parallel()
	c := newCage(t)
	stints, wren, juno := c.stores.Stints, &c.goalie.ID, &c.other.ID
	for _, shot := range []domain.Shot{c.a, c.b, c.f} {
		c.faced(t, shot, "unresolved", nil, nil, 1)
	}
	c.faced(t, c.given, "given", wren, nil, 1)

	first := made(t, stints, c.director, "first", c.stint(wren, 1, 720, 2, 0))
	for _, shot := range []domain.Shot{c.a, c.b, c.f} {
		c.faced(t, shot, "only_goalie", wren, nil, 2)
	}

	fields := c.stint(juno, 2, 0, 4, 0)
	fields.StartFilmMs, fields.EndFilmMs = new(4_000), new(6_000)
	second := made(t, stints, c.director, "second", fields)
	c.faced(t, c.a, "stint_clock", wren, &first.ID, 3)
	c.faced(t, c.b, "stint_clock", juno, &second.ID, 3)
	c.faced(t, c.f, "stint_film", juno, &second.ID, 3)

	fields.GoalieID = nil
	empty, err := stints.Patch(t.Context(), c.director, second.ID, at(second.Rev), to(fields))
	require.NoError(t, err)
	c.faced(t, c.a, "stint_clock", wren, &first.ID, 3)
	c.faced(t, c.b, "empty_cage", nil, &second.ID, 4)
	c.faced(t, c.f, "empty_cage", nil, &second.ID, 4)

	require.NoError(t, stints.Remove(t.Context(), c.director, empty.ID, at(empty.Rev)))
	for _, shot := range []domain.Shot{c.b, c.f} {
		c.faced(t, shot, "only_goalie", wren, nil, 5)
	}
	c.faced(t, c.a, "only_goalie", wren, nil, 4)
	require.NoError(t, stints.Remove(t.Context(), c.director, first.ID, anyRev))
	c.faced(t, c.a, "unresolved", nil, nil, 5)
	c.faced(t, c.given, "given", wren, nil, 1)

	var was domain.ShotFound
	require.NoError(t, json.Unmarshal(c.history(t, c.program.ID, c.f.ID)[3].BeforeFound, &was))
	require.Equal(t, domain.ShotFound{FacedGoalieID: juno, FacedStintID: &second.ID, FacedHow: "stint_film"}, was)
	c.lastRev(t, c.program.ID)
}

func TestAShotIsFoundWhenItIsWritten(t *testing.T) {
	t.Parallel()
	c := newCage(t)
	shots, wren, juno := c.stores.Shots, &c.goalie.ID, &c.other.ID
	first := made(t, c.stores.Stints, c.director, "first", c.stint(wren, 1, 720, 2, 0))
	second := made(t, c.stores.Stints, c.director, "second", c.stint(juno, 2, 0, 4, 0))
	shared := made(t, shots, c.director, "shared", c.shotAt(2, 0, domain.Goal))
	c.faced(t, shared, "stint_clock", wren, &first.ID, 1)
	require.Equal(t, 1440, *shared.Found.ElapsedS)

	late := c.shotAt(4, 10, domain.Goal)
	now, err := shots.Patch(t.Context(), c.director, shared.ID, anyRev, to(late))
	require.NoError(t, err)
	require.Equal(t, domain.ShotFound{ElapsedS: new(2870), FacedGoalieID: juno, FacedStintID: &second.ID, FacedHow: "stint_clock", Warnings: []domain.FieldError{}, Derived: now.Found.Derived}, now.Found)
	late.GoalieID = wren
	now, err = shots.Patch(t.Context(), c.director, shared.ID, anyRev, to(late))
	require.NoError(t, err)
	require.Equal(t, domain.ShotFound{ElapsedS: new(2870), FacedGoalieID: wren, FacedHow: "given", Warnings: now.Found.Warnings, Derived: now.Found.Derived}, now.Found)

	late.ClockS = new(721)
	_, err = shots.Patch(t.Context(), c.director, shared.ID, anyRev, to(late))
	require.Equal(t, "/clock_s", refused(t, domain.Invalid, err).Fields[0].Pointer)
	late.GameID = id("another game")
	_, err = shots.Patch(t.Context(), c.director, shared.ID, anyRev, to(late))
	require.Equal(t, "/game_id", refused(t, domain.Invalid, err).Fields[0].Pointer)
	_, _, err = shots.Put(t.Context(), c.director, id("lost"), late)
	require.Equal(t, "/game_id", refused(t, domain.Invalid, err).Fields[0].Pointer)
}

func TestStintsDoNotOverlap(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	stints, wren := s.stores.Stints, &s.goalie.ID
	first := made(t, stints, s.director, "first", s.stint(wren, 1, 720, 2, 0))
	made(t, stints, s.director, "touching", s.stint(nil, 2, 0, 3, 0))
	before := s.digest(t)
	for _, fields := range []domain.StintFields{s.stint(wren, 1, 720, 1, 719), s.stint(nil, 2, 1, 3, 700), s.stint(nil, 1, 720, 6, 0)} {
		_, _, err := stints.Put(t.Context(), s.director, id("overlapping"), fields)
		require.Equal(t, "/start_clock_s", refused(t, domain.InTheWay, err).Fields[0].Pointer)
	}
	_, err := stints.Patch(t.Context(), s.director, first.ID, anyRev, to(s.stint(wren, 1, 720, 3, 719)))
	refused(t, domain.InTheWay, err)
	_, err = stints.Patch(t.Context(), s.director, first.ID, anyRev, to(s.stint(wren, 2, 0, 1, 0)))
	require.Equal(t, "/end_clock_s", refused(t, domain.Invalid, err).Fields[0].Pointer)
	require.Equal(t, before, s.digest(t))
	_, err = stints.Patch(t.Context(), s.director, first.ID, anyRev, to(s.stint(wren, 1, 600, 1, 0)))
	require.NoError(t, err, "it does not overlap itself")
}

// TestAnArcIsInWhatFollowsFromShots: a competition's arc reaches the shot that is shown and the shot that is counted, those of
// games that were charted before it was set too.
func TestAnArcIsInWhatFollowsFromShots(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	f := s.shotAt(3, 100, domain.Save)
	f.GoalieID, f.BallXM, f.BallYM, f.PassXM, f.PassYM = &s.goalie.ID, new(0.0), new(9.0), new(5.0), new(5.0)
	f.GoalieXM, f.GoalieYM, f.BallUncertainM, f.GoalieUncertainM = new(0.05), new(0.6), new(0.05), new(0.05)
	shot := made(t, s.stores.Shots, s.director, "placed", f)
	for apex, want := range map[*float64]any{new(0.8): "yes", new(1.0): "no", nil: nil} {
		competition := s.competition.Fields
		competition.ArcApexM = apex
		_, err := s.stores.Competitions.Patch(t.Context(), s.director, s.competition.ID, anyRev, to(competition))
		require.NoError(t, err)
		shown, err := s.stores.Shots.Get(t.Context(), s.director, shot.ID)
		require.NoError(t, err)
		line, err := s.stores.Lines.Goalie(t.Context(), s.director, s.goalie.ID, domain.Span{}, nil)
		require.NoError(t, err)
		for _, counted := range line.Faced.Shots {
			if counted.Shot.ID != shot.ID {
				continue
			}
			facts, ok := counted.Facts()
			require.True(t, ok)
			require.Equal(t, apex != nil, facts.TravelKnown)
			if want == nil {
				require.Nil(t, shown.Found.Derived.TravelM)
				require.Nil(t, shown.Found.Derived.DepthHeld)
				continue
			}
			require.InDelta(t, facts.Travel.StraightM, *shown.Found.Derived.TravelM, 1e-12)
			require.EqualValues(t, want, *shown.Found.Derived.DepthHeld)
			require.Equal(t, domain.True, domain.Clause{Field: "depth_held", Is: want}.Eval(counted))
		}
	}
}
