package domain

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func goodTarget() TargetFields {
	return Starter(NameID(ID{}, "program")).Targets[0].Fields
}

func TestCountIsOfKnownShotsOnly(t *testing.T) {
	target := TargetFields{
		Kinds: []GameKind{KindGame},
		Of:    []Clause{{Field: "on_goal", Is: true}, {Field: "finish_band", Is: "low"}},
		Hit:   []Clause{{Field: "rebound", In: []string{"held", "directed"}}},
	}
	in := func(f ShotFields, kind GameKind) *CountedShot {
		s := shotOf(f)
		s.Game.Fields.Kind = kind
		return s
	}
	held := in(ShotFields{Outcome: Save, FinishBand: new(Low), Rebound: new(Rebound("held"))}, KindGame)
	loose := in(ShotFields{Outcome: Save, FinishBand: new(Low), Rebound: new(Rebound("loose_won"))}, KindGame)
	tally := target.Count([]*CountedShot{
		held, loose,
		in(ShotFields{Outcome: Save, FinishBand: new(Low)}, KindGame),                                     // unseen
		in(ShotFields{Outcome: Save, Rebound: new(Rebound("held"))}, KindGame),                            // of unknown
		in(ShotFields{Outcome: Save, FinishBand: new(High), Rebound: new(Rebound("held"))}, KindGame),     // of false
		in(ShotFields{Outcome: Wide}, KindGame),                                                           // of false
		in(ShotFields{Outcome: Save, FinishBand: new(Low), Rebound: new(Rebound("held"))}, KindScrimmage), // other kind
	})
	assert.Equal(t, Tally{Hits: 1, Tries: 2, Unseen: 1, Made: []*CountedShot{held}, Missed: []*CountedShot{loose}}, tally)
}

func TestNotSeenIsNeverAMiss(t *testing.T) {
	target := TargetFields{Kinds: []GameKind{KindGame}, Of: []Clause{}, Hit: []Clause{{Field: "on_angle", Is: "yes"}}}
	var shots []*CountedShot
	for _, s := range []*CountedShot{readAs(Yes), readAs(No), readAs(NotSeen), shotOf(ShotFields{Outcome: Save})} {
		s.Game.Fields.Kind = KindGame
		shots = append(shots, s)
	}
	tally := target.Count(shots)
	assert.Equal(t, []int{1, 2, 2}, []int{tally.Hits, tally.Tries, tally.Unseen})
}

// The put-back of a rebound is no try of being set, seen or unseen; a shot whose arrival nobody charted may be one.
func TestAHabitThatCannotBeReadIsNoTry(t *testing.T) {
	target := TargetFields{Kinds: []GameKind{KindGame}, Of: []Clause{}, Hit: []Clause{{Field: "set_before_release", Is: "yes"}}}
	with := func(arrival *Arrival, answer Answer) *CountedShot {
		s := shotOf(ShotFields{Outcome: Goal, Arrival: arrival})
		s.Game.Fields.Kind, s.Competition.CodeOfPlay = KindGame, "mens_field"
		s.Habits = Starter(ID{}).Habits
		s.Reading = &Reading{Fields: ReadingFields{Habits: map[string]Answer{"set_before_release": answer}}}
		return s
	}
	rebound, feed := new(Arrival("rebound")), new(Arrival("feed"))
	tally := target.Count([]*CountedShot{
		with(rebound, No), with(rebound, NotSeen), with(feed, No), with(feed, NotSeen), with(nil, Yes),
	})
	assert.Equal(t, []int{1, 2, 1}, []int{tally.Hits, tally.Tries, tally.Unseen})
}

func TestRateFor(t *testing.T) {
	f := TargetFields{Rates: []TargetRate{{"mens_field", "college", .5, "x"}, {"womens_field", "college", .4, "x"}}}
	assert.InDelta(t, .4, *f.RateFor("womens_field", "college"), 0)
	assert.Nil(t, f.RateFor("box", "college"))
	assert.Nil(t, f.RateFor("mens_field", "10u"))
}

func TestTargetCheck(t *testing.T) {
	require.Empty(t, goodTarget().Check())
	refuses(t, goodTarget, map[string]func(*TargetFields){
		"/code":           func(f *TargetFields) { f.Code = "Low Save" },
		"/name":           func(f *TargetFields) { f.Name = " " },
		"/cue":            func(f *TargetFields) { f.Cue = "one two three four five six" },
		"/of":             func(f *TargetFields) { f.Of = nil },
		"/of/0":           func(f *TargetFields) { f.Of = []Clause{{Field: "x", Is: "y"}} },
		"/hit":            func(f *TargetFields) { f.Hit = []Clause{} },
		"/kinds":          func(f *TargetFields) { f.Kinds = nil },
		"/weeks":          func(f *TargetFields) { f.Weeks = 53 },
		"/min_tries":      func(f *TargetFields) { f.MinTries = 0 },
		"/cause":          func(f *TargetFields) { f.Cause = 101 },
		"/rates":          func(f *TargetFields) { f.Rates = nil },
		"/rates/0/rate":   func(f *TargetFields) { f.Rates = []TargetRate{{"box", "10u", 1, "x"}} },
		"/rates/0/source": func(f *TargetFields) { f.Rates = []TargetRate{{"box", "10u", .5, ""}} },
		"/rates/0/level":  func(f *TargetFields) { f.Rates = []TargetRate{{"box", "9u", .5, "x"}} },
		"/rates/1": func(f *TargetFields) {
			f.Rates = []TargetRate{{"box", "10u", .5, "x"}, {"box", "10u", .6, "x"}}
		},
	})
}

// refuses checks that each change to a good record is refused at its pointer.
func refuses[F Fields](t *testing.T, good func() F, changes map[string]func(*F)) {
	t.Helper()
	for pointer, change := range changes {
		// what follows a # only tells apart several ways to break one field
		pointer, _, _ := strings.Cut(pointer, "#")
		f := good()
		change(&f)
		faults := f.Check()
		if assert.NotEmpty(t, faults, pointer) {
			assert.Equal(t, pointer, faults[0].Pointer)
			assert.NotEmpty(t, faults[0].Detail)
		}
	}
}
