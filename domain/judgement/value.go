package judgement

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"cagework/domain"
	"cagework/domain/stats"
)

// PerTry is what one more hit of a target is worth in goals saved, a try: 1 for a target whose hit is a save. SD is how
// uncertain that is.
type PerTry struct {
	Goals, SD float64
	Assumed   bool // nothing measured stands behind it; see [Thresholds.AssumedWorth]
}

// ValueOf gives what the hits of a rate's target are worth; ok is false when nothing is known of it. Such a target has no
// worth in goals.
type ValueOf func(Rate) (value PerTry, ok bool)

// OnlySaves knows the worth of targets whose hit is a save, and of no other.
func OnlySaves(r Rate) (PerTry, bool) { return PerTry{Goals: 1}, AsksForASave(r.Target.Fields) }

// AsksForASave tells whether a target's hit is a save, and nothing else.
func AsksForASave(t domain.TargetFields) bool {
	hit := t.Hit
	return len(hit) == 1 && hit[0].Field == "outcome" && hit[0].Is == string(domain.Save)
}

// FittedIn gives the fit of a play among several; nil when it has none.
func FittedIn(fits map[FitKey]Fitted, code domain.CodeOfPlay, level domain.Level) *Fitted {
	if f, there := fits[FitKey{code, level}]; there {
		return &f
	}
	return nil
}

// Values knows the worth of every target: of one whose hit is a save a goal, of one whose hit is a habit what the fits
// found that goes with it on this goalie's shots, and of any other, and of a habit on too few readings, what is assumed.
// An effect that seems to do harm is worth nothing, and never less.
func Values(fits map[FitKey]Fitted, habits []domain.Habit, plays []Play, bounds Thresholds) ValueOf {
	return func(r Rate) (PerTry, bool) {
		if value, known := OnlySaves(r); known {
			return value, true
		}
		if value, known := habitValue(r, fits, habits, plays); known {
			return value, true
		}
		return PerTry{Goals: bounds.AssumedWorth, SD: bounds.AssumedWorthSD, Assumed: true}, true
	}
}

// habitValue gives what a hit of a target that asks for one habit is worth, from the fits of its play.
func habitValue(r Rate, fits map[FitKey]Fitted, habits []domain.Habit, plays []Play) (PerTry, bool) {
	hit := r.Target.Fields.Hit
	fitted := FittedIn(fits, r.CodeOfPlay, r.Level)
	if fitted == nil || len(hit) != 1 || hit[0].Is != string(domain.Yes) {
		return PerTry{}, false
	}
	for _, e := range fitted.Habits.Effects {
		if e.Habit != hit[0].Field || !e.Enough {
			continue
		}
		for _, p := range plays {
			if p.CodeOfPlay == r.CodeOfPlay && p.Level == r.Level {
				shots := Between(p.Faced, r.From, r.To).Shots
				return e.aTry(readableLogOdds(e.Habit, shots, habits, &fitted.Difficulty), r.mean())
			}
		}
	}
	return PerTry{}, false
}

// mean gives the rate as it is thought to be.
func (r Rate) mean() float64 {
	switch {
	case r.Opinion != nil:
		return r.Opinion.Mean
	case r.Rate != nil:
		return *r.Rate
	}
	return 0.5
}

// aTry gives the difference between a shot with and without the habit, in saves a shot, and how uncertain it is.
func (e HabitEffect) aTry(odds []float64, present float64) (PerTry, bool) {
	if len(odds) == 0 {
		return PerTry{}, false
	}
	var sum, squares float64
	for k := range worthPoints {
		effect := e.LogOdds + e.Error*mathext.NormalQuantile((float64(k)+0.5)/worthPoints)
		saves := savesAShot(odds, effect, present)
		sum, squares = sum+saves, squares+saves*saves
	}
	mean := sum / worthPoints
	return PerTry{Goals: max(0, mean), SD: math.Sqrt(max(0, squares/worthPoints-mean*mean))}, true
}

// StartOf gives the rate of hits from which a chart of change starts: that of the peers, else what is thought of a count
// with the target's rate worth some tries.
func StartOf(r Rate, bounds Thresholds) float64 {
	if r.Opinion != nil {
		return r.Opinion.PeersMean
	}
	if r.TargetRate == nil {
		return stats.Jeffreys(r.Tally.Hits, r.Tally.Tries).Mean()
	}
	n := bounds.NormTries
	return (float64(r.Tally.Hits) + n**r.TargetRate) / (float64(r.Tally.Tries) + n)
}
