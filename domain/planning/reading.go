package planning

import (
	"cmp"
	"slices"

	"cagework/domain"
)

// AlwaysRead is the habit that recorders read on every game, whatever is worked on.
const AlwaysRead = "set_before_release"

// lastGames is how many of the last games a habit's readings are counted over.
const lastGames = 3

// ToRead is a habit that recorders should read on the next games, why, and how it was read on the last ones.
type ToRead struct {
	Habit   domain.Habit
	Why     ReadWhy
	Games   int // the last ones, at most three
	Shots   int // of those games, on which the habit can be read as far as is known
	Read    int // of those shots, on which somebody looked
	NotSeen int // of those read, on which it could not be seen
}

// ReadWhy says why a habit is to be read.
type ReadWhy string

// Why a habit is on the reading list.
const (
	ReadAlways    ReadWhy = "always"
	ReadForWorkOn ReadWhy = "work_on"
	ReadTooFew    ReadWhy = "too_few" // in rotation among those that were read too seldom to judge
	ReadInTurn    ReadWhy = "in_turn" // in rotation
)

// ReadingList gives the habits to read on the next games: set before release, those that the work-ons ask about, and
// one more in turn by the week's number, first of those read too seldom to judge.
func ReadingList(n Need, workOns []WorkOn) []ToRead {
	fitting := n.fittingHabits()
	var out []ToRead
	chosen := func(code string) bool {
		return slices.ContainsFunc(out, func(t ToRead) bool { return t.Habit.Fields.Code == code })
	}
	add := func(why ReadWhy, wanted func(domain.HabitFields) bool) {
		for _, h := range fitting {
			if wanted(h.Fields) && !chosen(h.Fields.Code) {
				out = append(out, n.toRead(h, why))
			}
		}
	}
	add(ReadAlways, func(h domain.HabitFields) bool { return h.Code == AlwaysRead })
	for _, w := range workOns {
		add(ReadForWorkOn, func(h domain.HabitFields) bool { return asksAbout(w.Rate.Target.Fields, h.Code) })
	}
	rest := slices.DeleteFunc(fitting, func(h domain.Habit) bool { return chosen(h.Fields.Code) })
	tooFew := slices.DeleteFunc(slices.Clone(rest), func(h domain.Habit) bool { return !n.readTooSeldom(h.Fields.Code) })
	switch {
	case len(tooFew) > 0:
		out = append(out, n.toRead(tooFew[n.Week.Number%len(tooFew)], ReadTooFew))
	case len(rest) > 0:
		out = append(out, n.toRead(rest[n.Week.Number%len(rest)], ReadInTurn))
	}
	return out
}

// fittingHabits gives the habits in use that fit a code of play that the goalie faced (any, when none is known), in
// the order of causes.
func (n Need) fittingHabits() []domain.Habit {
	var out []domain.Habit
	for _, h := range n.Habits {
		fits := len(n.Rates) == 0
		for _, r := range n.Rates {
			fits = fits || slices.Contains(h.Fields.CodesOfPlay, r.CodeOfPlay)
		}
		if h.Fields.Active && fits {
			out = append(out, h)
		}
	}
	slices.SortFunc(out, func(a, b domain.Habit) int {
		return cmp.Or(cmp.Compare(a.Fields.Cause, b.Fields.Cause), cmp.Compare(a.Fields.Code, b.Fields.Code))
	})
	return out
}

// asksAbout tells whether a target's clauses name a habit.
func asksAbout(t domain.TargetFields, habit string) bool {
	names := func(c domain.Clause) bool { return c.Field == habit }
	return slices.ContainsFunc(t.Hit, names) || slices.ContainsFunc(t.Of, names)
}

// readTooSeldom tells whether a target that asks about the habit has too few tries to judge, or none.
func (n Need) readTooSeldom(habit string) bool {
	for _, r := range n.Rates {
		if r.State != nil && (*r.State == domain.NoData || *r.State == domain.TooFew) && asksAbout(r.Target.Fields, habit) {
			return true
		}
	}
	return false
}

// toRead counts how a habit was read on the goalie's last games, those of practice apart.
func (n Need) toRead(h domain.Habit, why ReadWhy) ToRead {
	out := ToRead{Habit: h, Why: why}
	games := map[domain.ID]bool{}
	for _, s := range slices.Backward(n.Faced.Shots) { // in the order of day and game
		if s.Game.Fields.Kind == domain.KindPractice || (!games[s.Game.ID] && len(games) == lastGames) {
			continue
		}
		games[s.Game.ID] = true
		if h.Fields.Readable(s) == domain.False {
			continue
		}
		out.Shots++
		if s.Reading == nil {
			continue
		}
		switch s.Reading.Fields.Habits[h.Fields.Code] {
		case domain.Yes, domain.No:
			out.Read++
		case domain.NotSeen:
			out.Read++
			out.NotSeen++
		}
	}
	out.Games = len(games)
	return out
}
