package domain

// TeamFields is a team of the program, with the competition that it usually plays in.
type TeamFields struct {
	Name            string `db:"name"             json:"name"`
	CompetitionID   ID     `db:"competition_id"   json:"competition_id"`
	PracticeMinutes int    `db:"practice_minutes" json:"practice_minutes"` // a week, for its goalies
}

// Team is the stored team.
type Team = Record[TeamFields, None]

// Check gives the faults of the fields.
func (f TeamFields) Check() []FieldError {
	var c checks
	c.name("/name", f.Name)
	c.id("/competition_id", f.CompetitionID)
	c.whole("/practice_minutes", f.PracticeMinutes, 0, 1200)
	return c.faults
}
