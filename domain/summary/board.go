package summary

import (
	"cagework/domain"
	"cagework/domain/judgement"
)

// groupJudging works out what the weeks of a group are judged with: the peers once for all, and charts whose false alarms
// are few over the whole board.
func groupJudging(r domain.GroupRecords) judging {
	var common domain.WeekRecords
	if len(r.Weeks) > 0 {
		common = r.Weeks[0] // what weeks have in common is the same in all
	}
	j := judgingOf(common)
	j.signalLevel = judgement.BoardLevel(len(r.Weeks), len(j.targets), j.bounds.Signal)
	return j
}

// listBoard marks the rates that are gaps to believe on one list over all goalies and plays.
func (j judging) listBoard(goalies []GroupGoalie) {
	var findings []judgement.Finding
	var rates []*Rate
	for _, g := range goalies {
		for _, p := range g.Plays {
			for i := range p.Rates {
				r := &p.Rates[i]
				if r.State == nil || r.ChanceBelow == nil {
					continue
				}
				findings = append(findings, judgement.Finding{
					Goalie: g.Goalie.ID, Target: r.TargetID, CodeOfPlay: r.CodeOfPlay, Level: r.Level,
					ChanceBelow: *r.ChanceBelow, State: *r.State,
				})
				rates = append(rates, r)
			}
		}
	}
	judgement.ListBoard(findings, j.bounds)
	for i, f := range findings {
		rates[i].OnBoard = f.Listed
	}
	for _, g := range goalies {
		for i := range g.WorkOns {
			g.WorkOns[i].Target.OnBoard = g.onBoard(g.WorkOns[i].Target)
		}
	}
}

// onBoard tells whether a rate of the goalie is on the board's list.
func (g GroupGoalie) onBoard(r Rate) bool {
	for _, p := range g.Plays {
		for _, o := range p.Rates {
			if o.TargetID == r.TargetID && o.CodeOfPlay == r.CodeOfPlay && o.Level == r.Level {
				return o.OnBoard
			}
		}
	}
	return false
}

// GroupChanges is what rises or falls over the goalies of a team or program, and how often that is to be a false alarm.
type GroupChanges struct {
	Goalies []GoalieChange `json:"goalies"`
	Charts  int            `json:"charts"`       // how many are watched, two a goalie and target judged
	Level   float64        `json:"level"`        // chance of a false alarm in a season, of each
	Expect  float64        `json:"false_alarms"` // a season at most, if nobody changed: charts times level
	Note    string         `json:"note"`         // that in words
}

// GoalieChange is a goalie's rate that rises or falls.
type GoalieChange struct {
	GoalieID domain.ID `json:"goalie_id"`
	Name     string    `json:"name"`
	RateChange
}

func (j judging) groupChanges(goalies []GroupGoalie) GroupChanges {
	out := GroupChanges{Goalies: []GoalieChange{}, Level: j.signalLevel}
	for _, g := range goalies {
		for _, p := range g.Plays {
			for _, r := range p.Rates {
				if r.Signal == nil {
					continue
				}
				out.Charts += 2
				if c, changed := changeOf(r); changed {
					out.Goalies = append(out.Goalies, GoalieChange{g.Goalie.ID, g.Goalie.Name, c})
				}
			}
		}
	}
	out.Expect = float64(out.Charts) * out.Level
	out.Note = falseAlarms(out.Charts/2, out.Level)
	return out
}
