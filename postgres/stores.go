package postgres

import "cagework/domain"

// Stores is every store over one database.
type Stores struct {
	Programs     *programs
	Members      *records[domain.MemberFields, domain.None]
	Tokens       *tokens
	Sessions     domain.Sessions
	SignInCodes  domain.SignInCodes
	Seasons      *records[domain.SeasonFields, domain.None]
	Competitions *records[domain.CompetitionFields, domain.None]
	Teams        *records[domain.TeamFields, domain.None]
	Goalies      *records[domain.GoalieFields, domain.None]
	RosterSpells *records[domain.RosterSpellFields, domain.None]
	Games        *records[domain.GameFields, domain.None]
	Stints       *records[domain.StintFields, domain.StintFound]
	Shots        *shots
	Readings     *records[domain.ReadingFields, domain.ReadingFound]
	Clears       *records[domain.ClearFields, domain.ClearFound]
	Views        *records[domain.ViewFields, domain.ViewFound]
	Habits       *records[domain.HabitFields, domain.None]
	Targets      *records[domain.TargetFields, domain.None]
	Drills       *records[domain.DrillFields, domain.None]
	Rules        *records[domain.RuleFields, domain.RuleFound]
	Assignments  *records[domain.AssignmentFields, domain.AssignmentFound]
	PracticeLogs *records[domain.PracticeLogFields, domain.None]
	Fits         *fits
	Erasures     *erasures
	Exports      *exports
	Changes      domain.Changes
	Accesses     domain.Accesses
	Me           domain.Me
	Lines        domain.Lines
	Weeks        *weeks
}

// The stores keep the promises of the domain.
var (
	_ domain.Records[domain.TeamFields, domain.None] = (*records[domain.TeamFields, domain.None])(nil)
	_ domain.Shots                                   = (*shots)(nil)
	_ domain.Tokens                                  = (*tokens)(nil)
	_ domain.Fits                                    = (*fits)(nil)
	_ domain.Erasures                                = (*erasures)(nil)
	_ domain.Exports                                 = (*exports)(nil)
)

// NewStores opens every store over a database. judge works out what is kept of the judgement: fits, and what is known when a
// block is given.
func NewStores(db *DB, judge domain.Judge) *Stores {
	s := &Stores{
		Members: newMembers(db), Seasons: newSeasons(db), Competitions: newCompetitions(db), Teams: newTeams(db),
		Goalies: newGoalies(db), RosterSpells: newRosterSpells(db), Games: newGames(db), Drills: newDrills(db),
		Tokens: newTokens(db), Sessions: &sessions{db}, SignInCodes: &signInCodes{db}, PracticeLogs: newPracticeLogs(db),
	}
	s.Assignments = newAssignments(db, s, judge)
	s.Habits = newHabits(db, s)
	s.Targets = newTargets(db, s)
	s.Rules = newRules(db, s)
	s.Shots = newShots(db, s)
	s.Stints = newStints(db, s)
	s.Readings = newReadings(db, s)
	s.Clears = newClears(db, s)
	s.Views = newViews(db, s)
	s.Fits = newFits(db, s, judge)
	s.Programs = &programs{db, s}
	s.Erasures = newErasures(db, s)
	s.Exports = &exports{db, s}
	s.Me = &me{db, s}
	s.Lines = &lines{db, s}
	s.Weeks = &weeks{db: db, stores: s}
	s.Changes = newChanges(db, s)
	s.Accesses = &accesses{db}
	return s
}
