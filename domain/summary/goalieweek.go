package summary

import (
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/planning"
)

// GoalieWeek is the weekly development summary of one goalie.
type GoalieWeek struct {
	Goalie           WeekGoalie   `json:"goalie"`
	Week             domain.Week  `json:"week"`
	From             domain.Date  `json:"from"`
	To               domain.Date  `json:"to"`
	AvailabilityNote string       `json:"availability_note"`
	PracticeMinutes  int          `json:"practice_minutes"` // a week
	LiveShots        *LiveShots   `json:"live_shots"`       // null: no level is known, and no team sets the caps
	Method           Method       `json:"method"`
	Plays            []WeekPlay   `json:"plays"`
	WorkOns          []WorkOn     `json:"work_ons"`   // at most three, the first first
	NoWorkOn         *string      `json:"no_work_on"` // why there is none
	Advice           []WeekAdvice `json:"advice"`
	WentWell         []WentWell   `json:"went_well"`
	Changed          []RateChange `json:"changed"`      // rates that rise or fall
	ChangedNote      string       `json:"changed_note"` // how many are watched, and how many false alarms a season that makes
	Blocks           []WeekBlock  `json:"blocks"`
	ReadingList      []ToRead     `json:"reading_list"`
	HeldBack         []HeldBack   `json:"held_back"`
	SharedCautions   []string     `json:"shared_cautions"` // those that stand on more than one recommended drill, once
	Cautions         []string     `json:"cautions"`
	Care             string       `json:"care"`
}

// WeekGoalie is the goalie at the head of a summary.
type WeekGoalie struct {
	ID           domain.ID           `json:"id"`
	Name         string              `json:"name"`
	StickHand    domain.Hand         `json:"stick_hand"`
	Availability domain.Availability `json:"availability"`
}

// LiveShots is a goalie's live-shot budget of a week: a cap, never a goal to reach.
type LiveShots struct {
	BudgetWeek    int    `json:"budget_week"`
	BudgetSession int    `json:"budget_session"`
	Used          int    `json:"used"` // in the week: in games, drills and team play
	Left          int    `json:"left"`
	Source        string `json:"source"` // where the budget comes from
}

// HeldBack is something that was not recommended, for which target, the gate that stopped it, and why.
type HeldBack struct {
	What string        `json:"what"`
	For  *string       `json:"for"` // the target's name; null: not for one
	Gate planning.Gate `json:"gate"`
	Why  string        `json:"why"`
}

// WeekAdvice is what a rule without a drill says, and the names of the targets of which it says it.
type WeekAdvice struct {
	RuleID  domain.ID `json:"rule_id"`
	Rule    string    `json:"rule"`
	Text    string    `json:"text"`
	Targets []string  `json:"targets"`
}

// WentWell is a rate that reaches its target.
type WentWell struct {
	Target   Rate   `json:"target"`
	Sentence string `json:"sentence"`
}

const care = "Equipment standards, league rules, local codes and the judgement of a licensed clinician come before " +
	"anything on this page, which never says whether a goalie may return to play."

// OfGoalie works out a goalie's week from all that it stands on. The same records always give the same summary.
func OfGoalie(r domain.WeekRecords) GoalieWeek { return judgingOf(r).goalie(r) }

func (j judging) goalie(r domain.WeekRecords) GoalieWeek {
	faced := his(r)
	j.fits = judgement.Remembering(j.fits)
	plays := judgement.Plays(judgement.Between(faced, domain.LookBack(j.targets, r.Week), r.Week.Sunday()))
	rates := judgement.RatesOf(r.Goalie.ID, j.targets, plays, r.Week, j.peers, j.bounds)
	need := needOf(r, faced, plays, rates)
	need.Order = j.order(r, plays)
	plan := planning.MakePlan(need)
	faces := shown(rates, j.signalsOf(r, faced, rates))
	v := GoalieWeek{
		Goalie: WeekGoalie{
			r.Goalie.ID, r.Goalie.Fields.Name, r.Goalie.Fields.StickHand, r.Goalie.Fields.Availability,
		},
		Week: r.Week, From: r.Week.Monday(), To: r.Week.Sunday(),
		AvailabilityNote: availabilityNote(r.Goalie.Fields), PracticeMinutes: need.PracticeMinutes,
		LiveShots: liveShotsOf(need.Budget), Method: j.method(), Care: care,
		Plays:       weekPlays(plays, faces, faced, r, j.fits),
		WorkOns:     j.workOnsOf(plan, faces, plays, r.Habits),
		NoWorkOn:    noWorkOn(plan, plays, rates),
		Advice:      adviceOf(plan),
		WentWell:    wentWellOf(rates, faces),
		Blocks:      blocksOf(planning.Blocks(r, judgement.Plays(faced)), r.Week.Sunday()),
		ReadingList: readingListOf(plan),
		HeldBack:    heldBackOf(plan),
	}
	v.Changed, v.ChangedNote = changesOf(v.Plays), falseAlarms(watched(v.Plays), j.signalLevel)
	v.SharedCautions = sharedCautions(v.WorkOns)
	v.Cautions = cautions(v, rates)
	return v
}

