package planning

import (
	"cmp"
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// WorkOn is a target recommended for the week, with the drills for it.
type WorkOn struct {
	Rate         judgement.Rate
	Worth        float64 // tries a game that are expected to be lost by falling short of the target
	EarlierCause bool    // it was preferred to one worth a little more, for lying earlier in the order of causes
	Kept         *Kept   // it stands because its block runs
	Drills       []Prescription
}

// Kept says where in its block a kept work-on is.
type Kept struct{ Week, Of int }

// worth is the seam for the goals-a-game model, which will bring outcome targets and habits to one currency. Until
// then it is the expected shortfall times the tries per game played in the look-back.
func worth(r judgement.Rate) float64 { return r.Shortfall * r.TriesAGame() }

// ChooseWorkOns gives the targets to work on, at most three, the first first: those whose block runs and that are not
// met, then by [ChooseWorkOn] from the rest. A target is worked on once, whatever the plays in which it falls short. One
// for which the table has drills only when nothing else falls short stands aside for all others.
func ChooseWorkOns(n Need) []WorkOn {
	var out []WorkOn
	left := slices.Clone(n.Rates)
	take := func(w WorkOn) {
		out = append(out, w)
		left = slices.DeleteFunc(left, func(r judgement.Rate) bool { return r.Target.ID == w.Rate.Target.ID })
	}
	for _, a := range n.running() {
		if r := keepable(left, a.Fields.TargetID); r != nil && len(out) < MaxWorkOns {
			take(WorkOn{Rate: *r, Worth: worth(*r), Kept: &Kept{weekOfBlock(a, n.Week), a.Fields.Weeks}})
		}
	}
	left = slices.DeleteFunc(left, n.standsAside)
	for len(out) < MaxWorkOns {
		w := ChooseWorkOn(left)
		if w == nil {
			break
		}
		take(*w)
	}
	return out
}

// keepable gives the rate of a target whose block may be kept: judged and not met; of several plays the one that
// falls short, then the one worth most. nil when there is none.
func keepable(rates []judgement.Rate, target domain.ID) *judgement.Rate {
	var found []judgement.Rate
	for _, r := range rates {
		if r.Target.ID == target && r.State != nil && *r.State != domain.Met {
			found = append(found, r)
		}
	}
	if len(found) == 0 {
		return nil
	}
	best := slices.MinFunc(found, func(a, b judgement.Rate) int {
		return cmp.Or(
			-compareBool(a.Short(), b.Short()),
			cmp.Compare(worth(b), worth(a)),
			cmp.Compare(b.Tally.Tries, a.Tally.Tries),
			judgement.ComparePlays(a, b),
		)
	})
	return &best
}

// ChooseWorkOn gives the one target to work on: of the rates that are below their targets, clearly or probably,
// the one worth most; of those worth about the same, the earlier cause. What is still level is settled by worth,
// target code and play, so that the same shots always give the same answer. nil when no rate is short.
func ChooseWorkOn(rates []judgement.Rate) *WorkOn {
	var short []WorkOn
	for _, r := range rates {
		if r.Short() {
			short = append(short, WorkOn{Rate: r, Worth: worth(r)})
		}
	}
	if len(short) == 0 {
		return nil
	}
	best := slices.MaxFunc(short, func(a, b WorkOn) int { return cmp.Compare(a.Worth, b.Worth) }).Worth
	short = slices.DeleteFunc(short, func(w WorkOn) bool { return w.Worth < (1-judgement.Defaults().AboutTheSame)*best })
	first := slices.MinFunc(short, before)
	first.EarlierCause = first.Worth < best
	return &first
}

func before(a, b WorkOn) int {
	return cmp.Or(
		cmp.Compare(a.Rate.Target.Fields.Cause, b.Rate.Target.Fields.Cause),
		cmp.Compare(b.Worth, a.Worth),
		cmp.Compare(a.Rate.Target.Fields.Code, b.Rate.Target.Fields.Code),
		judgement.ComparePlays(a.Rate, b.Rate),
	)
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
