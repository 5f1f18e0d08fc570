package domain

// CodeOfPlay is the game that is played. Box and field, men's and women's are never pooled.
type CodeOfPlay string

// Level is the age or school level; college includes adults.
type Level string

// GameKind says what a game was. Only games count in the official line.
type GameKind string

// Role is what a member does in a program.
type Role string

// Availability says what a goalie may be given to do. No reason is stored.
type Availability string

// Hand is the side on which a goalie holds the head of the stick, seen from the goalie.
type Hand string

// Answer is what a reader saw of a habit. A habit that nobody looked at has no answer.
type Answer string

// HowRead says how a reading was made; film_blind means up to the release, before the result was known.
type HowRead string

// Ball is what a drill sends at the goalie.
type Ball string

// Effort is how hard a drill is.
type Effort string

// State is what a rate says about its target.
type State string

// The lists of codes, each in the order in which it is shown.
var (
	CodesOfPlay    = []CodeOfPlay{"mens_field", "womens_field", "box", "sixes"}
	Levels         = []Level{"10u", "12u", "14u", "high_school", "college"}
	GameKinds      = []GameKind{KindGame, KindScrimmage, KindPractice}
	Roles          = []Role{Director, Coach, Recorder, Viewer}
	Availabilities = []Availability{Full, Limited, Held}
	Hands          = []Hand{Right, Left}
	Answers        = []Answer{Yes, No, NotSeen}
	HowReads       = []HowRead{Live, Film, FilmBlind}
	Balls          = []Ball{"none", "own", "soft", "live"}
	Efforts        = []Effort{"easy", "moderate", "hard"}
	States         = []State{NoData, TooFew, ClearGap, LeaningBelow, CantTell, LeaningMet, Met}
)

// Codes that the logic names.
const (
	KindGame      GameKind = "game"
	KindScrimmage GameKind = "scrimmage"
	KindPractice  GameKind = "practice"

	Director Role = "director"
	Coach    Role = "coach"
	Recorder Role = "recorder"
	Viewer   Role = "viewer"

	Full    Availability = "full"
	Limited Availability = "limited"
	Held    Availability = "held"

	Right Hand = "right"
	Left  Hand = "left"

	Yes     Answer = "yes"
	No      Answer = "no"
	NotSeen Answer = "not_seen"

	Live      HowRead = "live"
	Film      HowRead = "film"
	FilmBlind HowRead = "film_blind"

	BallNone Ball = "none"
	BallOwn  Ball = "own"
	BallSoft Ball = "soft"
	BallLive Ball = "live"

	Easy     Effort = "easy"
	Moderate Effort = "moderate"
	Hard     Effort = "hard"

	NoData       State = "no_data"
	TooFew       State = "too_few"
	ClearGap     State = "clear_gap"
	LeaningBelow State = "leaning_below"
	CantTell     State = "cant_tell"
	LeaningMet   State = "leaning_met"
	Met          State = "met"
)
