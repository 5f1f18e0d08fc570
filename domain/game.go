package domain

// GameFields is a game, scrimmage or practice that was charted.
type GameFields struct {
	TeamID        ID       `db:"team_id"        json:"team_id"`
	CompetitionID ID       `db:"competition_id" json:"competition_id"`
	Opponent      *string  `db:"opponent"       json:"opponent"`
	PlayedOn      Date     `db:"played_on"      json:"played_on"` // the local day
	Kind          GameKind `db:"kind"           json:"kind"`
	EndedPeriod   *int     `db:"ended_period"   json:"ended_period"`  // overtime periods are numbered on
	EndedClockS   *int     `db:"ended_clock_s"  json:"ended_clock_s"` // remaining in that period
}

// Game is the stored game.
type Game = Record[GameFields, None]

// MaxPeriod is the highest number of a period, overtimes included.
const MaxPeriod = 30

// Check gives the faults of the fields.
func (f GameFields) Check() []FieldError {
	var c checks
	c.id("/team_id", f.TeamID)
	c.id("/competition_id", f.CompetitionID)
	if f.Opponent != nil {
		c.name("/opponent", *f.Opponent)
	}
	c.date("/played_on", f.PlayedOn)
	oneOf(&c, "/kind", f.Kind, GameKinds)
	c.wholeIf("/ended_period", f.EndedPeriod, 1, MaxPeriod)
	c.wholeIf("/ended_clock_s", f.EndedClockS, 0, MaxClock)
	c.when((f.EndedPeriod == nil) != (f.EndedClockS == nil), "/ended_clock_s", "goes with ended_period")
	return c.faults
}
