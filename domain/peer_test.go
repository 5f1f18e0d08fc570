package domain

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

var peerWeek = Week{Year: 2026, Number: 15} // ends on 12 April

// peerTarget counts saves among shots on goal over some weeks.
func peerTarget(name string, weeks int, active bool) Target {
	return Target{ID: NameID(ID{}, name), Fields: TargetFields{
		Of: []Clause{{Field: "on_goal", Is: true}}, Hit: []Clause{{Field: "outcome", Is: "save"}},
		Kinds: []GameKind{KindGame}, Weeks: weeks, Active: active,
		Rates: []TargetRate{{CodeOfPlay: "mens_field", Level: "college", Rate: .5}, {CodeOfPlay: "box", Level: "college", Rate: .7}},
	}}
}

func peerShot(goalie *ID, code CodeOfPlay, on Date, outcome Outcome) *CountedShot {
	s := shotOf(ShotFields{Outcome: outcome})
	s.Shot.Found.FacedGoalieID = goalie
	s.Game.Fields.Kind, s.Game.Fields.PlayedOn = KindGame, on
	s.Competition.CodeOfPlay, s.Competition.Level = code, "college"
	return s
}

func TestPeersAreCountedInEachLookBack(t *testing.T) {
	ada, bo := ID{1}, ID{2}
	long, short := peerTarget("long", 6, true), peerTarget("short", 1, true)
	day := func(back int) Date { return peerWeek.Sunday().AddDays(-back) }
	got := CountPeers([]Target{long, short, peerTarget("off", 6, false)}, peerWeek, []*CountedShot{
		peerShot(&ada, "mens_field", day(0), Save), peerShot(&ada, "mens_field", day(6), Goal),
		peerShot(&ada, "mens_field", day(7), Save),  // before the one week
		peerShot(&ada, "mens_field", day(41), Goal), // the first day of six weeks
		peerShot(&ada, "mens_field", day(42), Goal), // the day before
		peerShot(&ada, "mens_field", day(-1), Goal), // the Monday after
		peerShot(&ada, "mens_field", day(1), Wide),  // no try
		peerShot(nil, "mens_field", day(1), Goal),   // nobody's
		peerShot(&ada, "box", day(1), Save),
		peerShot(&bo, "womens_field", day(1), Save), // not judged there
	})
	assert.Equal(t, []PeerCount{
		{ada, "box", "college", []TargetCount{{long.ID, 1, 1}, {short.ID, 1, 1}}},
		{ada, "mens_field", "college", []TargetCount{{long.ID, 2, 4}, {short.ID, 1, 2}}},
		{bo, "womens_field", "college", nil},
	}, got)
}

// What some goalies count now takes the place of what they counted, as if all had been counted anew: also of one who has
// nothing any more, or counts in another code of play, or counted nothing before.
func TestSomePeersAreCountedAnew(t *testing.T) {
	ada, bo, cy, di := ID{1}, ID{2}, ID{3}, ID{4}
	targets, on := []Target{peerTarget("t", 6, true)}, peerWeek.Sunday()
	before := []*CountedShot{
		peerShot(&di, "box", on, Save), peerShot(&cy, "box", on, Save), peerShot(&ada, "box", on, Save),
		peerShot(&ada, "mens_field", on, Goal),
	}
	moved := []*CountedShot{peerShot(&cy, "mens_field", on, Goal), peerShot(&bo, "box", on, Goal)}
	kept := CountPeers(targets, peerWeek, before)
	was := append([]PeerCount{}, kept...)
	got := RecountPeers(kept, []ID{ada, bo, cy}, CountPeers(targets, peerWeek, moved))
	assert.Equal(t, CountPeers(targets, peerWeek, append(moved, before[0])), got)
	assert.Len(t, got, 3)
	assert.Equal(t, was, kept)
	assert.Empty(t, RecountPeers(kept, []ID{ada, cy, di}, nil))
}

// A goalie counts for the others as the goalie's own rates count.
func TestPeersCountAsRatesDo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 3))
		var goalies []ID
		for i := range rapid.IntRange(1, 4).Draw(t, "goalies") {
			goalies = append(goalies, NameID(ID{}, fmt.Sprint(i)))
		}
		target := peerTarget("t", 1+r.IntN(6), true)
		var shots []*CountedShot
		for range r.IntN(60) {
			on := peerWeek.Sunday().AddDays(3 - r.IntN(50))
			shots = append(shots, peerShot(&goalies[r.IntN(len(goalies))], "mens_field", on, []Outcome{Save, Goal, Wide}[r.IntN(3)]))
		}
		first := peerWeek.Sunday().AddDays(1 - 7*target.Fields.Weeks)
		for _, p := range CountPeers([]Target{target}, peerWeek, shots) {
			var own []*CountedShot
			for _, s := range shots {
				on := s.Game.Fields.PlayedOn
				if *s.Shot.Found.FacedGoalieID == p.Goalie && !on.Before(first) && !peerWeek.Sunday().Before(on) {
					own = append(own, s)
				}
			}
			tally := target.Fields.Count(own)
			if tally.Tries == 0 {
				assert.Empty(t, p.Counts)
				continue
			}
			assert.Equal(t, []TargetCount{{target.ID, tally.Hits, tally.Tries}}, p.Counts)
		}
	})
}
