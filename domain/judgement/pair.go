package judgement

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"

	"cagework/domain"
	"cagework/domain/field"
)

// Pair is two shots that came alike, from the same area with the same arrival and finish: one with the hit of a target
// there and saved, one without it and scored.
type Pair struct {
	With, Without *domain.CountedShot
	Alike         Alikeness
}

// Alikeness says how alike two shots of a pair are beyond area, arrival and finish band.
type Alikeness struct {
	Side       bool     // they finished on the same side
	Difficulty *float64 // how far their expected chances of a save are apart; nil when not known
	Blind      bool     // both were read before the result was known
	Film       bool     // both have a time on the film
}

// Pairs is what a goalie's own shots show of a target: up to three pairs to watch one beside the other, and the count
// over all its tries that were saves or goals. Association: what else differed is not known.
type Pairs struct {
	Pairs                 []Pair
	Goals, GoalsWithout   int // goals among the tries, and those without the hit
	Saves, SavesWithout   int
	Sentence              string // empty for a target whose hit is a save, where it would say nothing
	ResultMayHaveColoured bool   // some of the readings were made with the result known
}

const (
	mostPairs = 3
	// closeEnough is how far apart the expected chances of a save of two shots may be that are alike.
	closeEnough = 0.10
)

// Expect gives the expected chance that a shot like this is saved; ok is false when it cannot be told.
type Expect func(*domain.CountedShot) (save float64, ok bool)

// PairsOf finds pairs among a rate's tries. Shots whose area, arrival or finish band is not known are not paired, and
// one is in a pair once. Those on film go first, then the more alike: the same side, then the nearer difficulty, then the newer; the same
// shots always give the same pairs. Without a model of difficulty expect is nil.
func PairsOf(r Rate, expect Expect) Pairs {
	var p Pairs
	with, goals := split(r.Tally.Made)
	saves, without := split(r.Tally.Missed)
	p.SavesWithout, p.GoalsWithout = len(saves), len(without)
	p.Saves, p.Goals = len(with)+len(saves), len(goals)+len(without)
	if !AsksForASave(r.Target.Fields) {
		p.Sentence = fmt.Sprintf("On the goals: missing on %d of %d read; on the saves: %d of %d.",
			p.GoalsWithout, p.Goals, p.SavesWithout, p.Saves)
	}
	if asksHabit(r.Target.Fields) {
		p.ResultMayHaveColoured = slices.ContainsFunc(
			slices.Concat(r.Tally.Made, r.Tally.Missed), func(s *domain.CountedShot) bool { return !blind(s) })
	}
	candidates := candidatesOf(with, without, expect)
	taken := map[*domain.CountedShot]bool{}
	for _, c := range candidates {
		if len(p.Pairs) < mostPairs && !taken[c.With] && !taken[c.Without] {
			p.Pairs = append(p.Pairs, c)
			taken[c.With], taken[c.Without] = true, true
		}
	}
	return p
}

// split gives the saves and the goals among shots.
func split(shots []*domain.CountedShot) (saves, goals []*domain.CountedShot) {
	for _, s := range shots {
		switch s.Shot.Fields.Outcome {
		case domain.Save:
			saves = append(saves, s)
		case domain.Goal:
			goals = append(goals, s)
		}
	}
	return saves, goals
}

// origin is how a shot came, all of which two shots of a pair have in common.
type origin struct {
	area      field.Area
	arrival   domain.Arrival
	band      domain.Band
	deflected bool
}

// originOf gives how a shot came; ok is false where some of it is not known.
func originOf(s *domain.CountedShot) (o origin, ok bool) {
	f := &s.Shot.Fields
	if f.Arrival == nil || f.FinishBand == nil {
		return origin{}, false
	}
	area := s.Area()
	return origin{area, *f.Arrival, *f.FinishBand, f.Deflected}, area != ""
}

// candidatesOf gives all pairs that are alike, the best first.
func candidatesOf(with, without []*domain.CountedShot, expect Expect) []Pair {
	byOrigin := map[origin][]*domain.CountedShot{}
	for _, b := range without {
		if o, known := originOf(b); known {
			byOrigin[o] = append(byOrigin[o], b)
		}
	}
	var out []Pair
	for _, a := range with {
		o, known := originOf(a)
		if !known {
			continue
		}
		for _, b := range byOrigin[o] {
			if alike, is := compare(a, b, expect); is {
				out = append(out, Pair{a, b, alike})
			}
		}
	}
	slices.SortStableFunc(out, func(x, y Pair) int {
		return cmp.Or(
			-compareBool(x.Alike.Film, y.Alike.Film),
			-compareBool(x.Alike.Side, y.Alike.Side),
			-compareBool(x.Alike.Difficulty != nil, y.Alike.Difficulty != nil),
			cmp.Compare(apart(x), apart(y)),
			-compareBool(x.Alike.Blind, y.Alike.Blind),
			newer(x.With, y.With), newer(x.Without, y.Without),
		)
	})
	return out
}

func apart(p Pair) float64 {
	if p.Alike.Difficulty == nil {
		return 0
	}
	return math.Round(*p.Alike.Difficulty*1000) / 1000
}

func newer(a, b *domain.CountedShot) int {
	return cmp.Or(
		b.Game.Fields.PlayedOn.Time().Compare(a.Game.Fields.PlayedOn.Time()),
		bytes.Compare(a.Shot.ID[:], b.Shot.ID[:]),
	)
}

// compare tells how alike two shots of one origin are, and whether that is enough.
func compare(a, b *domain.CountedShot, expect Expect) (Alikeness, bool) {
	x, y := &a.Shot.Fields, &b.Shot.Fields
	alike := Alikeness{Side: same(x.FinishSide, y.FinishSide), Blind: blind(a) && blind(b), Film: x.FilmMs != nil && y.FilmMs != nil}
	if expect == nil {
		return alike, true
	}
	p, known := expect(a)
	q, alsoKnown := expect(b)
	if known && alsoKnown {
		alike.Difficulty = new(math.Abs(p - q))
		return alike, *alike.Difficulty <= closeEnough
	}
	return alike, true
}

func same[T comparable](a, b *T) bool { return a != nil && b != nil && *a == *b }

func blind(s *domain.CountedShot) bool {
	return s.Reading != nil && s.Reading.Fields.HowRead == domain.FilmBlind
}

// asksHabit tells whether the target's hit asks for a habit.
func asksHabit(f domain.TargetFields) bool {
	return slices.ContainsFunc(f.Hit, func(c domain.Clause) bool {
		_, isField := domain.ShotFieldNamed(c.Field)
		return !isField
	})
}

func compareBool(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}
