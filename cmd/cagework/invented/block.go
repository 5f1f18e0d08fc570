package invented

import (
	"slices"

	"cagework/domain"
)

// practise enters what a coach assigned to a goalie, and the practices of the season: the block's drill in its weeks,
// as often as people manage, and team play.
func (k *maker) practise(p *player, play *play, team domain.Team) {
	drill, times := k.drill("arc_walk"), 1
	if b := p.Block; b.Week > 0 {
		k.assign(p)
	}
	for week := range Weeks {
		if !p.plays(week) {
			continue
		}
		at, often := drill, times
		if b := p.Block; b.Week > 0 && week >= b.Week-1 && week < b.Week-1+b.Weeks && b.Status != domain.Dropped {
			at = k.drill(b.Drill)
			often = at.Fields.Dose.TimesAWeek
		}
		k.practiceWeek(p, play, team, week, at, often)
	}
}

func (k *maker) drill(code string) domain.Drill {
	id := k.starterID(domain.NounDrill, code)
	return k.Starter.Drills[slices.IndexFunc(k.Starter.Drills, func(d domain.Drill) bool { return d.ID == id })]
}

func (k *maker) assign(p *player) {
	b, drill := p.Block, k.drill(p.Block.Drill)
	f := domain.AssignmentFields{
		GoalieID: p.id, TargetID: k.starterID(domain.NounTarget, b.Target), DrillID: drill.ID, Dose: drill.Fields.Dose,
		StartsOn: k.first.AddDays(7 * (b.Week - 1)), Weeks: b.Weeks, Status: b.Status,
		RuleID: new(k.starterID(domain.NounRule, b.Rule)),
	}
	if b.Reason != "" {
		f.Reason = &b.Reason
	}
	k.program.Assignments = append(k.program.Assignments, domain.Assignment{ID: k.id("block %s", p.id), Fields: f})
}

// practiceWeek logs the practices of a week: on Monday, Wednesday and Friday.
func (k *maker) practiceWeek(p *player, play *play, team domain.Team, week int, drill domain.Drill, times int) {
	for i, day := range []int{0, 2, 4} {
		f := domain.PracticeLogFields{
			GoalieID: p.id, TeamID: team.ID, PractisedOn: k.first.AddDays(7*week + day), Done: []domain.PracticeDone{},
		}
		if p.availability() == domain.Full {
			f.TeamShots = k.about(domain.StarterBudgets[play.competition.Level].Week / 12)
		}
		if i < times && k.chance(.85) {
			dose := drill.Fields.Dose
			f.Done = append(f.Done, domain.PracticeDone{DrillID: drill.ID, Minutes: dose.Minutes, Repetitions: dose.Repetitions})
		}
		k.program.Logs = append(k.program.Logs, domain.PracticeLog{ID: k.id("practice %s %s", p.id, f.PractisedOn), Fields: f})
	}
}
