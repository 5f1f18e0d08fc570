package domain

import (
	"math"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
)

// placed is a shot of which everything was marked: straight out from 9 m, after a pass from the right alley, the goalie
// 12 cm to their right of the bisector and 0.6 m out.
func placed() *CountedShot {
	s := seenFrom("mens_field", 0, 9)
	f := &s.Shot.Fields
	f.PassXM, f.PassYM, f.CatchToReleaseS = new(5.0), new(5.0), new(.5)
	f.ReleaseUpM, f.SpeedMS, f.FinishXM, f.FinishUpM = new(1.5), new(30.0), new(0.0), new(.5)
	f.GoalieXM, f.GoalieYM, f.BallUncertainM, f.GoalieUncertainM = new(.12), new(.6), new(.08), new(.05)
	s.Competition.ArcApexM = new(.7)
	return s
}

func TestFactsAreFields(t *testing.T) {
	s := placed()
	for name, want := range map[string]float64{
		"swing_deg": 45, "flight_time_s": .3, "vertical_angle_deg": -math.Atan(1.0/9) * 180 / math.Pi, "depth_m": .6,
		"out_along_bisector_m": .6, "off_angle_cm": 12, "off_angle_deg": math.Atan(.12/8.4) * 180 / math.Pi,
		"release_up_m": 1.5, "speed_ms": 30, "catch_to_release_s": .5,
	} {
		assert.InDelta(t, want, fieldOf(t, name, s), 1e-9, name)
	}
	assert.Equal(t, false, fieldOf(t, "crossed_middle", s), "to the line, not over it")
	assert.Equal(t, false, fieldOf(t, "went_behind", s))
	assert.InDelta(t, 2*fieldOf(t, "travel_m", s).(float64), fieldOf(t, "travel_speed_ms", s), 1e-9)
	assert.Nil(t, fieldOf(t, "off_angle_toward", s), "straight out there is no near pipe")
	s.Shot.Fields.BallXM, s.Shot.Fields.BallYM = new(-6.0), new(6.0)
	s.Shot.Fields.GoalieXM = new(0.0)
	assert.Equal(t, "far", fieldOf(t, "off_angle_toward", s))
	s.Shot.Fields.GoalieXM = new(-.6)
	s.Shot.Fields.GoalieYM = new(.3)
	assert.Equal(t, "near", fieldOf(t, "off_angle_toward", s))
	assert.Equal(t, true, fieldOf(t, "crossed_middle", s))

	bare := seenFrom("mens_field", 0, 9)
	for _, name := range []string{"swing_deg", "crossed_middle", "went_behind", "travel_m", "travel_speed_ms", "flight_time_s",
		"vertical_angle_deg", "depth_m", "out_along_bisector_m", "off_angle_cm", "off_angle_deg", "off_angle_toward",
		"release_up_m", "speed_ms", "catch_to_release_s"} {
		assert.Nil(t, fieldOf(t, name, bare), name)
	}
}

func TestSpotsThatAreKnownWellWinOverTheEye(t *testing.T) {
	s := placed()
	s.Shot.Fields.Arrival = new(Arrival("cross_feed"))
	answer := func(habit string) any { return habitField(habit).Value(s) }
	s.Reading = &Reading{Fields: ReadingFields{Habits: map[string]Answer{"on_angle": No, "set_before_release": Yes}}}
	assert.Equal(t, "yes", answer("on_angle"), "12 cm off is on the angle")
	assert.Equal(t, "yes", answer("across_in_time"))
	assert.Equal(t, "yes", answer("depth_held"), "0.1 m from the arc")
	s.Shot.Fields.GoalieXM, s.Shot.Fields.GoalieYM = new(.16), new(1.1)
	assert.Equal(t, "no", answer("on_angle"))
	assert.Equal(t, "no", answer("across_in_time"))
	assert.Equal(t, "no", answer("depth_held"))
	s.Shot.Fields.GoalieUncertainM = new(.11)
	s.Reading.Fields.Habits["on_angle"] = Yes
	assert.Equal(t, "yes", answer("on_angle"), "not known well enough: the eye")
	assert.Nil(t, answer("depth_held"))
	s.Shot.Fields.GoalieUncertainM = nil
	assert.Equal(t, "yes", answer("on_angle"), "a tap tells nothing")
	s.Reading = nil
	assert.Nil(t, answer("on_angle"))
}

// The pass from straight out at a bearing is a swing of as many degrees to a ball straight out.
func TestWentAcross(t *testing.T) {
	passed := func(degrees float64) func(*ShotFields) {
		return func(f *ShotFields) {
			sin, cos := math.Sincos(degrees * math.Pi / 180)
			f.PassXM, f.PassYM = new(8*sin), new(8*cos)
		}
	}
	over := func(f *ShotFields) { f.BallXM, f.PassXM, f.PassYM = new(-2.0), new(2.0), new(9.0) } // 25 degrees
	none := func(*ShotFields) {}
	for _, c := range []struct {
		arrival string
		marked  func(*ShotFields)
		want    any
	}{
		{"cross_feed", none, true}, {"cross_feed", passed(5), true},
		{"feed", passed(60.01), true}, {"feed", passed(-60.01), true}, {"feed", passed(59.99), false}, {"feed", over, false},
		{"feed_from_behind", passed(150), true}, {"dodge", passed(70), true}, {"", passed(61), true},
		{"feed", none, nil}, {"feed_from_behind", none, nil}, {"", none, nil},
		{"", passed(59), false}, {"", over, nil}, // it may have been a cross feed
		{"dodge", none, false}, {"rebound", none, false}, {"ground_ball", none, false}, {"restart", none, false},
	} {
		s := seenFrom("mens_field", 0, 9)
		if c.arrival != "" {
			s.Shot.Fields.Arrival = new(Arrival(c.arrival))
		}
		c.marked(&s.Shot.Fields)
		assert.Equal(t, c.want, fieldOf(t, "went_across", s), "%+v", c)
	}
	bare := shotOf(ShotFields{Outcome: Save, Arrival: new(Arrival("cross_feed"))})
	assert.Equal(t, true, fieldOf(t, "went_across", bare), "no spot is needed")
	assert.Equal(t, True, Clause{Field: "went_across", Is: true}.Eval(bare))
}

