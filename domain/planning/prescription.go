package planning

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strings"

	"cagework/domain"
	"cagework/domain/judgement"
)

// drillsEach is how many drills a work-on has at most. Each work-on gets its first before any gets a second.
const drillsEach = 2

// Plan is a week's work.
type Plan struct {
	WorkOns     []WorkOn
	HeldBack    []HeldBack
	Advice      []Advice
	ReadingList []ToRead
}

// Prescription is a recommended drill in its dose: a rule's or, in a block, what the coach assigned.
type Prescription struct {
	Drill      domain.Drill
	Dose       domain.Dose
	Ball       domain.Ball        // what it sends at a goalie of this level
	Rule       *domain.Rule       // nil when it is assigned
	Assignment *domain.Assignment // nil when a rule gave it
	Notes      []string           // when not to do it
}

// Advice is what a rule without a drill says, and the rates that it says it of.
type Advice struct {
	Rule  domain.Rule
	Rates []judgement.Rate
}

// candidate is a drill that a rule of the table, or the coach's assignment, gives for a work-on.
type candidate struct {
	rate       judgement.Rate
	level      domain.Level
	drill      domain.Drill
	dose       domain.Dose
	rule       *domain.Rule
	assignment *domain.Assignment
}

func (c candidate) ball() domain.Ball { return c.drill.Fields.BallAt(c.level) }
func (c candidate) live() bool        { return c.ball() == domain.BallLive }

// liveShots gives what the dose takes of a session's and of a week's live shots.
func (c candidate) liveShots() (session, week int) {
	if !c.live() {
		return 0, 0
	}
	return c.dose.Repetitions, c.dose.Repetitions * c.dose.TimesAWeek
}

// planner is a week's plan in the making: what is left of the minutes and shots, and what was given.
type planner struct {
	Need
	minutesLeft, liveLeft, sessionLeft int
	given                              map[domain.ID]domain.Target // for which, by drill
	newGiven                           string                      // the new drill of the week
	freeDay                            bool                        // a day of the coming week is neither a game's nor before one
	gameDays                           string                      // of the coming week, in words
	plan                               Plan
}

// MakePlan chooses the work-ons and their drills. A goalie who is held gets nothing, and nobody is asked to read film
// for a goalie who does not play.
func MakePlan(n Need) Plan {
	if why := heldGate(n.Goalie.Availability); why != "" {
		return Plan{HeldBack: []HeldBack{{What: "Everything", Gate: GateAvailability, Why: why}}}
	}
	p := planner{Need: n, minutesLeft: n.PracticeMinutes, given: map[domain.ID]domain.Target{}}
	p.freeDay, p.gameDays = comingDays(n)
	if n.Budget != nil {
		p.liveLeft, p.sessionLeft = n.Budget.Left(), n.Budget.Session
		if !p.freeDay {
			p.sessionLeft /= 2
		}
	}
	p.plan.WorkOns = ChooseWorkOns(n)
	p.giveDrills()
	p.plan.Advice = p.advice()
	p.plan.ReadingList = ReadingList(n, p.plan.WorkOns)
	return p.plan
}

// giveDrills gives each work-on, in order, its first drill that passes the gates, then each a second.
func (p *planner) giveDrills() {
	offers := make([][]candidate, len(p.plan.WorkOns))
	for i, w := range p.plan.WorkOns {
		offers[i] = p.candidates(w.Rate)
	}
	for range drillsEach {
		for i := range offers {
			offers[i] = p.give(&p.plan.WorkOns[i], offers[i])
		}
	}
}

// give gives a work-on the first of the offers that passes, and returns the offers that were not looked at yet.
func (p *planner) give(w *WorkOn, offers []candidate) []candidate {
	for i, c := range offers {
		if target, given := p.given[c.drill.ID]; given && target.ID == c.rate.Target.ID {
			continue // by another rule, or because it is assigned
		}
		if held := p.passGates(c); held != nil {
			// A rule for any target that builds on what was not tried is no news.
			if held.Gate != GateTriedBefore || c.rule.Fields.TargetID != nil {
				p.plan.HeldBack = append(p.plan.HeldBack, *held)
			}
			continue
		}
		p.take(w, c)
		return offers[i+1:]
	}
	return nil
}

