package judgement

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
	"cagework/domain/stats"
)

func TestTheServicesOwnBounds(t *testing.T) {
	b := Defaults()
	assert.Equal(t, Thresholds{
		Interval: 0.95, Narrow: 0.80, TooWide: 0.30, ClearGap: 0.90, Leaning: 0.75, CantTell: 0.25, LeaningMet: 0.10,
		OwnList: 0.10, BoardList: 0.08, NormTries: 20, FewPeers: 8, AboutTheSame: 0.20, Overtaken: 0.90, Helped: 0.10,
		AssumedWorth: 0.10, AssumedWorthSD: 0.05, Difficulty: b.Difficulty, Habits: b.Habits, Signal: b.Signal,
	}, b)
	assert.InDelta(t, 2.5, b.Signal.PageAlarms, 0)
	assert.InDelta(t, 4, b.Signal.BoardAlarms, 0)
	own := BoundsOf(domain.JudgementSettings{
		Margin: new(0.03), LeaningBelow: new(0.8), PageAlarms: new(1.0), BoardAlarms: new(2.0), Helped: new(0.2),
	})
	b.Margin, b.Leaning, b.Helped, b.Signal.PageAlarms, b.Signal.BoardAlarms = 0.03, 0.8, 0.2, 1, 2
	assert.Equal(t, b, own, "all else stays the service's own")
}

// TestStatesFollowTheChanceWhateverIsSet: the greater the chance below, the worse the state, whatever bounds are accepted.
func TestStatesFollowTheChanceWhateverIsSet(t *testing.T) {
	worse := []domain.State{domain.Met, domain.LeaningMet, domain.CantTell, domain.LeaningBelow, domain.ClearGap}
	rapid.Check(t, func(t *rapid.T) {
		draw := func(least, most int, name string) *float64 {
			if !rapid.Bool().Draw(t, name+" is set") {
				return nil
			}
			return new(float64(rapid.IntRange(least, most).Draw(t, name)) / 1000)
		}
		f := domain.ProgramFields{Name: "A", TimeZone: "UTC", Units: "metric", Judgement: domain.JudgementSettings{
			ClearGap: draw(500, 999, "clear_gap"), LeaningBelow: draw(500, 999, "leaning_below"),
			CantTell: draw(1, 500, "cant_tell"), LeaningMet: draw(1, 500, "leaning_met"),
		}}
		if len(f.Check()) > 0 {
			t.Skip("refused")
		}
		b, last := BoundsOf(f.Judgement), 0
		for k := range 1001 {
			place := slices.Index(worse, b.stateOf(float64(k)/1000))
			if place < last {
				t.Fatalf("%s after %s at %d", worse[place], worse[last], k)
			}
			last = place
		}
		if b.stateOf(0) != domain.Met || b.stateOf(1) != domain.ClearGap {
			t.Fatalf("%s and %s at the ends", b.stateOf(0), b.stateOf(1))
		}
	})
}

// TestAMarginMovesTheLineAndNotTheWorth: with a margin a rate counts as below when it is below the target less it; how far
// it falls short, and what that costs, is reckoned to the target.
func TestAMarginMovesTheLineAndNotTheWorth(t *testing.T) {
	target, at := named("low_save"), *lowSave().Fields.RateFor("mens_field", "college")
	margin := BoundsOf(domain.JudgementSettings{Margin: new(0.1)})
	counts := []stats.Count{{Hits: 9, Tries: 22}, {Hits: 30, Tries: 60}, {Hits: 25, Tries: 60}}
	var charted []Charted
	for i, c := range counts {
		charted = append(charted, Charted{id(string(rune('0' + i))), []stats.Count{c}})
	}
	plain := NewPeers("mens_field", "college", []domain.Target{target}, charted, Defaults())
	wide := NewPeers("mens_field", "college", []domain.Target{target}, charted, margin)
	r := rateOf(target, 9, 13)
	without, with := plain.Judge(id("0"), r), wide.Judge(id("0"), r)
	assert.InDelta(t, without.posterior.Below(at-0.1), *with.ChanceBelow, 1e-9)
	assert.Less(t, *with.ChanceBelow, *without.ChanceBelow)
	assert.InDelta(t, without.Shortfall, with.Shortfall, 1e-12)
	assert.InDelta(t, *without.ChanceBelow, with.short, 1e-12)
	assert.Equal(t, lawOf(Gap{Rate: without, Tries: 5, Known: true, Value: PerTry{Goals: 1}}),
		lawOf(Gap{Rate: with, Tries: 5, Known: true, Value: PerTry{Goals: 1}}))
	assert.InDelta(t, *with.ChanceBelow, wide.Board()[0].ChanceBelow, 1e-9, "the board draws the same line")

	alone := r
	alone.judge(margin)
	own := stats.Jeffreys(9, 22)
	assert.InDelta(t, own.Below(at-0.1), *alone.ChanceBelow, 1e-12)
	assert.InDelta(t, own.Shortfall(at), alone.Shortfall, 1e-12)

	rates := []Rate{with}
	ListByCount(rates, margin)
	assert.Equal(t, 1-stats.MidTail(9, 22, at-0.1) <= margin.OwnList, rates[0].ByCount)
}

