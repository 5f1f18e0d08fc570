package summary

import (
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// TeamWeek is the week of a team: what each of its goalies works on, and the drills of all of them in one list, as a
// practice is set up from it.
type TeamWeek struct {
	Team NamedTeam `json:"team"`
	GroupWeek
	LinesWeek   []TeamLine  `json:"lines_week"` // the official line of the week, for each code of play and level
	LinesSeason []TeamLine  `json:"lines_season"`
	Drills      []TeamDrill `json:"drills"`

	SharedCautions []string `json:"shared_cautions"` // those that stand on more than one of these drills, once
}

// TeamDrill is a drill with the goalies who do it this week, each in a dose of their own.
type TeamDrill struct {
	DrillID  domain.ID     `json:"drill_id"`
	Code     string        `json:"code"`
	Name     string        `json:"name"`
	Purpose  string        `json:"purpose"`
	SetUp    string        `json:"set_up"`
	Kit      string        `json:"kit"`
	Ball     domain.Ball   `json:"ball"` // at the level of these goalies
	Effort   domain.Effort `json:"effort"`
	Team     bool          `json:"team"` // it needs field players
	Cautions []string      `json:"cautions"`
	For      []DrillFor    `json:"for"`
}

// DrillFor is a goalie who does a drill, what for and in which dose.
type DrillFor struct {
	GoalieID    domain.ID `json:"goalie_id"`
	Name        string    `json:"name"`
	Target      string    `json:"target"`
	Minutes     int       `json:"minutes"`
	Repetitions int       `json:"repetitions"`
	TimesAWeek  int       `json:"times_a_week"`
	Notes       []string  `json:"notes"` // when not to do it
}

// OfTeam works out a team's week from all that it stands on.
func OfTeam(r domain.GroupRecords) TeamWeek {
	group, whole := groupWeekOf(r)
	v := TeamWeek{GroupWeek: group, Drills: teamDrills(whole)}
	var cautions [][]string
	for _, d := range v.Drills {
		cautions = append(cautions, d.Cautions)
	}
	v.SharedCautions = onMoreThanOne(cautions)
	if len(r.Teams) > 0 {
		v.Team = namedTeams(r.Teams)[0]
	}
	week := r.Cage
	week.Faced = judgement.Between(r.Cage.Faced, r.Week.Monday(), r.Week.Sunday())
	v.LinesWeek = TeamLines(week, BySpan)
	v.LinesSeason = TeamLines(r.Cage, BySeason)
	return v
}

// teamDrills gathers the goalies' drills. A drill whose ball depends on the level stands once for each ball.
func teamDrills(goalies []GoalieWeek) []TeamDrill {
	out := []TeamDrill{}
	for _, g := range goalies {
		for _, w := range g.WorkOns {
			for _, d := range w.Drills {
				i := slices.IndexFunc(out, func(t TeamDrill) bool { return t.DrillID == d.DrillID && t.Ball == d.Ball })
				if i < 0 {
					i = len(out)
					out = append(out, TeamDrill{
						DrillID: d.DrillID, Code: d.Code, Name: d.Name, Purpose: d.Purpose, SetUp: d.SetUp, Kit: d.Kit,
						Ball: d.Ball, Effort: d.Effort, Team: d.Team, Cautions: d.Cautions,
					})
				}
				out[i].For = append(out[i].For, DrillFor{
					g.Goalie.ID, g.Goalie.Name, w.Target.Name, d.Minutes, d.Repetitions, d.TimesAWeek, d.Notes,
				})
			}
		}
	}
	return out
}
