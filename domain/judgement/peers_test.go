package judgement

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
	"cagework/domain/stats"
)

func id(name string) domain.ID { return domain.NameID(domain.ID{}, name) }

// named gives a target of a code with its own id and clauses.
func named(code string, of ...domain.Clause) domain.Target {
	t := lowSave()
	t.ID, t.Fields.Code, t.Fields.Name = id(code), code, code
	if of != nil {
		t.Fields.Of = of
	}
	return t
}

// peersOf gives the peers of one target from each goalie's saves and goals; goalie i has the name "i".
func peersOf(target domain.Target, counts ...stats.Count) *Peers {
	var charted []Charted
	for i, c := range counts {
		charted = append(charted, Charted{id(fmt.Sprint(i)), []stats.Count{c}})
	}
	return NewPeers("mens_field", "college", []domain.Target{target}, charted, Defaults())
}

func TestARateLeansOnThePeers(t *testing.T) {
	target := named("low_save")
	alike := peersOf(target, stats.Count{Hits: 8, Tries: 20}, stats.Count{Hits: 55, Tries: 100}, stats.Count{Hits: 54, Tries: 100},
		stats.Count{Hits: 56, Tries: 100}, stats.Count{Hits: 55, Tries: 100}, stats.Count{Hits: 54, Tries: 100})
	apart := peersOf(target, stats.Count{Hits: 8, Tries: 20}, stats.Count{Hits: 85, Tries: 100}, stats.Count{Hits: 24, Tries: 100},
		stats.Count{Hits: 76, Tries: 100}, stats.Count{Hits: 35, Tries: 100}, stats.Count{Hits: 54, Tries: 100})
	r := rateOf(target, 8, 12)
	near, far := alike.Judge(id("0"), r), apart.Judge(id("0"), r)
	require.NotNil(t, near.Opinion)
	assert.Greater(t, near.Opinion.Mean, far.Opinion.Mean, "peers who are alike pull more")
	assert.Less(t, *near.ChanceBelow, *far.ChanceBelow)
	assert.Less(t, near.Opinion.Reliability, far.Opinion.Reliability)
	for _, j := range []Rate{near, far} {
		o := j.Opinion
		assert.True(t, 0 < o.Low80 && o.Low80 < o.Mean && o.Mean < o.High80 && o.High80 < 1)
		assert.Equal(t, 5, o.Peers)
		assert.True(t, o.Assumed)
		assert.False(t, o.AlikeTold, "one game tells nothing of games")
		assert.Equal(t, r.Low, j.Low)
	}
	assert.Nil(t, r.Opinion, "the rate given stays as it was")
}

func TestWhatIsNotAmongThePeersStaysAsItIs(t *testing.T) {
	target := named("low_save")
	p := peersOf(target, stats.Count{Hits: 8, Tries: 20})
	assert.Nil(t, p.Judge(id("another"), rateOf(target, 8, 12)).Opinion)
	assert.Nil(t, p.Judge(id("0"), rateOf(named("another"), 8, 12)).Opinion)
	assert.Nil(t, p.Judge(id("0"), rateOf(target, 0, 0)).Opinion)
	box := rateOf(target, 8, 12)
	box.CodeOfPlay = "box"
	assert.Nil(t, p.Judge(id("0"), box).Opinion)
	unrated := named("unrated")
	unrated.Fields.Rates = nil
	none := NewPeers("mens_field", "college", []domain.Target{unrated}, []Charted{{id("0"), []stats.Count{{}}}}, Defaults())
	assert.Empty(t, none.Board())
}

func TestOneGoalieAloneIsJudged(t *testing.T) {
	target := named("low_save")
	r := peersOf(target, stats.Count{Hits: 9, Tries: 31}).Judge(id("0"), rateOf(target, 9, 22))
	require.NotNil(t, r.Opinion)
	assert.Zero(t, r.Opinion.Peers)
	assert.Equal(t, domain.ClearGap, *r.State)
	assert.Nil(t, r.Opinion.MoreTries, "settled")
	open := peersOf(target, stats.Count{Hits: 11, Tries: 23}).Judge(id("0"), rateOf(target, 11, 12))
	assert.Equal(t, domain.CantTell, *open.State)
}

func TestACountThatDiffersFromThePeersIsTakenFromTheRate(t *testing.T) {
	target := named("low_save")
	counts := []stats.Count{{Hits: 8, Tries: 20}, {Hits: 55, Tries: 100}, {Hits: 45, Tries: 90}}
	same := peersOf(target, counts...).Judge(id("0"), rateOf(target, 8, 12))
	counts[0] = stats.Count{Hits: 10, Tries: 21}
	other := peersOf(target, counts...).Judge(id("0"), rateOf(target, 8, 12))
	assert.InDelta(t, *same.ChanceBelow, *other.ChanceBelow, .01, "its weight among the peers is a little other")
}

