package invented

import "cagework/domain"

// Squad is a team as it is made up.
type Squad struct {
	Name            string
	Competition     string // the key of a starter competition
	PracticeMinutes int    // a week
	Shots           int    // faced in a game, about
	Opponents       []string
	Goalies         []Goalie
}

// Goalie is a person as they are made up. True rates lie at the targets' or above, but for the weakness.
type Goalie struct {
	Name         string
	Hand         domain.Hand
	Availability domain.Availability // "" is full

	Weakness string     // a target's code, "" for none
	Gap      float64    // how far the true rate of the weakness lies below its target
	Strength string     // a target's code whose true rate lies well above, "" for none
	Above    [2]float64 // the other true rates lie between these two above their targets

	SlumpFrom int // the week, counted from 1, from which the odds of a goal on any shot are doubled; 0 is never

	Little bool  // plays, and is charted, now and then
	Block  Block // what a coach assigned
}

func (g Goalie) availability() domain.Availability {
	if g.Availability == "" {
		return domain.Full
	}
	return g.Availability
}

// Block is what a coach assigned, by codes. The week is of the program's weeks, counted from 1; 0 is no block.
type Block struct {
	Target, Drill string
	Rule          string // that recommended it
	Week, Weeks   int
	Status        domain.AssignmentStatus
	Reason        string
}

// reaches is the range, above their targets, of the true rates of goalies who reach them.
var reaches = [2]float64{0, 0.10}

// Squads gives three teams of different codes of play and levels with eight goalies: five with a weakness each, of
// whom one is limited; one who reaches every target; one who is held; one who is little charted.
func Squads() []Squad {
	return []Squad{
		{
			Name: "Harbor Hill varsity", Competition: "mens_field_high_school", PracticeMinutes: 90, Shots: 42,
			Opponents: []string{"Fox Hollow", "Saddle Creek", "Copper Bend", "Larch Ridge", "Mill Pond"},
			Goalies: []Goalie{
				{
					Name: "Rowan Tully", Hand: domain.Right, Weakness: "low_save", Gap: .32, Strength: "high_save", Above: reaches,
					Block: Block{Target: "low_save", Drill: "drop_beat", Rule: "low_drop", Week: 11, Weeks: 3, Status: domain.Assigned},
				},
				{
					Name: "Ellis Farrow", Hand: domain.Left, Weakness: "set_before_release", Gap: .30, Strength: "controlled_rebound", Above: reaches,
					Block: Block{Target: "set_before_release", Drill: "call_and_freeze", Rule: "set_freeze", Week: 7, Weeks: 3, Status: domain.Finished},
				},
				{Name: "Jude Marlowe", Hand: domain.Right, Above: reaches, Little: true},
			},
		},
		{
			Name: "Harbor Hill girls 14U", Competition: "womens_field_14u", PracticeMinutes: 60, Shots: 38,
			Opponents: []string{"Tern Island", "Quarry Lane", "Bramble Fields", "North Meadow"},
			Goalies: []Goalie{
				{
					Name: "Wren Castell", Hand: domain.Right, Weakness: "off_side_save", Gap: .28, Strength: "stepped_to_ball", Above: reaches,
					Block: Block{Target: "off_side_save", Drill: "hands_only", Rule: "off_side_hands", Week: 12, Weeks: 2, Status: domain.Assigned},
				},
				{
					Name: "Tess Arbor", Hand: domain.Left, Availability: domain.Limited, Weakness: "on_angle", Gap: .28, Above: reaches,
					Block: Block{Target: "on_angle", Drill: "arc_walk", Rule: "angle_walk", Week: 10, Weeks: 3, Status: domain.Assigned},
				},
				{Name: "Poppy Ashdown", Hand: domain.Right, Strength: "inside_save", Above: reaches},
			},
		},
		{
			Name: "Harbor Hill sixes", Competition: "sixes", PracticeMinutes: 75, Shots: 46,
			Opponents: []string{"Lantern Bay", "Stone Ferry", "Granite Point"},
			Goalies: []Goalie{
				{
					Name: "Noor Haddow", Hand: domain.Right, Weakness: "controlled_rebound", Gap: .28, Strength: "held_ground", Above: reaches,
					Block: Block{
						Target: "controlled_rebound", Drill: "wall_hands", Rule: "rebound_wall", Week: 8, Weeks: 3, Status: domain.Dropped,
						Reason: "Swapped for team play that week.",
					},
				},
				{Name: "Sky Penrose", Hand: domain.Right, Availability: domain.Held, Above: reaches},
			},
		},
	}
}
