package planning

import (
	"fmt"
	"slices"
	"strings"

	"cagework/domain"
)

// Gate names a check that a drill must pass before it is recommended. No rule lifts a gate.
type Gate string

// The gates, in the order in which they are asked.
const (
	GateAvailability Gate = "availability"
	GateLevel        Gate = "level"
	GateDropped      Gate = "dropped"
	GateGiven        Gate = "already_given"
	GateTriedBefore  Gate = "tried_before"
	GateOneBallDown  Gate = "one_ball_down"
	GateSoftStep     Gate = "soft_step"
	GateGameDay      Gate = "day_before_game"
	GateLiveShots    Gate = "live_shots"
	GateMinutes      Gate = "minutes"
	GateNewMovement  Gate = "new_movement"
)

// Gates is the list of Gate.
var Gates = []Gate{
	GateAvailability, GateLevel, GateDropped, GateGiven, GateTriedBefore, GateOneBallDown, GateSoftStep, GateGameDay,
	GateLiveShots, GateMinutes, GateNewMovement,
}

// HeldBack is something that was not recommended: what, for which target, the gate that stopped it, and why, in plain
// words.
type HeldBack struct {
	What string
	For  string // the target's name; "" when it is not for one
	Gate Gate
	Why  string
}

// gates holds, for each, the function that gives why a candidate may not be recommended, or "".
var gates = []struct {
	name  Gate
	stops func(p *planner, c candidate) string
}{
	{GateAvailability, availabilityGate},
	{GateLevel, levelGate},
	{GateDropped, droppedGate},
	{GateGiven, givenGate},
	{GateTriedBefore, triedBeforeGate},
	{GateOneBallDown, oneBallDownGate},
	{GateSoftStep, softStepGate},
	{GateGameDay, gameDayGate},
	{GateLiveShots, liveShotsGate},
	{GateMinutes, minutesGate},
	{GateNewMovement, newMovementGate},
}

// heldGate gives why nothing at all may be recommended to a goalie, film included, or "".
func heldGate(a domain.Availability) string {
	if a != domain.Held {
		return ""
	}
	return "The goalie is held: nothing is recommended, film included."
}

// availabilityGate lets a limited goalie have only drills without a ball and of easy effort, and those of which a
// coach ticked that they are allowed.
func availabilityGate(p *planner, c candidate) string {
	f := c.drill.Fields
	if p.Goalie.Availability == domain.Full || (f.Ball == domain.BallNone && f.Effort == domain.Easy) ||
		(p.Goalie.Availability == domain.Limited && slices.Contains(p.Goalie.AllowedDrillIDs, c.drill.ID)) {
		return ""
	}
	return fmt.Sprintf("The goalie is %s, so only drills without a ball and of easy effort are recommended, and those "+
		"that a coach ticked as allowed; this one is: ball %s, effort %s.", p.Goalie.Availability, c.ball(), f.Effort)
}

// levelGate keeps a drill to the levels and codes of play that it is for.
func levelGate(_ *planner, c candidate) string {
	if c.drill.Fields.Fits(c.rate.CodeOfPlay, c.level) {
		return ""
	}
	return fmt.Sprintf("It is not for %s at this level (%s).",
		strings.ReplaceAll(string(c.rate.CodeOfPlay), "_", " "), strings.ReplaceAll(string(c.level), "_", " "))
}

// droppedGate keeps a drill that the coach dropped for a target from coming back in the weeks of what was dropped,
// whether it was assigned before or refused when it was recommended. What the coach assigns anew stands.
func droppedGate(p *planner, c candidate) string {
	if c.assignment != nil {
		return ""
	}
	dropped := p.standing(domain.Dropped)
	for _, a := range slices.Backward(dropped) {
		if f := a.Fields; f.DrillID == c.drill.ID && f.TargetID == c.rate.Target.ID {
			return fmt.Sprintf("The coach dropped it for this target, from %s to %s. %s",
				spoken(f.StartsOn), spoken(f.EndsOn()), Reason(f))
		}
	}
	return ""
}

