// Package field holds the geometry of the goal and the field and the time of a game. It knows no records.
package field

// Clock is how a game's time runs: regulation periods of one length, then overtimes of another, in seconds.
type Clock struct {
	Periods   int
	PeriodS   int
	OvertimeS int
}

// Length gives the seconds of a period. Periods are numbered from 1; overtimes are numbered on.
func (c Clock) Length(period int) int {
	if period <= c.Periods {
		return c.PeriodS
	}
	return c.OvertimeS
}

// Elapsed turns a period and the seconds remaining in it into seconds since the game began. ok is false when the
// period does not exist or has fewer seconds than remain.
func (c Clock) Elapsed(period, remainingS int) (elapsedS int, ok bool) {
	if period < 1 || remainingS < 0 || remainingS > c.Length(period) {
		return 0, false
	}
	regulation := min(period-1, c.Periods)
	overtime := period - 1 - regulation
	return regulation*c.PeriodS + overtime*c.OvertimeS + c.Length(period) - remainingS, true
}
