package domain

// TeamFields is a team of the program, with the competition that it usually plays in.
type TeamFields struct {
	Name            string `db:"name"             json:"name"`
	CompetitionID   ID     `db:"competition_id"   json:"competition_id"`
	PracticeMinutes int    `db:"practice_minutes" json:"practice_minutes"` // a week, for its goalies

	// The most live shots that a goalie of the team takes, team play included; absent means the starting value of the
	// level. A cap, never a goal to reach.
	LiveShotsSession *int `db:"live_shots_session" json:"live_shots_session"`
	LiveShotsWeek    *int `db:"live_shots_week"    json:"live_shots_week"`
}

// Team is the stored team.
type Team = Record[TeamFields, None]

// Check gives the faults of the fields.
func (f TeamFields) Check() []FieldError {
	var c checks
	c.name("/name", f.Name)
	c.id("/competition_id", f.CompetitionID)
	c.whole("/practice_minutes", f.PracticeMinutes, 0, 1200)
	c.wholeIf("/live_shots_session", f.LiveShotsSession, 0, MaxShotsLogged)
	c.wholeIf("/live_shots_week", f.LiveShotsWeek, 0, 5*MaxShotsLogged)
	return c.faults
}
