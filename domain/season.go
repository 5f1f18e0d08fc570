package domain

// SeasonFields is a span of dates with a name. Seasons are filters by date and may overlap.
type SeasonFields struct {
	Name     string `db:"name"      json:"name"`
	StartsOn Date   `db:"starts_on" json:"starts_on"`
	EndsOn   Date   `db:"ends_on"   json:"ends_on"`
}

// Season is the stored season.
type Season = Record[SeasonFields, None]

// Check gives the faults of the fields.
func (f SeasonFields) Check() []FieldError {
	var c checks
	c.name("/name", f.Name)
	c.date("/starts_on", f.StartsOn)
	c.date("/ends_on", f.EndsOn)
	c.when(f.EndsOn.Before(f.StartsOn), "/ends_on", "must not come before starts_on")
	return c.faults
}

// Holds tells whether the season holds the day.
func (f SeasonFields) Holds(d Date) bool { return !d.Before(f.StartsOn) && !f.EndsOn.Before(d) }