// Reason gives why a coach swapped or dropped an assignment, as a sentence; "" when nothing was said.
func Reason(f domain.AssignmentFields) string {
	if f.Reason == nil {
		return ""
	}
	reason := strings.TrimSpace(*f.Reason)
	if !strings.HasSuffix(reason, ".") && !strings.HasSuffix(reason, "!") && !strings.HasSuffix(reason, "?") {
		reason += "."
	}
	return "Reason: " + reason
}

func spoken(d domain.Date) string { return d.Time().Format("2 January") }

// givenGate gives a drill once a week, for the first work-on that it serves.
func givenGate(p *planner, c candidate) string {
	if target, given := p.given[c.drill.ID]; given {
		return fmt.Sprintf("It is already given this week, for: %s.", target.Fields.Name)
	}
	return ""
}

// triedBeforeGate holds a rule back until what it builds on was practised.
func triedBeforeGate(p *planner, c candidate) string {
	if c.rule == nil {
		return ""
	}
	return p.notTried(*c.rule, c.rate.Target.ID)
}

// oneBallDownGate keeps live balls from a goalie who shies from them: one ball down, not on.
func oneBallDownGate(p *planner, c candidate) string {
	if !p.Goalie.ShiesFromBall || !c.live() {
		return ""
	}
	return "One ball down for now, as the coach ticked: no live drill."
}

// softStepGate lets a live drill come only after a drill without live balls, of a rule for the same target, was logged
// in the last four weeks.
func softStepGate(p *planner, c candidate) string {
	if !c.live() {
		return ""
	}
	var names []string
	for _, rule := range p.Rules {
		f := rule.Fields
		if !f.Active || f.DrillID == nil || f.TargetID == nil || *f.TargetID != c.rate.Target.ID {
			continue
		}
		step, there := p.drill(*f.DrillID)
		if !there || step.Fields.BallAt(c.level) == domain.BallLive {
			continue
		}
		if p.recently(step.ID) > 0 {
			return ""
		}
		if !slices.Contains(names, step.Fields.Name) {
			names = append(names, step.Fields.Name)
		}
	}
	if len(names) == 0 {
		return "A live drill comes after a drill without live balls for the same target, and the rules table has none."
	}
	slices.Sort(names)
	return fmt.Sprintf("A live drill comes after a drill without live balls for the same target was logged in the last "+
		"four weeks: %s.", strings.Join(names, ", "))
}

// gameDayGate holds a hard drill back when every day of the coming week is a game's or the day before one.
func gameDayGate(p *planner, c candidate) string {
	if c.drill.Fields.Effort != domain.Hard || p.freeDay {
		return ""
	}
	return fmt.Sprintf("Every day of the coming week is a game's or the day before one (%s): no hard drill.", p.gameDays)
}

// liveShotsGate holds a live drill against what is left of the week's budget and of a session's.
func liveShotsGate(p *planner, c candidate) string {
	session, week := c.liveShots()
	switch {
	case !c.live():
		return ""
	case p.Budget == nil:
		return "No live-shot budget is known for the goalie."
	case week > p.liveLeft:
		return fmt.Sprintf("It takes %d live shots a week; %d of %d are left.", week, p.liveLeft, p.Budget.Week)
	case session > p.sessionLeft:
		half := ""
		if !p.freeDay {
			half = ", half of them on the day before a game"
		}
		return fmt.Sprintf("It takes %d live shots a session; %d of %d are left%s.",
			session, p.sessionLeft, p.Budget.Session, half)
	}
	return ""
}

// minutesGate holds a dose against what is left of the goalie's practice minutes of a week.
func minutesGate(p *planner, c candidate) string {
	takes := c.dose.WeekMinutes()
	if takes <= p.minutesLeft {
		return ""
	}
	return fmt.Sprintf("It takes %d minutes a week; %d of %d practice minutes are left.",
		takes, p.minutesLeft, p.PracticeMinutes)
}

// newMovementGate gives children one drill a week at most that they never did.
func newMovementGate(p *planner, c candidate) string {
	if !youth(c.level) || p.newGiven == "" || p.ever(c.drill.ID) > 0 {
		return ""
	}
	return fmt.Sprintf("One new movement a week is enough at this level; this week's is: %s.", p.newGiven)
}
