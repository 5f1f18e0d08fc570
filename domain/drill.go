package domain

import (
	"fmt"
	"slices"
	"strings"
)

// DrillFields is a drill of the program's library.
type DrillFields struct {
	Code        string       `db:"code"          json:"code"`
	Name        string       `db:"name"          json:"name"`
	Purpose     string       `db:"purpose"       json:"purpose"`
	SetUp       string       `db:"set_up"        json:"set_up"`
	Levels      []Level      `db:"levels"        json:"levels"`
	CodesOfPlay []CodeOfPlay `db:"codes_of_play" json:"codes_of_play"`
	Kit         string       `db:"kit"           json:"kit"`
	Ball        Ball         `db:"ball"          json:"ball"`
	Effort      Effort       `db:"effort"        json:"effort"`
	Dose
	SoftLevels []Level  `db:"soft_levels"   json:"soft_levels"` // where a live drill is run with soft balls instead
	Team       bool     `db:"team"          json:"team"`        // it needs field players
	Cautions   []string `db:"cautions"      json:"cautions"`
	NextStep   string   `db:"next_step"     json:"next_step"` // what comes after it
	Active     bool     `db:"active"        json:"active"`
}

// Dose is how much of a drill: minutes and repetitions a time, and times a week.
type Dose struct {
	Minutes     int `db:"minutes"      json:"minutes"`
	Repetitions int `db:"repetitions"  json:"repetitions"`
	TimesAWeek  int `db:"times_a_week" json:"times_a_week"`
}

// WeekMinutes gives the minutes that the dose takes in a week.
func (d Dose) WeekMinutes() int { return d.Minutes * d.TimesAWeek }

// Drill is the stored drill.
type Drill = Record[DrillFields, None]

// Check gives the faults of the fields.
func (f DrillFields) Check() []FieldError {
	var c checks
	c.code("/code", f.Code)
	c.name("/name", f.Name)
	c.prose("/purpose", f.Purpose)
	c.prose("/set_up", f.SetUp)
	setOf(&c, "/levels", f.Levels, Levels, false)
	setOf(&c, "/codes_of_play", f.CodesOfPlay, CodesOfPlay, false)
	c.text("/kit", f.Kit, MaxProse)
	oneOf(&c, "/ball", f.Ball, Balls)
	oneOf(&c, "/effort", f.Effort, Efforts)
	c.dose(f.Dose)
	setOf(&c, "/soft_levels", f.SoftLevels, Levels, true)
	c.when(f.SoftLevels == nil, "/soft_levels", "must be a list")
	c.when(len(f.SoftLevels) > 0 && f.Ball != BallLive, "/soft_levels", "only a live drill is run with soft balls instead")
	c.text("/next_step", f.NextStep, MaxProse)
	c.when(f.Cautions == nil, "/cautions", "must be a list")
	c.when(len(f.Cautions) > MaxItems, "/cautions", "must have at most %d items", MaxItems)
	for i, caution := range f.Cautions {
		c.prose(fmt.Sprintf("/cautions/%d", i), caution)
	}
	return c.faults
}

func (c *checks) prose(pointer, s string) {
	c.when(strings.TrimSpace(s) == "", pointer, "must not be empty")
	c.text(pointer, s, MaxProse)
}

func (c *checks) dose(d Dose) {
	c.whole("/minutes", d.Minutes, 1, 60)
	c.whole("/repetitions", d.Repetitions, 1, 500)
	c.whole("/times_a_week", d.TimesAWeek, 1, 7)
}

func countWords(s string) int { return len(strings.Fields(s)) }

// BallAt gives what the drill sends at a goalie of a level.
func (f DrillFields) BallAt(level Level) Ball {
	if slices.Contains(f.SoftLevels, level) {
		return BallSoft
	}
	return f.Ball
}

// Fits tells whether the drill is for a code of play and level.
func (f DrillFields) Fits(code CodeOfPlay, level Level) bool {
	return slices.Contains(f.CodesOfPlay, code) && slices.Contains(f.Levels, level)
}
