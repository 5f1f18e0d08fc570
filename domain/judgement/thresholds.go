package judgement

import (
	"cagework/domain"
	"cagework/domain/stats"
)

// Thresholds are the bounds between the states of a rate. Chances and widths run from 0 to 1; a bound belongs to
// the state above it.
type Thresholds struct {
	Interval   float64 // confidence of the interval that is shown
	Narrow     float64 // confidence of the interval whose width decides whether there are too few tries
	TooWide    float64 // wider than this: too few tries
	ClearGap   float64 // from this chance below the target on: a clear gap
	Leaning    float64 // from this on: leaning below
	CantTell   float64 // from this on: cannot tell
	LeaningMet float64 // from this on: leaning met; less: met

	Margin       float64 // a rate counts as below its target when it is below it by more than this
	OwnList      float64 // share of a goalie's own list of gaps that may be wrong
	BoardList    float64 // the same of a board over goalies
	NormTries    float64 // how many tries the norm is worth in what is thought of the peers' mean rate
	FewPeers     int     // with fewer peers what they are like is assumed, and a block needs plainer evidence
	AboutTheSame float64 // how close to the most a worth must come to be about the same, as a share of it
	Overtaken    float64 // from this chance on that another is worth more, a kept work-on is overtaken
	// AssumedWorth is what a hit that is no save is taken to be worth, in goals a try, where nothing is measured of it, such
	// as a rebound kept or a habit on too few readings; AssumedWorthSD how uncertain that is. Both from memory.
	AssumedWorth   float64
	AssumedWorthSD float64
	Helped         float64 // chance at most that a block looks to have helped when nothing changed

	Difficulty DifficultyBounds
	Habits     HabitBounds
	Signal     SignalBounds
}

// What no program sets and decides nothing: Shown is the confidence of the interval that is shown beside a rate, and beside
// saves expected; Likely that of what a true rate, a change of it, or the hits of a block are likely to be.
const (
	Shown  = 0.95
	Likely = 0.80
)

// Defaults gives the bounds of a program that sets none of its own. They are starting values: simulated programs show
// the share of wrong flags that the two lists keep to, and how often a block that changed nothing looks to have helped.
func Defaults() Thresholds { return BoundsOf(domain.JudgementSettings{}) }

// BoundsOf gives the bounds by which a program is judged: those that it sets, and the service's own for all others, whether
// a program may set them ([domain.BoundList]) or not.
func BoundsOf(set domain.JudgementSettings) Thresholds {
	b := set.Bounds()
	signal := defaultSignal()
	signal.PageAlarms, signal.BoardAlarms = b.PageAlarms, b.BoardAlarms
	return Thresholds{
		Interval: Shown, Narrow: 0.80, TooWide: b.TooWide,
		ClearGap: b.ClearGap, Leaning: b.LeaningBelow, CantTell: b.CantTell, LeaningMet: b.LeaningMet,
		Margin: b.Margin, OwnList: b.OwnList, BoardList: b.BoardList, NormTries: 20, FewPeers: 8,
		AboutTheSame: b.AboutTheSame, Overtaken: b.Overtaken, Helped: b.Helped,
		AssumedWorth: b.AssumedWorth, AssumedWorthSD: 0.05,
		Difficulty: defaultDifficulty(), Habits: defaultHabits(), Signal: signal,
	}
}

// line gives the rate below which a rate counts as below its target.
func (t Thresholds) line(target float64) float64 { return max(0, target-t.Margin) }

// judge gives the state of a count whose true rate lies below its target with a chance.
func (t Thresholds) judge(hits, tries, minTries int, below float64) domain.State {
	if tries == 0 {
		return domain.NoData
	}
	low, high := stats.Wilson(hits, tries, t.Narrow)
	if tries < minTries || high-low > t.TooWide {
		return domain.TooFew
	}
	return t.stateOf(below)
}

// stateOf gives the state that a chance below the target stands for.
func (t Thresholds) stateOf(below float64) domain.State {
	switch {
	case below >= t.ClearGap:
		return domain.ClearGap
	case below >= t.Leaning:
		return domain.LeaningBelow
	case below >= t.CantTell:
		return domain.CantTell
	case below >= t.LeaningMet:
		return domain.LeaningMet
	}
	return domain.Met
}
