package planning

import (
	"fmt"
	"slices"
	"strings"

	"cagework/domain"
	"cagework/domain/judgement"
)

// speaks tells whether a rule is about a rate at all: its target, state, level, code of play and part of the season,
// and what else it asks of the goalie's other targets. A rule that does not speak is not held back: it has nothing to
// say.
func (n Need) speaks(rule domain.Rule, r judgement.Rate) bool {
	f := rule.Fields
	return f.Active && (f.TargetID == nil || *f.TargetID == r.Target.ID) &&
		r.State != nil && slices.Contains(f.States, *r.State) &&
		slices.Contains(f.Levels, n.levelFor(r)) && slices.Contains(f.CodesOfPlay, r.CodeOfPlay) &&
		n.inPart(f.SeasonPart) && n.alsoShort(f, r) && n.notShort(f, r) && n.onlyShort(f, r) &&
		(!f.ForShy || n.Goalie.ShiesFromBall)
}

// inPart tells whether the part of the season is the present one.
func (n Need) inPart(part domain.SeasonPart) bool {
	switch part {
	case domain.PreSeason:
		return !n.InSeason
	case domain.InSeason:
		return n.InSeason
	case domain.AnyPart:
	}
	return true
}

// others tells whether a rate of the same play, of another target, is such.
func (n Need) others(r judgement.Rate, such func(judgement.Rate) bool) bool {
	return slices.ContainsFunc(n.Rates, func(o judgement.Rate) bool {
		return o.CodeOfPlay == r.CodeOfPlay && o.Level == r.Level && o.Target.ID != r.Target.ID && such(o)
	})
}

// alsoShort tells whether one of the targets that must fall short too does.
func (n Need) alsoShort(f domain.RuleFields, r judgement.Rate) bool {
	return len(f.AlsoShortIDs) == 0 || n.others(r, func(o judgement.Rate) bool {
		return slices.Contains(f.AlsoShortIDs, o.Target.ID) && o.Short()
	})
}

// notShort tells whether none of the targets that must not be a clear gap is one.
func (n Need) notShort(f domain.RuleFields, r judgement.Rate) bool {
	return !n.others(r, func(o judgement.Rate) bool {
		return slices.Contains(f.NotShortIDs, o.Target.ID) && o.State != nil && *o.State == domain.ClearGap
	})
}

// onlyShort tells whether no other target falls short, where the rule asks for that.
func (n Need) onlyShort(f domain.RuleFields, r judgement.Rate) bool {
	return !f.OnlyShort || !n.others(r, judgement.Rate.Short)
}

// standsAside tells whether a rate leaves the place to others: some other target falls short in the same play, and every
// rule that has a drill for this one asks that none does. So the rate of all shots, which is low whenever a part of it
// is, comes up only by itself.
func (n Need) standsAside(r judgement.Rate) bool {
	has := false
	for _, rule := range n.Rules {
		f := rule.Fields
		if !f.Active || f.DrillID == nil || f.TargetID == nil || *f.TargetID != r.Target.ID {
			continue
		}
		if !f.OnlyShort {
			return false
		}
		has = true
	}
	return has && n.others(r, judgement.Rate.Short)
}

// notTried gives what must have been practised before the rule holds and was not, or "".
func (n Need) notTried(rule domain.Rule, target domain.ID) string {
	f := rule.Fields
	if done := n.recently(f.AfterDrillIDs...); done < f.AfterSessions {
		var names []string
		for _, id := range f.AfterDrillIDs {
			if d, there := n.drill(id); there {
				names = append(names, d.Fields.Name)
			}
		}
		return fmt.Sprintf("It comes after %s of: %s; in the last four weeks there were %d.",
			counted(f.AfterSessions, "practice"), strings.Join(names, ", "), done)
	}
	finished := 0
	for _, a := range n.Assignments {
		if a.Fields.Status == domain.Finished && a.Fields.TargetID == target && !n.Week.Sunday().Before(a.Fields.StartsOn) {
			finished++
		}
	}
	if finished < f.AfterBlocks {
		return fmt.Sprintf("It comes after %s for the target; there were %d.", counted(f.AfterBlocks, "finished block"), finished)
	}
	return ""
}

func counted(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
