package domain

// RuleFields is a row of the rules table: when a target stands in one of the states, give this drill in this dose.
type RuleFields struct {
	Name        string       `db:"name"          json:"name"`
	TargetID    ID           `db:"target_id"     json:"target_id"`
	States      []State      `db:"states"        json:"states"`
	Levels      []Level      `db:"levels"        json:"levels"`
	CodesOfPlay []CodeOfPlay `db:"codes_of_play" json:"codes_of_play"`
	DrillID     ID           `db:"drill_id"      json:"drill_id"`
	Dose
	Priority int  `db:"priority"      json:"priority"` // lower is first
	Active   bool `db:"active"        json:"active"`
}

// Rule is the stored rule.
type Rule = Record[RuleFields, None]

// Check gives the faults of the fields.
func (f RuleFields) Check() []FieldError {
	var c checks
	c.name("/name", f.Name)
	c.id("/target_id", f.TargetID)
	setOf(&c, "/states", f.States, States, false)
	setOf(&c, "/levels", f.Levels, Levels, false)
	setOf(&c, "/codes_of_play", f.CodesOfPlay, CodesOfPlay, false)
	c.id("/drill_id", f.DrillID)
	c.dose(f.Dose)
	c.whole("/priority", f.Priority, 1, 1000)
	return c.faults
}
