package domain

// StintFields is a goalie's time in the cage in one game, from a moment of the game clock to another. Without a
// goalie it is an empty cage. Times count down within a period.
type StintFields struct {
	GameID      ID   `db:"game_id"       json:"game_id"`
	GoalieID    *ID  `db:"goalie_id"     json:"goalie_id"` // absent: an empty cage
	StartPeriod int  `db:"start_period"  json:"start_period"`
	StartClockS int  `db:"start_clock_s" json:"start_clock_s"`
	EndPeriod   int  `db:"end_period"    json:"end_period"`
	EndClockS   int  `db:"end_clock_s"   json:"end_clock_s"`
	StartFilmMs *int `db:"start_film_ms" json:"start_film_ms"`
	EndFilmMs   *int `db:"end_film_ms"   json:"end_film_ms"`
}

// StintFound is the stint in elapsed seconds of the game, found from the competition's periods.
type StintFound struct {
	StartElapsedS int `db:"start_elapsed_s" json:"start_elapsed_s"`
	EndElapsedS   int `db:"end_elapsed_s"   json:"end_elapsed_s"`
}

// Stint is the stored stint.
type Stint = Record[StintFields, StintFound]

// Check gives the faults of the fields.
func (f StintFields) Check() []FieldError {
	var c checks
	c.id("/game_id", f.GameID)
	c.whole("/start_period", f.StartPeriod, 1, MaxPeriod)
	c.whole("/start_clock_s", f.StartClockS, 0, MaxClock)
	c.whole("/end_period", f.EndPeriod, 1, MaxPeriod)
	c.whole("/end_clock_s", f.EndClockS, 0, MaxClock)
	c.wholeIf("/start_film_ms", f.StartFilmMs, 0, MaxFilm)
	c.wholeIf("/end_film_ms", f.EndFilmMs, 0, MaxFilm)
	if f.StartFilmMs != nil && f.EndFilmMs != nil {
		c.when(*f.EndFilmMs < *f.StartFilmMs, "/end_film_ms", "must not come before start_film_ms")
	}
	return c.faults
}

// Find gives the stint's elapsed seconds, or the faults of its times under the competition's periods.
func (f StintFields) Find(comp CompetitionFields) (StintFound, []FieldError) {
	var c checks
	clock := comp.Clock()
	start, startOK := clock.Elapsed(f.StartPeriod, f.StartClockS)
	end, endOK := clock.Elapsed(f.EndPeriod, f.EndClockS)
	c.when(!startOK, "/start_clock_s", "is more than that period has")
	c.when(!endOK, "/end_clock_s", "is more than that period has")
	c.when(startOK && endOK && end < start, "/end_clock_s", "must not come before the start: the clock counts down")
	return StintFound{start, end}, c.faults
}
