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

// Defaults gives the bounds that hold unless a program sets its own. They are starting values: one in ten clear
// gaps may be none, and an 80 % interval of .30 spans about 17 tries at an even rate. Simulated programs show the share
// of wrong flags that the two lists keep to, and how often a block that changed nothing looks to have helped.
func Defaults() Thresholds {
	return Thresholds{
		Interval: 0.95, Narrow: 0.80, TooWide: 0.30,
		ClearGap: 0.90, Leaning: 0.75, CantTell: 0.25, LeaningMet: 0.10,
		OwnList: 0.10, BoardList: 0.08, NormTries: 20, FewPeers: 8,
		AboutTheSame: 0.20, Overtaken: 0.90, Helped: 0.10, AssumedWorth: 0.10, AssumedWorthSD: 0.05,
		Difficulty: defaultDifficulty(), Habits: defaultHabits(), Signal: defaultSignal(),
	}
}

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
