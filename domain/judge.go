package domain

// Judge works out what stores keep of the judgement. It is implemented by package judgement, of which stores know nothing
// else. Its methods are pure.
type Judge interface {
	// Fit fits how hard the shots are, and how saves go with the habits, from the shots of the code of play and level
	// among those given. Too few shots are no error: what is found says so.
	Fit(f FitFields, shots []*CountedShot, habits []Habit) (FitFound, error)
	// Baselines gives what the goalie's week, which ends the day before the block begins, knows of a target: one entry for
	// each code of play and level in which the goalie has tries at it and it has a rate, in the order of the lists of
	// codes. Empty, not nil, when there is none.
	Baselines(r WeekRecords, t Target) []BlockBaseline
}
