package domain

// SeasonPart is the part of a season in which a rule speaks; not to be mixed up with the phase of play.
type SeasonPart string

// The parts of a season: before its first game, from then on, or both.
const (
	AnyPart   SeasonPart = "any"
	PreSeason SeasonPart = "pre"
	InSeason  SeasonPart = "in"
)

// SeasonParts is the list of SeasonPart.
var SeasonParts = []SeasonPart{AnyPart, PreSeason, InSeason}

// RuleFields is a row of the rules table: when a target stands in one of the states, and all else that the row asks
// for holds, give this drill in this dose.
type RuleFields struct {
	Name        string       `db:"name"          json:"name"`
	TargetID    *ID          `db:"target_id"     json:"target_id"` // absent: any target
	States      []State      `db:"states"        json:"states"`
	Levels      []Level      `db:"levels"        json:"levels"`
	CodesOfPlay []CodeOfPlay `db:"codes_of_play" json:"codes_of_play"`
	SeasonPart  SeasonPart   `db:"season_part"   json:"season_part"`
	DrillID     *ID          `db:"drill_id"      json:"drill_id"` // absent: no drill, only the advice
	Dose
	Advice   string `db:"advice"        json:"advice"`   // what to tell the coach beside the drill, or instead of it
	Priority int    `db:"priority"      json:"priority"` // lower is first

	// What must have been tried before. Sessions are practices of the last four weeks in which one of the drills was
	// logged; blocks are finished assignments for the target.
	AfterDrillIDs []ID `db:"after_drill_ids" json:"after_drill_ids"`
	AfterSessions int  `db:"after_sessions"  json:"after_sessions"`
	AfterBlocks   int  `db:"after_blocks"    json:"after_blocks"`

	AlsoShortIDs []ID `db:"also_short_ids" json:"also_short_ids"` // one of these targets falls short too
	NotShortIDs  []ID `db:"not_short_ids"  json:"not_short_ids"`  // none of these targets is a clear gap
	OnlyShort    bool `db:"only_short"     json:"only_short"`     // no other target falls short
	ForShy       bool `db:"for_shy"        json:"for_shy"`        // only where a coach ticked that the goalie shies from the ball
	Active       bool `db:"active"         json:"active"`
}

// RuleFound is what the service finds of a rule.
type RuleFound struct {
	// Findings are worked out anew each time the rule is read: why it may never give what it says; see [CheckRule].
	// Nil, and in no JSON, is a rule for which nobody has yet.
	Findings []FieldError `db:"-" json:"findings,omitzero"`
}

// Rule is the stored rule.
type Rule = Record[RuleFields, RuleFound]

// Check gives the faults of the fields.
func (f RuleFields) Check() []FieldError {
	var c checks
	c.name("/name", f.Name)
	setOf(&c, "/states", f.States, States, false)
	setOf(&c, "/levels", f.Levels, Levels, false)
	setOf(&c, "/codes_of_play", f.CodesOfPlay, CodesOfPlay, false)
	oneOf(&c, "/season_part", f.SeasonPart, SeasonParts)
	if f.DrillID != nil {
		c.dose(f.Dose)
	} else {
		c.when(f.Dose != Dose{}, "/minutes", "a rule without a drill has no dose: minutes, repetitions and times_a_week are 0")
		c.prose("/advice", f.Advice)
	}
	c.text("/advice", f.Advice, MaxProse)
	c.whole("/priority", f.Priority, 1, 1000)
	c.ids("/after_drill_ids", f.AfterDrillIDs)
	c.whole("/after_sessions", f.AfterSessions, 0, 50)
	c.whole("/after_blocks", f.AfterBlocks, 0, 10)
	c.when((len(f.AfterDrillIDs) == 0) != (f.AfterSessions == 0), "/after_sessions", "goes with after_drill_ids")
	c.ids("/also_short_ids", f.AlsoShortIDs)
	c.ids("/not_short_ids", f.NotShortIDs)
	return c.faults
}
