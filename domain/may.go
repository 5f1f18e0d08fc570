package domain

import "slices"

// Noun names a kind of record; it is the same word in the contract, in tables of rights and in the history.
type Noun string

// The nouns.
const (
	NounProgram     Noun = "program"
	NounMember      Noun = "member"
	NounToken       Noun = "token"
	NounSeason      Noun = "season"
	NounCompetition Noun = "competition"
	NounTeam        Noun = "team"
	NounGoalie      Noun = "goalie"
	NounRosterSpell Noun = "roster_spell"
	NounGame        Noun = "game"
	NounStint       Noun = "stint"
	NounShot        Noun = "shot"
	NounReading     Noun = "reading"
	NounTarget      Noun = "target"
	NounDrill       Noun = "drill"
	NounRule        Noun = "rule"
	NounHabit       Noun = "habit"
	NounClear       Noun = "clear"
	NounView        Noun = "view"
	NounAssignment  Noun = "assignment"
	NounPracticeLog Noun = "practice_log"
	NounFit         Noun = "fit"
	NounChange      Noun = "change"
	NounLine        Noun = "line"
	NounWeek        Noun = "week"
	NounLesson      Noun = "lesson"
	NounErasure     Noun = "erasure"
	NounExport      Noun = "export"
	NounAccess      Noun = "access"
	NounMe          Noun = "me"
	NounSignInCode  Noun = "sign_in_code"
)

// Verb is what somebody wants to do to a record.
type Verb string

// The verbs. Write is to create, change or remove.
const (
	Read  Verb = "read"
	Write Verb = "write"
)

// Scope is how far a right reaches.
type Scope string

// The scopes. Own is what belongs to the actor's teams (for a reading: and was made by the actor, or the actor is
// no mere recorder).
const (
	ScopeNone    Scope = "none"
	ScopeOwn     Scope = "own"
	ScopeProgram Scope = "program"
)

// Actor is who acts: a member behind a valid token or session.
type Actor struct {
	ProgramID ID
	MemberID  ID
	Role      Role
	TeamIDs   []ID
	GoalieIDs []ID

	TokenID   ID // the token behind the request, or behind its session; zero for none
	SessionID ID // the browser's session behind the request; zero for none
}

// Rights says for each role how far it may do one verb to one noun; a role that is not there may not at all.
type Rights map[Role]Scope

var (
	directorOnly = Rights{Director: ScopeProgram}
	staffRead    = Rights{Director: ScopeProgram, Coach: ScopeProgram, Recorder: ScopeProgram}
	coachesRead  = Rights{Director: ScopeProgram, Coach: ScopeProgram}
	ownTeams     = Rights{Director: ScopeProgram, Coach: ScopeOwn, Recorder: ScopeOwn}
	ownCoaches   = Rights{Director: ScopeProgram, Coach: ScopeOwn}
	anybody      = Rights{Director: ScopeProgram, Coach: ScopeProgram, Recorder: ScopeProgram, Viewer: ScopeProgram}
)

// rights is the one table of who may do what. The contract states the same per operation, and a test runs every
// operation against it.
var rights = map[Noun]map[Verb]Rights{
	NounProgram:     {Read: staffRead, Write: directorOnly},
	NounMember:      {Read: directorOnly, Write: directorOnly},
	NounToken:       {Read: directorOnly, Write: directorOnly},
	NounSeason:      {Read: staffRead, Write: directorOnly},
	NounCompetition: {Read: staffRead, Write: directorOnly},
	NounTeam:        {Read: ownTeams, Write: directorOnly},
	NounGoalie:      {Read: ownTeams, Write: ownCoaches},
	NounRosterSpell: {Read: ownTeams, Write: ownTeams},
	NounGame:        {Read: ownTeams, Write: ownTeams},
	NounStint:       {Read: ownTeams, Write: ownTeams},
	NounShot:        {Read: ownTeams, Write: ownTeams},
	NounReading:     {Read: ownTeams, Write: ownTeams},
	NounTarget:      {Read: coachesRead, Write: directorOnly},
	NounDrill:       {Read: coachesRead, Write: directorOnly},
	NounRule:        {Read: coachesRead, Write: directorOnly},
	NounHabit:       {Read: staffRead, Write: directorOnly},
	NounClear:       {Read: ownTeams, Write: ownTeams},
	NounView:        {Read: ownTeams, Write: ownTeams},
	NounAssignment:  {Read: ownCoaches, Write: ownCoaches},
	NounPracticeLog: {Read: ownCoaches, Write: ownCoaches},
	NounFit:         {Read: coachesRead, Write: directorOnly},
	NounChange:      {Read: ownTeams, Write: ownTeams}, // and whatever the record's own noun allows
	NounLine:        {Read: ownCoaches},
	NounWeek:        {Read: ownCoaches},
	NounLesson:      {Read: staffRead},
	NounErasure:     {Read: directorOnly, Write: directorOnly},
	NounExport:      {Read: directorOnly},
	NounAccess:      {Read: directorOnly},
	NounMe:          {Read: anybody},
	NounSignInCode:  {Write: anybody}, // for oneself; see [MayMakeCode]
}

// ScopeOf gives how far a role may do a verb to a noun.
func ScopeOf(role Role, verb Verb, noun Noun) Scope {
	if scope, ok := rights[noun][verb][role]; ok {
		return scope
	}
	return ScopeNone
}

// Subject is what a record belongs to. What belongs to no team is its member's, and nobody's without one: then it is the
// director's alone.
type Subject struct {
	TeamIDs  []ID
	MemberID *ID // whose reading it is; of a goalie who was on no roster yet, who made them
}

// Unplaced tells whether it belongs to no team yet, but to who made it.
func (s Subject) Unplaced() bool { return len(s.TeamIDs) == 0 && s.MemberID != nil }

// May asks whether the actor may do the verb to a record. It gives nil or a Forbidden error.
func May(a Actor, verb Verb, noun Noun, on Subject) error {
	switch ScopeOf(a.Role, verb, noun) {
	case ScopeProgram:
		return nil
	case ScopeOwn:
		if ownedBy(a, on) {
			return nil
		}
		return Errorf(Forbidden, "This %s is not one of your teams'.", spoken(noun))
	case ScopeNone:
	}
	return Errorf(Forbidden, "A %s may not %s any %s.", a.Role, verb, spoken(noun))
}

// MayAny asks whether the actor may do the verb to some record of the noun, before any record is looked at.
func MayAny(a Actor, verb Verb, noun Noun) error {
	if ScopeOf(a.Role, verb, noun) == ScopeNone {
		return Errorf(Forbidden, "A %s may not %s any %s.", a.Role, verb, spoken(noun))
	}
	return nil
}

func ownedBy(a Actor, on Subject) bool {
	if len(on.TeamIDs) == 0 {
		return on.MemberID != nil && *on.MemberID == a.MemberID
	}
	if on.MemberID != nil && a.Role == Recorder && *on.MemberID != a.MemberID {
		return false
	}
	return slices.ContainsFunc(on.TeamIDs, func(id ID) bool { return slices.Contains(a.TeamIDs, id) })
}

func spoken(noun Noun) string {
	b := []byte(noun)
	for i := range b {
		if b[i] == '_' {
			b[i] = ' '
		}
	}
	return string(b)
}
