package postgres

import "cagework/domain"

// Stores is every store over one database.
type Stores struct {
	Programs     domain.Programs
	Members      *records[domain.MemberFields, domain.None]
	Tokens       *tokens
	Seasons      *records[domain.SeasonFields, domain.None]
	Competitions *records[domain.CompetitionFields, domain.None]
	Teams        *records[domain.TeamFields, domain.None]
	Goalies      *records[domain.GoalieFields, domain.None]
	RosterSpells *records[domain.RosterSpellFields, domain.None]
	Games        *records[domain.GameFields, domain.None]
	Stints       *records[domain.StintFields, domain.StintFound]
	Shots        *records[domain.ShotFields, domain.ShotFound]
	Readings     *records[domain.ReadingFields, domain.ReadingFound]
	Targets      *records[domain.TargetFields, domain.None]
	Drills       *records[domain.DrillFields, domain.None]
	Rules        *records[domain.RuleFields, domain.None]
	Me           domain.Me
	Lines        domain.Lines
	Weeks        domain.Weeks
}

// The stores keep the promises of the domain.
var (
	_ domain.Records[domain.TeamFields, domain.None]      = (*records[domain.TeamFields, domain.None])(nil)
	_ domain.Records[domain.ShotFields, domain.ShotFound] = (*records[domain.ShotFields, domain.ShotFound])(nil)
	_ domain.Tokens                                       = (*tokens)(nil)
)

// NewStores opens every store over a database.
func NewStores(db *DB) *Stores {
	s := &Stores{
		Members: newMembers(db), Seasons: newSeasons(db), Competitions: newCompetitions(db), Teams: newTeams(db),
		Goalies: newGoalies(db), RosterSpells: newRosterSpells(db), Games: newGames(db), Readings: newReadings(db),
		Targets: newTargets(db), Drills: newDrills(db), Rules: newRules(db), Tokens: newTokens(db),
	}
	s.Shots = newShots(db, s)
	s.Stints = newStints(db, s)
	s.Programs = &programs{db, s}
	s.Me = &me{db, s}
	s.Lines = &lines{db, s}
	s.Weeks = &weeks{db, s}
	return s
}
