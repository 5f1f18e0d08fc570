package domain

import "fmt"

// PracticeLogFields is what a goalie did in one practice, logged in one call.
type PracticeLogFields struct {
	GoalieID    ID             `db:"goalie_id"    json:"goalie_id"`
	TeamID      ID             `db:"team_id"      json:"team_id"`
	PractisedOn Date           `db:"practised_on" json:"practised_on"`
	Done        []PracticeDone `db:"done"         json:"done"`
	TeamShots   int            `db:"team_shots"   json:"team_shots"` // live shots faced in team play; they count in the budget
}

// PracticeDone is one drill of a practice.
type PracticeDone struct {
	DrillID     ID  `json:"drill_id"`
	Minutes     int `json:"minutes"`
	Repetitions int `json:"repetitions"`
	LiveShots   int `json:"live_shots"` // of the repetitions, those with a live ball
}

// UnmarshalJSON reads one drill of a practice. Silence about a number is not a zero: each must be there.
func (d *PracticeDone) UnmarshalJSON(data []byte) error {
	var said struct {
		DrillID     *ID  `json:"drill_id"`
		Minutes     *int `json:"minutes"`
		Repetitions *int `json:"repetitions"`
		LiveShots   *int `json:"live_shots"`
	}
	if err := strict(data, &said); err != nil {
		return err
	}
	if said.DrillID == nil || said.Minutes == nil || said.Repetitions == nil || said.LiveShots == nil {
		return Errorf(Invalid, "must have drill_id, minutes, repetitions and live_shots")
	}
	*d = PracticeDone{*said.DrillID, *said.Minutes, *said.Repetitions, *said.LiveShots}
	return nil
}

// PracticeLog is the stored practice log.
type PracticeLog = Record[PracticeLogFields, None]

// MaxShotsLogged bounds the live shots of one practice: a typing error, not a practice, lies beyond.
const MaxShotsLogged = 1000

// Check gives the faults of the fields.
func (f PracticeLogFields) Check() []FieldError {
	var c checks
	c.id("/goalie_id", f.GoalieID)
	c.id("/team_id", f.TeamID)
	c.date("/practised_on", f.PractisedOn)
	c.when(f.Done == nil, "/done", "must be a list")
	c.when(len(f.Done) > MaxItems, "/done", "must have at most %d items", MaxItems)
	for i, d := range f.Done {
		at := fmt.Sprintf("/done/%d", i)
		c.id(at+"/drill_id", d.DrillID)
		c.whole(at+"/minutes", d.Minutes, 0, 240)
		c.whole(at+"/repetitions", d.Repetitions, 0, MaxShotsLogged)
		c.whole(at+"/live_shots", d.LiveShots, 0, MaxShotsLogged)
		c.when(d.LiveShots > d.Repetitions, at+"/live_shots", "must not be more than repetitions")
	}
	c.whole("/team_shots", f.TeamShots, 0, MaxShotsLogged)
	return c.faults
}
