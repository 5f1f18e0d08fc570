package domain

// ClearResult is how an attempt to clear the ball ended.
type ClearResult string

// The results of a clear.
const (
	Cleared     ClearResult = "cleared"
	ClearFailed ClearResult = "failed"
	NotTried    ClearResult = "none"
)

// ClearResults is the list of ClearResult.
var ClearResults = []ClearResult{Cleared, ClearFailed, NotTried}

// ClearFields is one clear: from possession in the own end to the competition's clear line. A clear follows a save,
// a ground ball, a turnover or a restart, so it is a record of its own; it may name the shot that it followed.
type ClearFields struct {
	GameID   ID          `db:"game_id"   json:"game_id"`
	ShotID   *ID         `db:"shot_id"   json:"shot_id"`
	GoalieID *ID         `db:"goalie_id" json:"goalie_id"` // absent: found from the stints
	Result   ClearResult `db:"result"    json:"result"`
	Period   *int        `db:"period"    json:"period"`
	ClockS   *int        `db:"clock_s"   json:"clock_s"`
	FilmMs   *int        `db:"film_ms"   json:"film_ms"`
}

// ClearFound is what the service found of a clear: when it was, and who was in the cage.
type ClearFound struct {
	ElapsedS     *int    `db:"elapsed_s"      json:"elapsed_s"`
	CageGoalieID *ID     `db:"cage_goalie_id" json:"cage_goalie_id"`
	CageStintID  *ID     `db:"cage_stint_id"  json:"cage_stint_id"`
	CageHow      CageHow `db:"cage_how"       json:"cage_how"`
}

// Clear is the stored clear.
type Clear = Record[ClearFields, ClearFound]

// Check gives the faults of the fields.
func (f ClearFields) Check() []FieldError {
	var c checks
	c.id("/game_id", f.GameID)
	oneOf(&c, "/result", f.Result, ClearResults)
	c.when(f.Period == nil && f.FilmMs == nil && f.ShotID == nil, "/period",
		"a clear needs a time or a shot: period with clock_s, film_ms, or shot_id")
	c.gameTime(f.Period, f.ClockS, f.FilmMs)
	return c.faults
}

// gameTime refuses half a clock time and times that no game has.
func (c *checks) gameTime(period, clockS, filmMs *int) {
	c.when((period == nil) != (clockS == nil), "/clock_s", "goes with period")
	c.wholeIf("/period", period, 1, MaxPeriod)
	c.wholeIf("/clock_s", clockS, 0, MaxClock)
	c.wholeIf("/film_ms", filmMs, 0, MaxFilm)
}

// FindClear gives what can be found of a clear. One that names a shot and no time of its own stands where the shot
// stands; a goalie given with it is believed.
func FindClear(f ClearFields, after *Shot, comp CompetitionFields, stints []Stint) (ClearFound, []FieldError) {
	var c checks
	if f.Period == nil && f.FilmMs == nil && after != nil {
		s := after.Found
		if f.GoalieID != nil {
			return ClearFound{s.ElapsedS, f.GoalieID, nil, CageGiven}, nil
		}
		return ClearFound{s.ElapsedS, s.FacedGoalieID, s.FacedStintID, s.FacedHow}, nil
	}
	elapsed := c.elapsed(comp, f.Period, f.ClockS)
	cage := FindCage(f.GoalieID, elapsed, f.FilmMs, stints)
	return ClearFound{elapsed, cage.GoalieID, cage.StintID, cage.How}, c.faults
}
