package judgement

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
	"cagework/domain/stats"
)

// peerCount is a goalie's count at a target in a play.
func peerCount(goalie string, code domain.CodeOfPlay, target domain.Target, hits, tries int) domain.PeerCount {
	return domain.PeerCount{Goalie: id(goalie), CodeOfPlay: code, Level: "college",
		Counts: []domain.TargetCount{{Target: target.ID, Hits: hits, Tries: tries}}}
}

func TestPeersOfAreTheSameAsTheirCounts(t *testing.T) {
	target := named("low_save")
	peers := PeersOf([]domain.Target{target}, []domain.PeerCount{
		peerCount("0", "mens_field", target, 8, 20), peerCount("1", "mens_field", target, 55, 100), peerCount("2", "mens_field", target, 40, 90),
		peerCount("3", "box", target, 5, 100),
	}, Defaults())
	alone := peersOf(target, stats.Count{Hits: 8, Tries: 20}, stats.Count{Hits: 55, Tries: 100}, stats.Count{Hits: 40, Tries: 90})
	r := rateOf(target, 8, 12)
	got, want := peers.Judge(id("0"), r), alone.Judge(id("0"), r)
	require.NotNil(t, got.Opinion)
	assert.Equal(t, 2, got.Opinion.Peers, "who plays another code is none")
	assert.InDelta(t, *want.ChanceBelow, *got.ChanceBelow, 1e-9)
	assert.InDelta(t, want.Opinion.Mean, got.Opinion.Mean, 1e-9)
	assert.Equal(t, r, AllPeers{}.Judge(id("0"), r), "without peers a rate is judged alone")
	elsewhere := r
	elsewhere.Level = "12u"
	assert.Nil(t, peers.Judge(id("0"), elsewhere).Opinion)
}

func TestPeersDoNotHangOnTheOrderOfGoaliesAndTargets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 8))
		targets := []domain.Target{named("a"), named("b"), named("c")}
		var counted []domain.PeerCount
		for g := range rapid.IntRange(1, 6).Draw(t, "goalies") {
			p := domain.PeerCount{Goalie: id(fmt.Sprint(g)), CodeOfPlay: "mens_field", Level: "college"}
			for _, target := range targets {
				if n := r.IntN(60); n > 0 {
					p.Counts = append(p.Counts, domain.TargetCount{Target: target.ID, Hits: r.IntN(n + 1), Tries: n})
				}
			}
			counted = append(counted, p)
		}
		one := rateOf(targets[0], r.IntN(20), 1+r.IntN(20))
		want := PeersOf(targets, counted, Defaults()).Judge(id("0"), one)
		r.Shuffle(len(counted), func(i, j int) { counted[i], counted[j] = counted[j], counted[i] })
		r.Shuffle(len(targets), func(i, j int) { targets[i], targets[j] = targets[j], targets[i] })
		got := PeersOf(targets, counted, Defaults()).Judge(id("0"), one)
		assert.InDelta(t, *want.ChanceBelow, *got.ChanceBelow, 1e-9)
		assert.InDelta(t, want.Shortfall, got.Shortfall, 1e-9)
		assert.Equal(t, want.State, got.State)
	})
}

func TestRatesOfAWeek(t *testing.T) {
	target, off := named("low_save"), named("off")
	target.Fields.Active = true
	play := Play{"mens_field", "college", domain.FacedRecords{Shots: shots(game(1, "2026-04-11", domain.KindGame), 9, 22)}}
	active := ActiveTargets([]domain.Target{off, target})
	require.Len(t, active, 1)
	counted := []domain.PeerCount{peerCount("me", "mens_field", target, 9, 31), peerCount("other", "mens_field", target, 30, 60)}
	rates := RatesOf(id("me"), active, []Play{play}, week, PeersOf(active, counted, Defaults()), Defaults())
	require.Len(t, rates, 1)
	assert.Equal(t, []int{9, 31}, []int{rates[0].Tally.Hits, rates[0].Tally.Tries})
	assert.True(t, rates[0].Listed && rates[0].ByCount)
	assert.Equal(t, 1, rates[0].Opinion.Peers)
	assert.Equal(t, week.Sunday().AddDays(-41), domain.LookBack(active, week))
	assert.Equal(t, week.Monday(), domain.LookBack(nil, week))
}
