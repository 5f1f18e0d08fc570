package planning

import (
	"cmp"
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// Need is what a week's work is planned from.
type Need struct {
	Goalie          domain.GoalieFields
	PracticeMinutes int // a week; see [PracticeMinutes]
	Rates           []judgement.Rate
	Drills          []domain.Drill
	Rules           []domain.Rule
}

// Plan is a week's work: what to work on, the drill for it, and what was held back. The dose is the rule's.
type Plan struct {
	WorkOn   *WorkOn
	Drill    *domain.Drill // nil without a work-on, without a rule for it, or when the gates held every drill back
	Rule     *domain.Rule  // that gave the drill
	HeldBack []HeldBack
}

// PracticeMinutes gives a goalie's practice minutes of a week: the goalie's own where set, else the most that a
// team of the goalie's has; without a team none. Minutes of two teams are not added: they serve other goalies too.
func PracticeMinutes(g domain.GoalieFields, teams []domain.Team) int {
	if g.PracticeMinutes != nil {
		return *g.PracticeMinutes
	}
	most := 0
	for _, t := range teams {
		most = max(most, t.Fields.PracticeMinutes)
	}
	return most
}

// MakePlan chooses the work-on and its drill. A goalie who is held gets neither.
func MakePlan(n Need) Plan {
	if why := heldGate(n.Goalie.Availability); why != "" {
		return Plan{HeldBack: []HeldBack{{"Everything", GateAvailability, why}}}
	}
	plan := Plan{WorkOn: ChooseWorkOn(n.Rates)}
	if plan.WorkOn == nil {
		return plan
	}
	for _, c := range candidates(n, plan.WorkOn.Rate) {
		if held := passGates(n, c); held != nil {
			plan.HeldBack = append(plan.HeldBack, *held)
		} else if plan.Drill == nil {
			plan.Drill, plan.Rule = &c.drill, &c.rule
		}
	}
	return plan
}

// candidates gives what the rules table offers for a rate, the first choice first.
func candidates(n Need, r judgement.Rate) []candidate {
	var found []candidate
	for _, rule := range n.Rules {
		if !applies(rule, r) {
			continue
		}
		for _, drill := range n.Drills {
			if drill.ID == rule.Fields.DrillID && drill.Fields.Active && drill.Fields.Fits(r.CodeOfPlay, r.Level) {
				found = append(found, candidate{rule, drill})
			}
		}
	}
	slices.SortFunc(found, func(a, b candidate) int {
		return cmp.Or(
			cmp.Compare(a.rule.Fields.Priority, b.rule.Fields.Priority),
			cmp.Compare(a.rule.Fields.Name, b.rule.Fields.Name),
			cmp.Compare(a.rule.ID.String(), b.rule.ID.String()),
		)
	})
	return found
}

func applies(rule domain.Rule, r judgement.Rate) bool {
	f := rule.Fields
	return f.Active && f.TargetID == r.Target.ID && r.State != nil && slices.Contains(f.States, *r.State) &&
		slices.Contains(f.Levels, r.Level) && slices.Contains(f.CodesOfPlay, r.CodeOfPlay)
}

// passGates gives the first gate that holds the candidate back, or nil.
func passGates(n Need, c candidate) *HeldBack {
	for _, g := range gates {
		if why := g.stops(n, c); why != "" {
			return &HeldBack{What: c.drill.Fields.Name, Gate: g.name, Why: why}
		}
	}
	return nil
}
