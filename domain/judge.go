package domain

// Judge works out what stores keep of the judgement. It is implemented by package judgement, of which stores know nothing
// else. Its methods are pure.
type Judge interface {
	// Fit fits how hard the shots are, and how saves go with the habits, from the shots of the code of play and level
	// among those given. Too few shots are no error: what is found says so.
	Fit(f FitFields, shots []*CountedShot, habits []Habit) (FitFound, error)
}