// TestAMarginAsGreatAsTheTarget: nothing is below 0, and nothing goes wrong.
func TestAMarginAsGreatAsTheTarget(t *testing.T) {
	target := named("low_save")
	target.Fields.Rates = []domain.TargetRate{{CodeOfPlay: "mens_field", Level: "college", Rate: 0.1, Source: "test"}}
	p := NewPeers("mens_field", "college", []domain.Target{target}, []Charted{{id("0"), []stats.Count{{Hits: 0, Tries: 30}}}},
		BoundsOf(domain.JudgementSettings{Margin: new(0.15)}))
	r := p.Judge(id("0"), rateOf(target, 0, 30))
	require.NotNil(t, r.ChanceBelow)
	assert.InDelta(t, 0, *r.ChanceBelow, 0)
	assert.Equal(t, domain.Met, *r.State)
	assert.Positive(t, r.Shortfall)
	for _, f := range p.Board() {
		assert.False(t, math.IsNaN(f.ChanceBelow) || math.IsNaN(f.Shortfall))
		assert.Equal(t, domain.Met, f.State)
	}
}

// TestMoreTriesAreByTheProgramsBounds: a program that wants to be surer must wait longer, on either side.
func TestMoreTriesAreByTheProgramsBounds(t *testing.T) {
	target := named("low_save")
	needed := func(set domain.JudgementSettings) int {
		p := NewPeers("mens_field", "college", []domain.Target{target}, []Charted{{id("0"), []stats.Count{{Hits: 9, Tries: 22}}}}, BoundsOf(set))
		r := p.Judge(id("0"), rateOf(target, 9, 13))
		if r.Opinion.MoreTries == nil {
			return math.MaxInt // it would take too many
		}
		return *r.Opinion.MoreTries
	}
	own := needed(domain.JudgementSettings{})
	assert.Less(t, own, math.MaxInt)
	assert.Greater(t, needed(domain.JudgementSettings{ClearGap: new(0.98)}), own)
	assert.Less(t, needed(domain.JudgementSettings{LeaningMet: new(0.25)}), needed(domain.JudgementSettings{LeaningMet: new(0.001)}))
}

// TestBaselinesAreTheProgramsOwn: what a block is judged by is kept with the program's own bound.
func TestBaselinesAreTheProgramsOwn(t *testing.T) {
	records := domain.WeekRecords{
		Goalie: domain.Goalie{ID: id("0")}, Week: week, Targets: []domain.Target{named("low_save")},
		Faced: domain.FacedRecords{Shots: shots(game(1, "2026-04-11", domain.KindGame), 8, 12)},
	}
	level := func() float64 {
		kept := Judge{}.Baselines(records, records.Targets[0])
		require.Len(t, kept, 1)
		return kept[0].Frozen.Level
	}
	assert.InDelta(t, 0.1, level(), 0)
	records.Program.Fields.Judgement.Helped = new(0.2)
	assert.InDelta(t, 0.2, level(), 0)
}
