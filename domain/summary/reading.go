package summary

import (
	"cagework/domain"
	"cagework/domain/planning"
)

// ToRead is a habit that recorders should read on the next games, why, and how it was read on the last ones.
type ToRead struct {
	HabitID    domain.ID `json:"habit_id"`
	Code       string    `json:"code"`
	Name       string    `json:"name"`
	Definition string    `json:"definition"`
	Why        string    `json:"why"`
	Games      int       `json:"games"`    // the last ones, at most three
	Shots      int       `json:"shots"`    // of those games, on which the habit can be read
	Read       int       `json:"read"`     // of those shots, on which somebody looked
	NotSeen    int       `json:"not_seen"` // of those read, on which it could not be seen
}

var readWhys = map[planning.ReadWhy]string{
	planning.ReadAlways:    "it is read on every game",
	planning.ReadForWorkOn: "a work-on asks about it",
	planning.ReadTooFew:    "too few shots were read to judge it, and it is its turn",
	planning.ReadInTurn:    "it is its turn",
}

func readingListOf(plan planning.Plan) []ToRead {
	out := make([]ToRead, len(plan.ReadingList))
	for i, t := range plan.ReadingList {
		f := t.Habit.Fields
		out[i] = ToRead{
			HabitID: t.Habit.ID, Code: f.Code, Name: f.Name, Definition: f.Definition, Why: readWhys[t.Why],
			Games: t.Games, Shots: t.Shots, Read: t.Read, NotSeen: t.NotSeen,
		}
	}
	return out
}