func needOf(r domain.WeekRecords, faced domain.FacedRecords, plays []judgement.Play, rates []judgement.Rate) planning.Need {
	g := r.Goalie.Fields
	levels := make([]domain.Level, len(plays))
	for i, p := range plays {
		levels[i] = p.Level
	}
	return planning.Need{
		Goalie: g, Week: r.Week, PracticeMinutes: planning.PracticeMinutes(g, r.Teams),
		Budget:   planning.BudgetOf(r.Teams, planning.LevelOf(g, levels), faced, r.Logs, r.Week),
		InSeason: planning.InSeason(faced, r.Seasons, r.Week),
		Rates:    rates, Habits: r.Habits, Drills: r.Drills, Rules: r.Rules,
		Assignments: r.Assignments, Logs: r.Logs, NextGames: r.NextGames, Faced: faced,
	}
}

func liveShotsOf(b *planning.Budget) *LiveShots {
	if b == nil {
		return nil
	}
	return &LiveShots{b.Week, b.Session, b.Used, b.Left(), b.Source}
}

func heldBackOf(plan planning.Plan) []HeldBack {
	out := make([]HeldBack, len(plan.HeldBack))
	for i, h := range plan.HeldBack {
		out[i] = HeldBack{What: h.What, Gate: h.Gate, Why: h.Why}
		if h.For != "" {
			out[i].For = &h.For
		}
	}
	return out
}

func adviceOf(plan planning.Plan) []WeekAdvice {
	out := make([]WeekAdvice, len(plan.Advice))
	for i, a := range plan.Advice {
		out[i] = WeekAdvice{RuleID: a.Rule.ID, Rule: a.Rule.Fields.Name, Text: a.Rule.Fields.Advice, Targets: []string{}}
		for _, r := range a.Rates {
			if name := r.Target.Fields.Name; !slices.Contains(out[i].Targets, name) {
				out[i].Targets = append(out[i].Targets, name)
			}
		}
	}
	return out
}

func wentWellOf(rates []judgement.Rate, faces shownRates) []WentWell {
	well := planning.WentWell(rates)
	out := make([]WentWell, len(well))
	for i, r := range well {
		out[i] = WentWell{faces.of(r), wellSentence(r)}
	}
	return out
}

// his keeps what the goalie of the week faced up to its Sunday, whatever else was read with it.
func his(r domain.WeekRecords) domain.FacedRecords {
	mine := func(id *domain.ID) bool { return id != nil && *id == r.Goalie.ID }
	past := func(g domain.Game) bool { return !r.Week.Sunday().Before(g.Fields.PlayedOn) }
	var out domain.FacedRecords
	for _, s := range r.Faced.Shots {
		if mine(s.Shot.Found.FacedGoalieID) && past(s.Game) {
			out.Shots = append(out.Shots, s)
		}
	}
	for _, s := range r.Faced.Stints {
		if mine(s.Stint.Fields.GoalieID) && past(s.Game) {
			out.Stints = append(out.Stints, s)
		}
	}
	for _, c := range r.Faced.Clears {
		if mine(c.Clear.Found.CageGoalieID) && past(c.Game) {
			out.Clears = append(out.Clears, c)
		}
	}
	return out
}

// noWorkOn says in plain words why the week has no work-on; nil when it has one.
func noWorkOn(plan planning.Plan, plays []judgement.Play, rates []judgement.Rate) *string {
	var why string
	switch {
	case len(plan.WorkOns) > 0:
		return nil
	case len(plan.HeldBack) > 0:
		why = plan.HeldBack[0].Why
	case len(plays) == 0:
		why = "No shots charted in the look-back."
	case !slices.ContainsFunc(rates, judgement.Rate.Told):
		why = "Too few shots so far to say which rate is short of its target."
	case slices.ContainsFunc(rates, judgement.Rate.Gap):
		why = "Some rates look low, but with so many that is to be expected by chance: none stands out."
	default:
		why = "No rate is clearly or probably below its target."
	}
	return &why
}
