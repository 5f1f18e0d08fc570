package domain

// Budget caps the live shots that a goalie takes, those of team play included. It is never a goal to reach.
type Budget struct {
	Session int // one practice
	Week    int // a week without games
}

// StarterBudgets are the caps of each level where a team sets none. No published limit was found: starting value, from
// memory.
var StarterBudgets = map[Level]Budget{
	"10u":         {Session: 25, Week: 50},
	"12u":         {Session: 40, Week: 90},
	"14u":         {Session: 60, Week: 150},
	"high_school": {Session: 90, Week: 270},
	"college":     {Session: 120, Week: 400},
}

// BudgetAt gives the team's caps: its own where it has set them, else those of the level.
func (f TeamFields) BudgetAt(level Level) Budget {
	b := StarterBudgets[level]
	if f.LiveShotsSession != nil {
		b.Session = *f.LiveShotsSession
	}
	if f.LiveShotsWeek != nil {
		b.Week = *f.LiveShotsWeek
	}
	return b
}
