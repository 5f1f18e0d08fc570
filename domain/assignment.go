package domain

// AssignmentStatus is what a coach made of a drill for a goalie.
type AssignmentStatus string

// The statuses of an assignment.
const (
	Assigned AssignmentStatus = "assigned" // it stands: the goalie does it over its weeks
	Dropped  AssignmentStatus = "dropped"  // the coach took it back, or refused what was recommended, with a reason
	Finished AssignmentStatus = "finished" // its weeks are over, or it was done early
)

// AssignmentStatuses is the list of AssignmentStatus.
var AssignmentStatuses = []AssignmentStatus{Assigned, Dropped, Finished}

// AssignmentFields is a drill given to a goalie for a target, in a dose, over some weeks: a block.
type AssignmentFields struct {
	GoalieID ID `db:"goalie_id"   json:"goalie_id"`
	TargetID ID `db:"target_id"   json:"target_id"`
	DrillID  ID `db:"drill_id"    json:"drill_id"`
	Dose
	StartsOn Date             `db:"starts_on" json:"starts_on"` // a Monday
	Weeks    int              `db:"weeks"     json:"weeks"`
	Status   AssignmentStatus `db:"status"    json:"status"`
	Reason   *string          `db:"reason"    json:"reason"` // why it was swapped or dropped; nothing about health
}

// Assignment is the stored assignment.
type Assignment = Record[AssignmentFields, None]

// EndsOn gives the last day of the assignment's weeks, a Sunday.
func (f AssignmentFields) EndsOn() Date { return f.StartsOn.AddDays(7*f.Weeks - 1) }

// Check gives the faults of the fields.
func (f AssignmentFields) Check() []FieldError {
	var c checks
	c.id("/goalie_id", f.GoalieID)
	c.id("/target_id", f.TargetID)
	c.id("/drill_id", f.DrillID)
	c.dose(f.Dose)
	c.date("/starts_on", f.StartsOn)
	c.when(!f.StartsOn.IsZero() && WeekOf(f.StartsOn).Monday() != f.StartsOn, "/starts_on", "must be a Monday")
	c.whole("/weeks", f.Weeks, 1, 12)
	oneOf(&c, "/status", f.Status, AssignmentStatuses)
	if f.Reason != nil {
		c.prose("/reason", *f.Reason)
	}
	c.when(f.Status == Dropped && f.Reason == nil, "/reason", "a dropped assignment says why")
	return c.faults
}
