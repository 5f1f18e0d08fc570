package summary

import "cagework/domain"

// ProgramWeek is the board: the week of every goalie whom the reader may read about.
type ProgramWeek struct {
	Teams []NamedTeam `json:"teams"`
	GroupWeek
}

// OfProgram works out the program's week from all that it stands on.
func OfProgram(r domain.GroupRecords) ProgramWeek {
	group, _ := groupWeekOf(r)
	return ProgramWeek{Teams: namedTeams(r.Teams), GroupWeek: group}
}
