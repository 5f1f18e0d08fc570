package domain

// Outcome is how a shot ended. Shots on goal are goals and saves, nothing else.
type Outcome string

// Phase is the phase of play of a shot, seen from the goalie's team.
type Phase string

// Strength is the number of players on the field, seen from the goalie's team.
type Strength string

// Arrival is how the ball came to the shooter.
type Arrival string

// ReleaseStyle is the arm slot at release.
type ReleaseStyle string

// Band is a height: of the release against the shooter's body, or of the finish in thirds of the opening.
type Band string

// Feet is what the shooter's feet did.
type Feet string

// Side is a third of the opening's width, mirrored by the side on which the goalie holds the head of the stick.
type Side string

// SaveBy is the first contact that kept the ball out.
type SaveBy string

// Rebound is what became of the ball after a save.
type Rebound string

// Outlet is the first pass after possession.
type Outlet string

// The lists of a shot's codes, each in the order in which it is shown.
var (
	Outcomes      = []Outcome{Goal, Save, Pipe, Wide, Blocked, OwnGoal}
	Phases        = []Phase{"settled", "transition", "failed_clear", "free_position", "penalty_shot"}
	Strengths     = []Strength{"even", "down", "up"}
	Arrivals      = []Arrival{"dodge", "feed", "cross_feed", "feed_from_behind", "rebound", "ground_ball", "restart"}
	ReleaseStyles = []ReleaseStyle{"overhand", "three_quarter", "sidearm", "underhand", "backhand"}
	Bands         = []Band{Low, Mid, High}
	FeetList      = []Feet{"planted", "on_the_run", "quick_stick"}
	Sides         = []Side{StickSide, Middle, OffSide}
	SaveBys       = []SaveBy{"stick", "body", "leg"}
	Rebounds      = []Rebound{"held", "directed", "loose_won", "loose_lost"}
	Outlets       = []Outlet{"complete", "incomplete", "carried"}
)

// Codes of a shot that the logic names.
const (
	Goal    Outcome = "goal"
	Save    Outcome = "save"
	Pipe    Outcome = "pipe"
	Wide    Outcome = "wide"
	Blocked Outcome = "blocked"
	OwnGoal Outcome = "own_goal"

	StickSide Side = "stick_side"
	Middle    Side = "middle"
	OffSide   Side = "off_side"

	Low  Band = "low"
	Mid  Band = "mid"
	High Band = "high"
)

// OnGoal tells whether a shot with this outcome is a shot on goal: a goal or a save.
func (o Outcome) OnGoal() bool { return o == Goal || o == Save }