func TestAcrossInTimeIsOfBallsThatCameAcrossOrFromBehind(t *testing.T) {
	s := placed()
	s.Reading = &Reading{Fields: ReadingFields{Habits: map[string]Answer{"set_before_release": Yes}}}
	for arrival, want := range map[Arrival]any{"cross_feed": "yes", "feed_from_behind": "yes", "feed": nil, "dodge": nil} {
		s.Shot.Fields.Arrival = &arrival
		assert.Equal(t, want, habitField("across_in_time").Value(s), arrival)
	}
	s.Shot.Fields.Arrival, s.Shot.Fields.PassYM = new(Arrival("feed")), new(0.0)
	assert.Equal(t, "yes", habitField("across_in_time").Value(s), "a swing of 90 degrees")
	s.Shot.Fields.GoalieXM = new(.2)
	assert.Equal(t, "no", habitField("across_in_time").Value(s))
	assert.Nil(t, habitField("square_to_ball").Value(s), "spots tell nothing of hips")
}

// With the bisector as the axis of a frame a shade of so many centimetres moves the goalie as many the other way.
func TestTheCompetitionsShadeAndArcAreReadAgainst(t *testing.T) {
	s := placed()
	for _, ball := range []float64{-6, 6} {
		s.Shot.Fields.BallXM, s.Shot.Fields.BallYM, s.Shot.Fields.GoalieXM = &ball, new(6.0), new(ball/20)
		off := func(shade *float64) float64 {
			s.Competition.ShadeNearM = shade
			facts, ok := s.Facts()
			assert.True(t, ok)
			return facts.Stance.OffCM * ball / 6 // toward the near pipe
		}
		assert.InDelta(t, off(nil)-8, off(new(.08)), 1e-9)
		assert.InDelta(t, off(nil)+8, off(new(-.08)), 1e-9)
	}
	s = placed()
	travel := fieldOf(t, "travel_m", s)
	s.Competition.ArcHalfStanceM = new(.4)
	assert.Less(t, fieldOf(t, "travel_m", s), travel, "a narrower arc is a shorter way")
	s.Competition.ArcApexM = nil
	for _, name := range []string{"travel_m", "travel_speed_ms"} {
		assert.Nil(t, fieldOf(t, name, s), name)
	}
	assert.Nil(t, habitField("depth_held").Value(s), "no arc, so no depth to hold")
}

// Facts are worked out for every shot that is shown or counted, so they leave nothing for the collector.
func TestFactsTakeNoMemory(t *testing.T) {
	s := placed()
	s.Competition.ArcHalfStanceM, s.Competition.ShadeNearM = new(.25), new(.1)
	assert.Zero(t, testing.AllocsPerRun(100, func() { _, _ = s.Facts() }))
}

// TestRememberedFactsAreTheFacts: every field says the same, whoever asks first, and of a shot without any facts too.
func TestRememberedFactsAreTheFacts(t *testing.T) {
	bad := placed()
	bad.Shot.Fields.PassXM = new(60.0) // off the field, so that the ball's spot alone tells something
	for _, s := range []*CountedShot{placed(), seenFrom("womens_field", 4, 4), bad, shotOf(ShotFields{Outcome: Save})} {
		kept := *s
		kept.Remember()
		var asking sync.WaitGroup
		for range 4 {
			asking.Go(func() {
				for _, f := range ShotFieldList {
					assert.Equal(t, f.Value(s), f.Value(&kept), f.Name)
				}
			})
		}
		asking.Wait()
	}
}

func TestSpotsWhereNobodyCanBeAreRefused(t *testing.T) {
	for pointer, change := range map[string]func(*ShotFields){
		"/ball_y_m":   func(f *ShotFields) { f.BallYM = new(-1.0) },
		"/pass_y_m":   func(f *ShotFields) { f.PassXM, f.PassYM = new(0.0), new(-1.0) },
		"/pass_x_m":   func(f *ShotFields) { f.PassXM = new(60.0) },
		"/goalie_x_m": func(f *ShotFields) { f.GoalieXM = new(60.0) },
		"/goalie_y_m": func(f *ShotFields) { f.GoalieYM = new(-25.0) },
	} {
		s := placed()
		change(&s.Shot.Fields)
		faults := s.Shot.Fields.Contradictions(ShotPlace{Competition: s.Competition})
		if assert.Len(t, faults, 1, pointer) {
			assert.Equal(t, pointer, faults[0].Pointer)
		}
	}
	assert.Empty(t, placed().Shot.Fields.Contradictions(ShotPlace{Competition: placed().Competition}))
}