func TestMoreTriesAreAskedFor(t *testing.T) {
	target := named("low_save")
	r := peersOf(target, stats.Count{Hits: 8, Tries: 20}).Judge(id("0"), rateOf(target, 8, 12))
	require.NotNil(t, r.Opinion.MoreTries)
	d := r.posterior.Matched()
	below, met := d.Decided(*r.Opinion.MoreTries, .5, .9)
	assert.GreaterOrEqual(t, below+met, .5)
}

func TestAlikeTriesWidenTheInterval(t *testing.T) {
	var faced domain.FacedRecords
	for g := range 6 { // all saved in one game, none in the next
		saves := 6 * (g % 2)
		faced.Shots = append(faced.Shots, shots(game(g, "2026-04-11", domain.KindGame), saves, 6-saves)...)
	}
	target := named("low_save")
	r := RateOf(target, Play{"mens_field", "college", faced}, week, Defaults())
	j := peersOf(target, stats.Count{Hits: 18, Tries: 36}).Judge(id("0"), r)
	assert.True(t, j.Opinion.AlikeTold)
	assert.InDelta(t, 7.2, j.Opinion.Alike, 1e-9, "six times 9, over 6·¼·5")
	assert.InDelta(t, 5, j.Opinion.Worth, 1e-9)
	assert.Less(t, *j.Low, *r.Low)
	assert.Greater(t, *j.High, *r.High)
}

func TestBoardAndPageAgree(t *testing.T) {
	target := named("low_save")
	p := peersOf(target, stats.Count{Hits: 8, Tries: 20}, stats.Count{Hits: 55, Tries: 100}, stats.Count{})
	board := p.Board()
	require.Len(t, board, 3)
	r := p.Judge(id("0"), rateOf(target, 8, 12))
	assert.InDelta(t, *r.ChanceBelow, board[0].ChanceBelow, 1e-12)
	assert.InDelta(t, r.Shortfall, board[0].Shortfall, 1e-12)
	assert.Equal(t, *r.State, board[0].State)
	assert.Equal(t, domain.NoData, board[2].State)

	p.Set(NewCount{id("2"), target.ID, stats.Count{Hits: 2, Tries: 30}}, NewCount{id("none"), target.ID, stats.Count{}})
	board = p.Board()
	assert.Equal(t, domain.ClearGap, board[2].State)
	ListBoard(board, Defaults())
	assert.Equal(t, []bool{false, false, true}, []bool{board[0].Listed, board[1].Listed, board[2].Listed})
}

func TestOwnListLeavesOutWhatCannotBeJudged(t *testing.T) {
	rates := []Rate{rateOf(named("a"), 2, 28), rateOf(named("b"), 0, 3), rateOf(named("c"), 20, 10), rateOf(named("d"), 0, 0)}
	ListOwn(rates, Defaults())
	var listed []string
	for _, r := range rates {
		if r.Listed {
			listed = append(listed, r.Target.Fields.Code)
		}
	}
	assert.Equal(t, []string{"a"}, listed, "b has too few tries, c is met, d has none")
}

func TestPeersProperties(t *testing.T) {
	target := named("low_save")
	rapid.Check(t, func(t *rapid.T) {
		var counts []stats.Count
		for range rapid.IntRange(1, 6).Draw(t, "goalies") {
			n := rapid.IntRange(0, 80).Draw(t, "tries")
			counts = append(counts, stats.Count{Hits: rapid.IntRange(0, n).Draw(t, "hits"), Tries: n})
		}
		board := peersOf(target, counts...).Board()
		turned := slices.Clone(counts)
		slices.Reverse(turned)
		other := peersOf(target, turned...).Board()
		for i, c := range counts {
			turned[i] = stats.Count{Hits: c.Tries - c.Hits, Tries: c.Tries}
		}
		missed := peersOf(target, turned...).Board() // hits for misses, about a target of a half
		for i, f := range board {
			mirror := other[len(board)-1-i]
			if math.Abs(f.ChanceBelow-mirror.ChanceBelow) > 1e-9 || f.State != mirror.State {
				t.Fatalf("the order of goalies matters: %+v, %+v", f, mirror)
			}
			if f.Count.Tries > 0 && math.Abs(1-f.ChanceBelow-missed[i].ChanceBelow) > 1e-6 {
				t.Fatalf("not symmetric: %+v, %+v", f, missed[i])
			}
			if !(f.ChanceBelow >= 0 && f.ChanceBelow <= 1 && f.Shortfall >= 0 && f.Shortfall <= .5) {
				t.Fatalf("%+v", f)
			}
		}
		i := rapid.IntRange(0, len(counts)-1).Draw(t, "goalie")
		if c := counts[i]; c.Hits < c.Tries {
			more := slices.Clone(counts)
			more[i].Hits++
			if better := peersOf(target, more...).Board()[i]; better.ChanceBelow > board[i].ChanceBelow+1e-9 {
				t.Fatalf("a save more makes it likelier below")
			}
		}
	})
}
