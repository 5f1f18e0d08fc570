package domain

import (
	"context"
	"encoding/json"
)

// FitFields is what a client writes of a fit: what is to be fitted, and from the shots of games up to which day.
type FitFields struct {
	CodeOfPlay CodeOfPlay `db:"code_of_play" json:"code_of_play"`
	Level      Level      `db:"level"        json:"level"`
	FittedOn   Date       `db:"fitted_on"    json:"fitted_on"` // games of later days are left out
}

// FitFound is what was found when the shots were fitted. It stays as it was found, whatever becomes of the shots, so that
// what was said by a fit can be traced to it. What only package judgement reads is kept as its JSON.
type FitFound struct {
	From    *Date `db:"from_on" json:"from"` // first and last day of a game in the data; nil without any
	To      *Date `db:"to_on"   json:"to"`
	Shots   int   `db:"shots"   json:"shots"` // on goal, that the fit stands on
	Saves   int   `db:"saves"   json:"saves"`
	Goalies int   `db:"goalies" json:"goalies"`

	Enough     bool    `db:"enough"      json:"enough"`
	Reason     string  `db:"reason"      json:"reason"`      // why the pooled rate stands in; "" when it does not
	PooledRate float64 `db:"pooled_rate" json:"pooled_rate"` // of saves, with half a save and half a goal added

	Scores *json.RawMessage `db:"scores" json:"scores"` // how well saves were foretold; nil when nothing was fitted
	Habits json.RawMessage  `db:"habits" json:"habits"` // how saves went with each habit, a list
	Model  *json.RawMessage `db:"model"  json:"model"`  // the coefficients; nil when nothing was fitted, and in lists
}

// Fit is a stored fit of how hard shots are, and of how saves go with habits, in one code of play and level.
type Fit = Record[FitFields, FitFound]

// Check gives the faults of the fields.
func (f FitFields) Check() []FieldError {
	var c checks
	oneOf(&c, "/code_of_play", f.CodeOfPlay, CodesOfPlay)
	oneOf(&c, "/level", f.Level, Levels)
	c.date("/fitted_on", f.FittedOn)
	return c.faults
}

// Fits is the store of fits. A fit is never changed and never removed.
type Fits interface {
	// List gives a page of fits without their models, Get one with it.
	List(ctx context.Context, a Actor, q Query) (Page[Fit], error)
	Get(ctx context.Context, a Actor, id ID) (Fit, error)
	// Put fits the shots that are charted now, or confirms that the fit is there: then nothing is fitted. Errors: Invalid,
	// also for a day that is still to come; Conflict when the id holds another fit.
	Put(ctx context.Context, a Actor, id ID, fields FitFields) (Fit, Written, error)
}
