package judgement

import (
	"cmp"
	"fmt"
	"slices"

	"cagework/domain/stats"
)

// ordering is a choice half made.
type ordering struct {
	Choice
	gaps  []Gap
	cover stats.Coverage
	set   uint64 // of the gaps that are in out
	out   []Gap
}

// nothing is what a gap adds, in goals a game, that adds nothing.
const nothing = 1e-9

// next takes one gap more; false when none is left.
func (o *ordering) next() bool {
	var left []int
	for i, g := range o.gaps {
		taken := slices.ContainsFunc(o.out, func(t Gap) bool { return t.Rate.Target.ID == g.Rate.Target.ID })
		if !taken {
			left = append(left, i)
		}
	}
	for i := range o.gaps {
		o.gaps[i].Adds = o.cover.Adds(i, o.set)
	}
	left = slices.DeleteFunc(left, func(i int) bool {
		return o.gaps[i].Known && !o.gaps[i].Kept && o.gaps[i].Adds < nothing
	})
	if len(left) == 0 {
		return false
	}
	place := o.keeps(left)
	if place < 0 {
		place = o.earliest(left)
	}
	g := o.gaps[place]
	g.Why = o.why(g)
	o.out = append(o.out, g)
	o.set |= 1 << place
	return true
}

// keeps gives the first kept gap that is left, unless one that is not kept is clearly worth more than it; -1 without.
func (o *ordering) keeps(left []int) int {
	for _, i := range left {
		if o.gaps[i].Kept && !o.overtaken(i, left) {
			return i
		}
	}
	return -1
}

func (o *ordering) overtaken(kept int, left []int) bool {
	for _, i := range left {
		if o.gaps[i].Kept || o.gaps[i].Adds <= o.gaps[kept].Adds {
			continue
		}
		pair := []Gap{o.gaps[i], o.gaps[kept]}
		if stats.ChanceFirst(lawsOf(pair))[0] >= o.Bounds.Overtaken {
			return true
		}
	}
	return false
}

// earliest gives, of the gaps that add about the most, the earliest cause.
func (o *ordering) earliest(left []int) int {
	most := slices.MaxFunc(left, func(a, b int) int {
		return cmp.Or(cmp.Compare(o.gaps[a].Adds, o.gaps[b].Adds), compareNames(o.gaps[b].Rate, o.gaps[a].Rate))
	})
	near := slices.DeleteFunc(slices.Clone(left), func(i int) bool {
		return o.gaps[i].Adds < (1-o.Bounds.AboutTheSame)*o.gaps[most].Adds
	})
	first := slices.MinFunc(near, func(a, b int) int {
		return cmp.Or(
			cmp.Compare(o.gaps[a].Rate.Target.Fields.Cause, o.gaps[b].Rate.Target.Fields.Cause),
			cmp.Compare(o.gaps[b].Adds, o.gaps[a].Adds),
			compareNames(o.gaps[a].Rate, o.gaps[b].Rate),
		)
	})
	if o.gaps[first].Adds < o.gaps[most].Adds {
		over := o.gaps[most]
		o.gaps[first].Over = &over
	}
	return first
}

// why says in a sentence why a gap stands where it stands, and how likely it is the right one to begin with.
func (o *ordering) why(g Gap) string {
	worth, right := goals(g.Goals), fmt.Sprintf("; chance that no gap costs more: %s", InHundred(g.First))
	if goals(g.Adds) != goals(g.Goals) {
		worth = fmt.Sprintf("%s (%s beside those above)", goals(g.Goals), tenth(g.Adds))
	}
	if g.Value.Assumed {
		right += fmt.Sprintf("; that a hit is worth %.3g goals is assumed, not measured", g.Value.Goals)
	}
	switch {
	case g.Kept && !g.Known:
		return "Its block runs. What reaching the target is worth in goals is not known yet."
	case g.Kept:
		return fmt.Sprintf("Its block runs, and nothing else is clearly worth more. Reaching the target is worth %s%s.", worth, right)
	case !g.Known:
		return "What reaching the target is worth in goals is not known yet, so it stands behind what is known."
	case g.Over != nil:
		return fmt.Sprintf("Reaching the target is worth %s, about as much as %s at %s, and it comes earlier in the order of causes%s.",
			worth, g.Over.Rate.Target.Fields.Name, goals(g.Over.Adds), right)
	}
	return fmt.Sprintf("Reaching the target is worth %s, the most of what is left%s.", worth, right)
}

func goals(g float64) string { return tenth(g) + " goals a game" }

func tenth(g float64) string {
	if g < 0.05 {
		return "under 0.1"
	}
	return fmt.Sprintf("about %.1f", g)
}

// InHundred says a chance; one that rounds to certainty or to nothing is not called so.
func InHundred(chance float64) string {
	switch n := int(100*chance + 0.5); {
	case n > 99:
		return "more than 99 in 100"
	case n < 1:
		return "less than 1 in 100"
	default:
		return fmt.Sprintf("%d in 100", n)
	}
}
