package domain

// GoalieFields is the least that is kept of a goalie: no birth date, no health, no contact.
type GoalieFields struct {
	Name            string       `db:"name"             json:"name"`
	StickHand       Hand         `db:"stick_hand"       json:"stick_hand"` // side of the stick's head, seen from the goalie
	AgeBand         *Level       `db:"age_band"         json:"age_band"`
	Availability    Availability `db:"availability"     json:"availability"`
	PracticeMinutes *int         `db:"practice_minutes" json:"practice_minutes"` // a week; absent means the team's

	// AllowedDrillIDs are the drills of which a coach ticked that a limited goalie's clinician allows them. No reason
	// is kept.
	AllowedDrillIDs []ID `db:"allowed_drill_ids" json:"allowed_drill_ids"`
	ShiesFromBall   bool `db:"shies_from_ball"   json:"shies_from_ball"` // a coach's tick; the rules go down one ball
}

// Goalie is the stored goalie.
type Goalie = Record[GoalieFields, None]

// Check gives the faults of the fields.
func (f GoalieFields) Check() []FieldError {
	var c checks
	c.name("/name", f.Name)
	oneOf(&c, "/stick_hand", f.StickHand, Hands)
	oneOfIf(&c, "/age_band", f.AgeBand, Levels)
	oneOf(&c, "/availability", f.Availability, Availabilities)
	c.wholeIf("/practice_minutes", f.PracticeMinutes, 0, 1200)
	c.ids("/allowed_drill_ids", f.AllowedDrillIDs)
	return c.faults
}
