package summary

import (
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/planning"
)

// GoalieWeek is the weekly development summary of one goalie.
type GoalieWeek struct {
	Goalie          WeekGoalie  `json:"goalie"`
	Week            domain.Week `json:"week"`
	From            domain.Date `json:"from"`
	To              domain.Date `json:"to"`
	PracticeMinutes int         `json:"practice_minutes"` // a week
	Method          string      `json:"method"`
	Plays           []WeekPlay  `json:"plays"`
	WorkOn          *WorkOn     `json:"work_on"`
	NoWorkOn        *string     `json:"no_work_on"` // why there is none
	HeldBack        []HeldBack  `json:"held_back"`
	Cautions        []string    `json:"cautions"`
	Care            string      `json:"care"`
}

// WeekGoalie is the goalie at the head of a summary.
type WeekGoalie struct {
	ID           domain.ID           `json:"id"`
	Name         string              `json:"name"`
	StickHand    domain.Hand         `json:"stick_hand"`
	Availability domain.Availability `json:"availability"`
}

// HeldBack is something that was not recommended, the gate that stopped it, and why.
type HeldBack struct {
	What string        `json:"what"`
	Gate planning.Gate `json:"gate"`
	Why  string        `json:"why"`
}

const (
	method = "A rate is hits over tries in its look-back, with the 95 % Wilson score interval; the chance that the " +
		"true rate is below the target comes from these tries alone (Jeffreys' prior); under the target's least " +
		"number of tries, or with an 80 % interval wider than .30, the state is too few shots; shots of one game " +
		"share shooters and defence, so take every interval as a little too narrow."
	care = "Equipment standards, league rules, local codes and the judgement of a licensed clinician come before " +
		"anything on this page, which never says whether a goalie may return to play."
)

// OfGoalie works out a goalie's week from all that it stands on. The same records always give the same summary.
func OfGoalie(r domain.WeekRecords) GoalieWeek {
	faced := his(r)
	targets := activeTargets(r.Targets)
	plays := judgement.Plays(inLookBack(faced, targets, r.Week))
	rates := rateAll(targets, plays, r.Week)
	minutes := planning.PracticeMinutes(r.Goalie.Fields, r.Teams)
	plan := planning.MakePlan(planning.Need{
		Goalie: r.Goalie.Fields, PracticeMinutes: minutes, Rates: rates, Drills: r.Drills, Rules: r.Rules,
	})
	v := GoalieWeek{
		Goalie: WeekGoalie{
			r.Goalie.ID, r.Goalie.Fields.Name, r.Goalie.Fields.StickHand, r.Goalie.Fields.Availability,
		},
		Week: r.Week, From: r.Week.Monday(), To: r.Week.Sunday(), PracticeMinutes: minutes,
		Method: method, Care: care,
		Plays:    weekPlays(plays, rates, faced, r),
		WorkOn:   workOnOf(plan, plays),
		NoWorkOn: noWorkOn(plan, plays, rates),
		HeldBack: make([]HeldBack, 0, len(plan.HeldBack)),
	}
	for _, h := range plan.HeldBack {
		v.HeldBack = append(v.HeldBack, HeldBack(h))
	}
	v.Cautions = cautions(v, rates)
	return v
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

// activeTargets gives the targets in use, in the order of causes.
func activeTargets(all []domain.Target) []domain.Target {
	out := slices.DeleteFunc(slices.Clone(all), func(t domain.Target) bool { return !t.Fields.Active })
	slices.SortFunc(out, func(a, b domain.Target) int {
		return cmpTargets(a.Fields, b.Fields)
	})
	return out
}

func rateAll(targets []domain.Target, plays []judgement.Play, week domain.Week) []judgement.Rate {
	var rates []judgement.Rate
	for _, play := range plays {
		for _, t := range targets {
			rates = append(rates, judgement.RateOf(t, play, week, judgement.Defaults()))
		}
	}
	return rates
}

// noWorkOn says in plain words why the week has no work-on; nil when it has one.
func noWorkOn(plan planning.Plan, plays []judgement.Play, rates []judgement.Rate) *string {
	told := func(r judgement.Rate) bool {
		return r.State != nil && *r.State != domain.NoData && *r.State != domain.TooFew
	}
	var why string
	switch {
	case plan.WorkOn != nil:
		return nil
	case len(plan.HeldBack) > 0:
		why = plan.HeldBack[0].Why
	case len(plays) == 0:
		why = "No shots charted in the look-back."
	case !slices.ContainsFunc(rates, told):
		why = "Too few shots so far to say which rate is short of its target."
	default:
		why = "No rate is clearly or probably below its target."
	}
	return &why
}
