package domain

// RosterSpellFields is a goalie's time in a team, from a day to a day; no last day means still there.
type RosterSpellFields struct {
	TeamID   ID    `db:"team_id"   json:"team_id"`
	GoalieID ID    `db:"goalie_id" json:"goalie_id"`
	FromOn   Date  `db:"from_on"   json:"from_on"`
	ToOn     *Date `db:"to_on"     json:"to_on"`
}

// RosterSpell is the stored spell.
type RosterSpell = Record[RosterSpellFields, None]

// Check gives the faults of the fields.
func (f RosterSpellFields) Check() []FieldError {
	var c checks
	c.id("/team_id", f.TeamID)
	c.id("/goalie_id", f.GoalieID)
	c.date("/from_on", f.FromOn)
	if f.ToOn != nil {
		c.date("/to_on", *f.ToOn)
		c.when(f.ToOn.Before(f.FromOn), "/to_on", "must not come before from_on")
	}
	return c.faults
}

// Holds tells whether the spell holds the day.
func (f RosterSpellFields) Holds(d Date) bool {
	return !d.Before(f.FromOn) && (f.ToOn == nil || !f.ToOn.Before(d))
}
