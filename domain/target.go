package domain

import (
	"fmt"
	"slices"
)

// TargetFields is a rate that goalies are developed toward: which shots count (Of), which of those are hits (Hit),
// the rate to reach for each code of play and level, the look-back and the least number of tries.
type TargetFields struct {
	Code     string       `db:"code"      json:"code"`
	Name     string       `db:"name"      json:"name"`
	Cue      string       `db:"cue"       json:"cue"` // at most five words to say to the goalie
	Of       []Clause     `db:"of_shots"  json:"of"`
	Hit      []Clause     `db:"hit"       json:"hit"`
	Kinds    []GameKind   `db:"kinds"     json:"kinds"`
	Weeks    int          `db:"weeks"     json:"weeks"`     // look-back, ending with the summary's week
	MinTries int          `db:"min_tries" json:"min_tries"` // below it the state is too_few
	Cause    int          `db:"cause"     json:"cause"`     // place in the order of causes; the earlier is worked on first
	Rates    []TargetRate `db:"rates"     json:"rates"`
	Active   bool         `db:"active"    json:"active"`
}

// TargetRate is the rate to reach in one code of play and level. A target without one is not judged there.
type TargetRate struct {
	CodeOfPlay CodeOfPlay `json:"code_of_play"`
	Level      Level      `json:"level"`
	Rate       float64    `json:"rate"`
	Source     string     `json:"source"` // where the rate comes from, such as "starting value, from memory"
}

// Target is the stored target.
type Target = Record[TargetFields, None]

// Check gives the faults of the fields, the offending clause named.
func (f TargetFields) Check() []FieldError {
	var c checks
	c.code("/code", f.Code)
	c.name("/name", f.Name)
	c.line("/cue", f.Cue)
	c.when(countWords(f.Cue) > 5, "/cue", "must have at most five words")
	c.clauses("/of", f.Of)
	c.clauses("/hit", f.Hit)
	c.when(len(f.Hit) == 0, "/hit", "must not be empty")
	setOf(&c, "/kinds", f.Kinds, GameKinds, false)
	c.whole("/weeks", f.Weeks, 1, 52)
	c.whole("/min_tries", f.MinTries, 1, 1000)
	c.whole("/cause", f.Cause, 1, 100)
	f.checkRates(&c)
	return c.faults
}

func (f TargetFields) checkRates(c *checks) {
	c.when(f.Rates == nil, "/rates", "must be a list")
	c.when(len(f.Rates) > MaxItems, "/rates", "must have at most %d items", MaxItems)
	for i, r := range f.Rates {
		at := fmt.Sprintf("/rates/%d", i)
		oneOf(c, at+"/code_of_play", r.CodeOfPlay, CodesOfPlay)
		oneOf(c, at+"/level", r.Level, Levels)
		c.number(at+"/rate", r.Rate, 0.01, 0.99)
		c.name(at+"/source", r.Source)
		c.when(slices.ContainsFunc(f.Rates[:i], func(o TargetRate) bool {
			return o.CodeOfPlay == r.CodeOfPlay && o.Level == r.Level
		}), at, "is there twice")
	}
}

func (c *checks) clauses(pointer string, clauses []Clause) {
	c.when(clauses == nil, pointer, "must be a list")
	c.when(len(clauses) > MaxItems, pointer, "must have at most %d items", MaxItems)
	for i, clause := range clauses {
		if fault := clause.Check(); fault != "" {
			c.add(fmt.Sprintf("%s/%d", pointer, i), "%s", fault)
		}
	}
}

// RateFor gives the rate to reach in a code of play and level; nil when the target is not judged there.
func (f TargetFields) RateFor(code CodeOfPlay, level Level) *float64 {
	for i := range f.Rates {
		if r := &f.Rates[i]; r.CodeOfPlay == code && r.Level == level {
			return &r.Rate
		}
	}
	return nil
}

// Tally is what a target counted. Tries = Hits + misses; Unseen are shots that counted but could not be told to be
// a hit or not, which are never misses.
type Tally struct {
	Hits, Tries, Unseen int
	Missed, Made        []*CountedShot // the shots behind the numbers, in the order given
}

