package judgement

import "cagework/domain"

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

	Difficulty DifficultyBounds
	Habits     HabitBounds
	Signal     SignalBounds
}

// Defaults gives the bounds that hold unless a program sets its own. They are starting values: one in ten clear
// gaps may be none, and an 80 % interval of .30 spans about 17 tries at an even rate.
func Defaults() Thresholds {
	return Thresholds{
		Interval: 0.95, Narrow: 0.80, TooWide: 0.30,
		ClearGap: 0.90, Leaning: 0.75, CantTell: 0.25, LeaningMet: 0.10,
		Difficulty: defaultDifficulty(), Habits: defaultHabits(), Signal: defaultSignal(),
	}
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
