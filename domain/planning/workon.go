package planning

import (
	"cmp"
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// WorkOn is a target recommended for the week, why and with what worth, and the drills for it.
type WorkOn struct {
	judgement.Gap
	Block  *Kept // it stands because its block runs
	Drills []Prescription
}

// Kept says where in its block a kept work-on is.
type Kept struct{ Week, Of int }

// Ordering puts rates in the order in which they are to be worked on: those whose blocks run, in the order in which they
// began, and those that fall short. It is the seam to the judgement; see [judgement.Choice].
type Ordering func(kept, short []judgement.Rate, most int) []judgement.Gap

// ChooseWorkOns gives the targets to work on, at most three, the first first, as [Need.Order] says: from those whose
// block runs and that are not met, and those that fall short. A target is worked on once, whatever the plays in which it
// falls short. One for which the table has drills only when nothing else falls short stands aside for all others.
func ChooseWorkOns(n Need) []WorkOn {
	var kept []judgement.Rate
	blocks := map[domain.ID]*Kept{}
	for _, a := range n.running() {
		r := keepable(n.Rates, a.Fields.TargetID)
		if r != nil && blocks[r.Target.ID] == nil {
			kept = append(kept, *r)
			blocks[r.Target.ID] = &Kept{weekOfBlock(a, n.Week), a.Fields.Weeks}
		}
	}
	var short []judgement.Rate
	for _, r := range n.Rates {
		if r.Short() && blocks[r.Target.ID] == nil && !n.standsAside(r) {
			short = append(short, r)
		}
	}
	if len(kept)+len(short) == 0 {
		return nil
	}
	var out []WorkOn
	for _, g := range n.Order(kept, short, MaxWorkOns) {
		w := WorkOn{Gap: g}
		if g.Kept {
			w.Block = blocks[g.Rate.Target.ID]
		}
		out = append(out, w)
	}
	return out
}

// keepable gives the rate of a target whose block may be kept: judged and not met; of several plays the one that
// falls short, then the one short by most tries a game. nil when there is none.
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
			cmp.Compare(b.Shortfall*b.TriesAGame(), a.Shortfall*a.TriesAGame()),
			cmp.Compare(b.Tally.Tries, a.Tally.Tries),
			judgement.ComparePlays(a, b),
		)
	})
	return &best
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