func (p *planner) take(w *WorkOn, c candidate) {
	session, week := c.liveShots()
	p.minutesLeft -= c.dose.WeekMinutes()
	p.sessionLeft -= session
	p.liveLeft -= week
	p.given[c.drill.ID] = c.rate.Target
	if youth(c.level) && p.ever(c.drill.ID) == 0 {
		p.newGiven = c.drill.Fields.Name
	}
	w.Drills = append(w.Drills, Prescription{
		Drill: c.drill, Dose: c.dose, Ball: c.ball(), Rule: c.rule, Assignment: c.assignment, Notes: p.notes(c),
	})
}

// notes says when not to do a drill.
func (p *planner) notes(c candidate) []string {
	if p.gameDays == "" || (c.drill.Fields.Effort != domain.Hard && !c.live()) {
		return nil
	}
	return []string{fmt.Sprintf("Not on the day before a game (%s): no hard drill, half the live shots.", p.gameDays)}
}

// candidates gives what is offered for a rate, the first choice first: what the coach assigned for it, then the rules
// table. A rate of which too little is known is offered nothing by the table.
func (p *planner) candidates(r judgement.Rate) []candidate {
	var found []candidate
	for _, a := range p.running() {
		if d, there := p.drill(a.Fields.DrillID); there && a.Fields.TargetID == r.Target.ID {
			found = append(found, candidate{rate: r, level: p.levelFor(r), drill: d, dose: a.Fields.Dose, assignment: &a})
		}
	}
	if *r.State == domain.NoData || *r.State == domain.TooFew {
		return found
	}
	for _, rule := range p.rules() {
		if rule.Fields.DrillID == nil || !p.speaks(rule, r) {
			continue
		}
		d, there := p.drill(*rule.Fields.DrillID)
		if !there || !d.Fields.Active {
			continue
		}
		found = append(found, candidate{rate: r, level: p.levelFor(r), drill: d, dose: rule.Fields.Dose, rule: &rule})
	}
	return found
}

// rules gives the rules table in its order.
func (n Need) rules() []domain.Rule {
	return slices.SortedFunc(slices.Values(n.Rules), func(a, b domain.Rule) int {
		return cmp.Or(
			cmp.Compare(a.Fields.Priority, b.Fields.Priority),
			cmp.Compare(a.Fields.Name, b.Fields.Name),
			bytes.Compare(a.ID[:], b.ID[:]),
		)
	})
}

// passGates gives the first gate that holds the candidate back, or nil.
func (p *planner) passGates(c candidate) *HeldBack {
	for _, g := range gates {
		if why := g.stops(p, c); why != "" {
			return &HeldBack{What: c.drill.Fields.Name, For: c.rate.Target.Fields.Name, Gate: g.name, Why: why}
		}
	}
	return nil
}

// advice gives what the rules without a drill say: of rates below their target only of the work-ons, of others of all.
func (p *planner) advice() []Advice {
	var out []Advice
	for _, rule := range p.rules() {
		if rule.Fields.DrillID != nil {
			continue
		}
		a := Advice{Rule: rule}
		for _, r := range p.Rates {
			if p.speaks(rule, r) && p.notTried(rule, r.Target.ID) == "" && (!r.Gap() || p.workedOn(r)) {
				a.Rates = append(a.Rates, r)
			}
		}
		if len(a.Rates) > 0 {
			out = append(out, a)
		}
	}
	return out
}

func (p *planner) workedOn(r judgement.Rate) bool {
	return slices.ContainsFunc(p.plan.WorkOns, func(w WorkOn) bool {
		return w.Rate.Target.ID == r.Target.ID && judgement.ComparePlays(w.Rate, r) == 0
	})
}

// comingDays tells whether a day of the coming week is neither a game's nor the day before one, and names the game
// days in words.
func comingDays(n Need) (free bool, names string) {
	var days []domain.Date
	monday := n.Week.Monday().AddDays(7)
	for i := range 8 {
		day := monday.AddDays(i)
		if slices.ContainsFunc(n.NextGames, func(g domain.Game) bool { return g.Fields.PlayedOn == day }) {
			days = append(days, day)
		}
	}
	for i := range 7 {
		day := monday.AddDays(i)
		free = free || (!slices.Contains(days, day) && !slices.Contains(days, day.AddDays(1)))
	}
	words := make([]string, len(days))
	for i, day := range days {
		words[i] = spoken(day)
	}
	return free, strings.Join(words, ", ")
}
