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
	Reason   *string          `db:"reason"    json:"reason"`  // why it was swapped or dropped; nothing about health
	RuleID   *ID              `db:"rule_id"   json:"rule_id"` // that recommended it
	// SwappedForID is the assignment that took the place of this one, which was dropped for it.
	SwappedForID *ID `db:"swapped_for_id" json:"swapped_for_id"`
}

// AssignmentFound is what the service keeps of an assignment: what was known of its target when it was given. It is
// worked out for a new assignment, and anew when the goalie, the target or the start change, which makes it another
// block; never when shots are corrected afterwards. nil: it was not kept, for the assignment is older than that.
type AssignmentFound struct {
	Baselines *[]BlockBaseline `db:"baselines" json:"baselines"`
}

// Assignment is the stored assignment.
type Assignment = Record[AssignmentFields, AssignmentFound]

// BlockBaseline is what was known of a block's target, in one code of play and level, when the block was given. Rates and
// chances run from 0 to 1.
type BlockBaseline struct {
	CodeOfPlay  CodeOfPlay `json:"code_of_play"`
	Level       Level      `json:"level"`
	From        Date       `json:"from"` // the target's look-back, whole weeks that end before the block's first day
	To          Date       `json:"to"`
	Hits        int        `json:"hits"`
	Tries       int        `json:"tries"` // at least 1
	Unseen      int        `json:"unseen"`
	TargetRate  float64    `json:"target_rate"`
	ChanceBelow float64    `json:"chance_below"`
	Frozen      FrozenRate `json:"frozen"`
}

// FrozenRate is what was thought of a true rate when a block was given, by which the block is judged later.
type FrozenRate struct {
	Hits   int        `json:"hits"`
	Tries  int        `json:"tries"`
	Prior  []BetaPart `json:"prior"` // what was thought of the rate before its own count: a mixture whose weights add up to 1
	Peers  int        `json:"peers"` // other goalies with tries
	Plain  bool       `json:"plain"` // few peers: plainer evidence is asked for
	Level  float64    `json:"level"` // chance at most to be taken for help when nothing changed
	Method string     `json:"method"`
}

// BetaPart is one beta distribution of a mixture, with its share of it.
type BetaPart struct {
	Weight float64 `json:"weight"`
	A      float64 `json:"a"`
	B      float64 `json:"b"`
}

// SameBlock tells whether what was known before one assignment holds for the other too.
func (f AssignmentFields) SameBlock(o AssignmentFields) bool {
	return f.GoalieID == o.GoalieID && f.TargetID == o.TargetID && f.StartsOn == o.StartsOn
}

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
	c.when(f.SwappedForID != nil && f.Status != Dropped, "/swapped_for_id", "only an assignment that was dropped has one")
	c.when(f.Status == Dropped && f.Reason == nil, "/reason", "a dropped assignment says why")
	return c.faults
}
