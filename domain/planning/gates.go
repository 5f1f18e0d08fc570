package planning

import (
	"fmt"

	"cagework/domain"
)

// Gate names a check that a drill must pass before it is recommended. No rule lifts a gate.
type Gate string

// The gates, in the order in which they are asked.
const (
	GateAvailability Gate = "availability"
	GateMinutes      Gate = "minutes"
)

// HeldBack is something that was not recommended: what, the gate that stopped it, and why, in plain words.
type HeldBack struct {
	What string
	Gate Gate
	Why  string
}

// candidate is a drill that a rule of the table gives for a work-on.
type candidate struct {
	rule  domain.Rule
	drill domain.Drill
}

// gate gives why a candidate may not be recommended, or "".
type gate func(n Need, c candidate) string

var gates = []struct {
	name  Gate
	stops gate
}{
	{GateAvailability, availabilityGate},
	{GateMinutes, minutesGate},
}

// heldGate gives why nothing at all may be recommended to a goalie, film included, or "".
func heldGate(a domain.Availability) string {
	if a != domain.Held {
		return ""
	}
	return "The goalie is held: nothing is recommended, film included."
}

// availabilityGate lets a limited goalie have only drills without a ball and of easy effort.
func availabilityGate(n Need, c candidate) string {
	f := c.drill.Fields
	if n.Goalie.Availability == domain.Full || (f.Ball == domain.BallNone && f.Effort == domain.Easy) {
		return ""
	}
	return fmt.Sprintf("The goalie is %s, so only drills without a ball and of easy effort are recommended; "+
		"this one is: ball %s, effort %s.", n.Goalie.Availability, f.Ball, f.Effort)
}

// minutesGate holds the dose of the rule against the goalie's practice minutes of a week.
func minutesGate(n Need, c candidate) string {
	takes := c.rule.Fields.WeekMinutes()
	if takes <= n.PracticeMinutes {
		return ""
	}
	return fmt.Sprintf("It takes %d minutes a week; there are %d practice minutes.", takes, n.PracticeMinutes)
}