// Count runs the target over shots that are already within its look-back and of one code of play and level.
func (f TargetFields) Count(shots []*CountedShot) Tally {
	var t Tally
	question := f.Question()
	for _, s := range shots {
		hit, counts := question.Ask(s)
		switch {
		case !counts:
		case hit == True:
			t.Hits++
			t.Tries++
			t.Made = append(t.Made, s)
		case hit == False:
			t.Tries++
			t.Missed = append(t.Missed, s)
		default:
			t.Unseen++
		}
	}
	return t
}

// Question is what a target asks, made ready to be asked of many shots: each clause's field is looked up once.
type Question struct {
	kinds   []GameKind
	of, hit []askedClause
}

type askedClause struct {
	Clause
	value func(*CountedShot) any // nil: a habit is asked

	among    *Habit        // the first of the program's habits among which the habit was looked for
	habit    *HabitFields  // nil: the program has none of that name
	readable []askedClause // on which shots it can be read
}

// Question makes the target ready to be asked of many shots.
func (f TargetFields) Question() Question { return Question{f.Kinds, askedOf(f.Of), askedOf(f.Hit)} }

func askedOf(clauses []Clause) []askedClause {
	out := make([]askedClause, len(clauses))
	for i, c := range clauses {
		out[i] = c.asked()
	}
	return out
}

func (c Clause) asked() askedClause {
	field, _ := ShotFieldNamed(c.Field)
	return askedClause{Clause: c, value: field.Value}
}

func (c *askedClause) eval(s *CountedShot) Truth {
	if c.value != nil {
		return c.holds(c.value(s))
	}
	return c.holds(c.answer(s))
}

// answer gives the counted answer to the clause's habit; nil on a shot on which it cannot be read.
func (c *askedClause) answer(s *CountedShot) any {
	if c.unreadable(s) {
		return nil
	}
	return s.answer(c.Field)
}

// unreadable tells whether the program says that the clause's habit cannot be read on the shot. As a rule all shots have
// the same habits, so that the habit is made ready once.
func (c *askedClause) unreadable(s *CountedShot) bool {
	if len(s.Habits) == 0 {
		return false
	}
	if c.among != &s.Habits[0] {
		c.among, c.habit = &s.Habits[0], HabitNamed(s.Habits, c.Field)
		if c.habit != nil {
			c.readable = askedOf(c.habit.ReadableOn)
		}
	}
	if c.habit == nil {
		return false
	}
	if !slices.Contains(c.habit.CodesOfPlay, s.Competition.CodeOfPlay) {
		return true
	}
	for i := range c.readable {
		if c.readable[i].eval(s) == False {
			return true
		}
	}
	return false
}

// Ask tells whether a shot counts for the target and, if it does, whether it is a hit; Unknown is unseen. When the hit asks
// for a habit that cannot be read on this shot, the shot is no try, seen or unseen.
func (q *Question) Ask(s *CountedShot) (hit Truth, counts bool) {
	if !slices.Contains(q.kinds, s.Game.Fields.Kind) {
		return Unknown, false
	}
	for i := range q.of {
		if q.of[i].eval(s) != True {
			return Unknown, false
		}
	}
	for i := range q.hit {
		if c := &q.hit[i]; c.value == nil && c.unreadable(s) {
			return Unknown, false
		}
	}
	hit = True
	for i := range q.hit {
		if c := &q.hit[i]; c.value == nil {
			hit = hit.and(c.holds(s.answer(c.Field)))
		} else {
			hit = hit.and(c.eval(s))
		}
	}
	return hit, true
}

// LookBack gives the first day of the longest look-back of targets that ends with a week; without targets the week's.
func LookBack(targets []Target, week Week) Date {
	weeks := 1
	for _, t := range targets {
		weeks = max(weeks, t.Fields.Weeks)
	}
	return week.Sunday().AddDays(1 - 7*weeks)
}
