package domain

import "context"

// RecallWeeks is how far back assignments and practice logs are read for a week.
const RecallWeeks = 16

// WeekRecords is all that a goalie's week is worked out from, read in one transaction.
type WeekRecords struct {
	Program Program
	Goalie  Goalie
	Week    Week
	Teams   []Team // those whose roster holds the goalie in the week
	Faced   FacedRecords
	Seasons []Season // those that hold a day of the week
	Habits  []Habit
	Targets []Target
	// Assignments and Logs are the goalie's, of the last RecallWeeks weeks, or of a longer season, up to the Sunday; assignments also of
	// the week after it, for which the week's work is planned, and logs as far back as the assignments reach.
	Assignments []Assignment
	Logs        []PracticeLog
	NextGames   []Game // of the goalie's teams in the seven days after the week's Sunday, as far as they are entered
	Drills      []Drill
	Rules       []Rule
	Fits        []Fit // the newest of each code of play and level
	// Peers is how all the program's goalies count in the look-backs of the week; see [CountPeers].
	Peers []PeerCount
}

// FacedRecords is what a goalie faced over a span of days: each shot with its game and counted reading, ordered by
// day, game and time; and the goalie's stints.
type FacedRecords struct {
	From, To Date
	Shots    []*CountedShot
	Stints   []CountedStint
	Clears   []CountedClear
}

// CountedClear is a clear with its game; AfterSave says that it names a shot that was saved.
type CountedClear struct {
	Clear       Clear
	Game        Game
	Competition CompetitionFields
	AfterSave   bool
}

// CountedStint is a stint with its game.
type CountedStint struct {
	Stint       Stint
	Game        Game
	Competition CompetitionFields
}

// ChartWeeks is how far back a team's or program's week looks for games that were not charted.
const ChartWeeks = 4

// GroupRecords is all that the week of a team or of the program is worked out from, read in one transaction.
type GroupRecords struct {
	Program Program
	Week    Week
	Teams   []Team        // of the program: those that the actor may read, in the order of names; of a team: that one
	Weeks   []WeekRecords // one a goalie, in the order of names; they share what they have in common
	Games   []ChartedGame // games and scrimmages of the teams in the last ChartWeeks weeks, in the order of days
	Cage    LineRecords   // of a team: what its cage saw in the week and its seasons, whoever stood in it
}

// ChartedGame is a game with how far it is charted.
type ChartedGame struct {
	Game       Game
	Shots      int
	Unresolved int // shots that nobody's line counts, for it is not settled who faced them
}

// Weeks is the store behind the weekly summaries.
type Weeks interface {
	// Goalie gives the records of a goalie's week, as far back as the longest look-back of a target, the look-back
	// before each block, and the start of the seasons that hold the week (RecallWeeks where there is none). Errors:
	// Forbidden, NotFound.
	Goalie(ctx context.Context, a Actor, goalie ID, week Week) (WeekRecords, error)
	// Team gives the records of the week of a team: of the goalies on its roster in the week. Errors: as Goalie.
	Team(ctx context.Context, a Actor, team ID, week Week) (GroupRecords, error)
	// Program gives the records of the week of every goalie whom the actor may read about. Errors: Forbidden.
	Program(ctx context.Context, a Actor, week Week) (GroupRecords, error)
}

// Span is a span of days, both ends included; a zero end is open.
type Span struct{ From, To Date }

// LineRecords is what official lines are worked out from: of a goalie, or of a team and whoever stood in its cage.
type LineRecords struct {
	Faced   FacedRecords
	Seasons []Season // those that touch the span
	Goalies []Goalie // of a team: those in its lines
	Fits    []Fit    // the newest of each code of play and level
}

// Lines is the store behind the official line.
type Lines interface {
	// Goalie gives what a goalie faced over a span, or over a season when one is named (its days, narrowed by the
	// span). Errors: Forbidden, NotFound, Invalid for a season that is not there.
	Goalie(ctx context.Context, a Actor, goalie ID, span Span, season *ID) (LineRecords, error)
	// Team gives what a team's cage saw over a span or a season, whoever stood in it. Errors: as Goalie.
	Team(ctx context.Context, a Actor, team ID, span Span, season *ID) (LineRecords, error)
}
