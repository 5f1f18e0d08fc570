package domain

import "math"

// JudgementSettings is what a program sets of the bounds by which its goalies are judged. What is nil is the service's own
// value, so that a better one reaches every program that sets nothing. Chances, shares and rates run from 0 to 1.
type JudgementSettings struct {
	Margin       *float64 `json:"margin"`
	TooWide      *float64 `json:"too_wide"`
	ClearGap     *float64 `json:"clear_gap"`
	LeaningBelow *float64 `json:"leaning_below"`
	CantTell     *float64 `json:"cant_tell"`
	LeaningMet   *float64 `json:"leaning_met"`
	OwnList      *float64 `json:"own_list"`
	BoardList    *float64 `json:"board_list"`
	AboutTheSame *float64 `json:"about_the_same"`
	Overtaken    *float64 `json:"overtaken"`
	AssumedWorth *float64 `json:"assumed_worth"`
	Helped       *float64 `json:"helped"`
	PageAlarms   *float64 `json:"page_alarms"`
	BoardAlarms  *float64 `json:"board_alarms"`
}

// JudgementBounds are the bounds that a program may set, as they are used: its own, and the service's where it sets none.
type JudgementBounds struct {
	Margin       float64 `json:"margin"`         // a rate counts as below its target when it is below it by more than this
	TooWide      float64 `json:"too_wide"`       // an interval wider than this is too few tries
	ClearGap     float64 `json:"clear_gap"`      // from this chance below the target on: a clear gap
	LeaningBelow float64 `json:"leaning_below"`  // from this on: leaning below
	CantTell     float64 `json:"cant_tell"`      // from this on: cannot tell
	LeaningMet   float64 `json:"leaning_met"`    // from this on: leaning met; less: met
	OwnList      float64 `json:"own_list"`       // share of a goalie's own list of gaps that may be wrong
	BoardList    float64 `json:"board_list"`     // the same of a board over goalies
	AboutTheSame float64 `json:"about_the_same"` // how close to the most a worth must come to be about the same, as a share of it
	Overtaken    float64 `json:"overtaken"`      // from this chance on that another is worth more, a kept work-on is overtaken
	AssumedWorth float64 `json:"assumed_worth"`  // of a hit of which nothing is measured, in goals a try
	Helped       float64 `json:"helped"`         // chance at most that a block looks to have helped when nothing changed
	PageAlarms   float64 `json:"page_alarms"`    // false alarms a season that the reader of one goalie's page bears
	BoardAlarms  float64 `json:"board_alarms"`   // and the director of a whole board
}

// Bound is one of the bounds that a program may set: its name in JSON, what it may be, and the service's own value.
type Bound struct {
	Name    string
	Least   float64
	Most    float64
	Default float64
	set     func(*JudgementSettings) *float64
	use     func(*JudgementBounds) *float64
}

// BoundList holds the bounds that a program may set, in the order of the fields. The defaults are starting values: one in
// ten clear gaps may be none, and an 80 % interval of .30 spans about 17 tries at an even rate. What may be set ends where
// a state would no longer mean what it is called: a gap below even odds, or a verdict on three or four shots.
var BoundList = []Bound{
	{"margin", 0, 0.15, 0,
		func(s *JudgementSettings) *float64 { return s.Margin }, func(b *JudgementBounds) *float64 { return &b.Margin }},
	{"too_wide", 0.05, 0.6, 0.3,
		func(s *JudgementSettings) *float64 { return s.TooWide }, func(b *JudgementBounds) *float64 { return &b.TooWide }},
	{"clear_gap", 0.5, 0.999, 0.9,
		func(s *JudgementSettings) *float64 { return s.ClearGap }, func(b *JudgementBounds) *float64 { return &b.ClearGap }},
	{"leaning_below", 0.5, 0.999, 0.75,
		func(s *JudgementSettings) *float64 { return s.LeaningBelow }, func(b *JudgementBounds) *float64 { return &b.LeaningBelow }},
	{"cant_tell", 0.001, 0.5, 0.25,
		func(s *JudgementSettings) *float64 { return s.CantTell }, func(b *JudgementBounds) *float64 { return &b.CantTell }},
	{"leaning_met", 0.001, 0.5, 0.1,
		func(s *JudgementSettings) *float64 { return s.LeaningMet }, func(b *JudgementBounds) *float64 { return &b.LeaningMet }},
	{"own_list", 0.01, 0.5, 0.1,
		func(s *JudgementSettings) *float64 { return s.OwnList }, func(b *JudgementBounds) *float64 { return &b.OwnList }},
	{"board_list", 0.01, 0.5, 0.08,
		func(s *JudgementSettings) *float64 { return s.BoardList }, func(b *JudgementBounds) *float64 { return &b.BoardList }},
	{"about_the_same", 0, 0.9, 0.2,
		func(s *JudgementSettings) *float64 { return s.AboutTheSame }, func(b *JudgementBounds) *float64 { return &b.AboutTheSame }},
	{"overtaken", 0.5, 0.999, 0.9,
		func(s *JudgementSettings) *float64 { return s.Overtaken }, func(b *JudgementBounds) *float64 { return &b.Overtaken }},
	{"assumed_worth", 0, 1, 0.1,
		func(s *JudgementSettings) *float64 { return s.AssumedWorth }, func(b *JudgementBounds) *float64 { return &b.AssumedWorth }},
	{"helped", 0.01, 0.5, 0.1,
		func(s *JudgementSettings) *float64 { return s.Helped }, func(b *JudgementBounds) *float64 { return &b.Helped }},
	{"page_alarms", 0.1, 20, 2.5,
		func(s *JudgementSettings) *float64 { return s.PageAlarms }, func(b *JudgementBounds) *float64 { return &b.PageAlarms }},
	{"board_alarms", 0.1, 50, 4,
		func(s *JudgementSettings) *float64 { return s.BoardAlarms }, func(b *JudgementBounds) *float64 { return &b.BoardAlarms }},
}

// Bounds gives the bounds that are used: what is set, and the service's own value of everything else.
func (s JudgementSettings) Bounds() JudgementBounds {
	var out JudgementBounds
	for _, b := range BoundList {
		*b.use(&out) = b.Default
		if v := b.set(&s); v != nil {
			*b.use(&out) = *v
		}
	}
	return out
}

// SetBound is a bound that a program sets itself, with its value.
type SetBound struct {
	Bound
	Value float64
}

// Set gives the bounds that are set, in the order of [BoundList].
func (s JudgementSettings) Set() []SetBound {
	var out []SetBound
	for _, b := range BoundList {
		if v := b.set(&s); v != nil {
			out = append(out, SetBound{b, *v})
		}
	}
	return out
}

// stateOrder names the bounds of the states, each of which must not be more than the next.
var stateOrder = []string{"leaning_met", "cant_tell", "leaning_below", "clear_gap"}

// check refuses bounds out of their range, and bounds of states that are out of order once all are filled in. Of two out
// of order the one that is set is named; with both set, the upper one.
func (s JudgementSettings) check(c *checks) {
	inUse := s.Bounds()
	before := len(c.faults)
	states := map[string]Bound{}
	for _, b := range BoundList {
		states[b.Name] = b
		if v := b.set(&s); v != nil {
			at := "/judgement/" + b.Name
			c.number(at, *v, b.Least, b.Most)
			c.when(*v != math.Round(1000*(*v))/1000, at, "must have at most three decimals, for it is said in words too")
		}
	}
	if len(c.faults) > before {
		return
	}
	for i, name := range stateOrder[1:] {
		under, over := states[stateOrder[i]], states[name]
		low, high := *under.use(&inUse), *over.use(&inUse)
		switch {
		case low <= high:
		case over.set(&s) != nil:
			c.add("/judgement/"+over.Name, "must not be less than %s, which is %g", under.Name, low)
		default:
			c.add("/judgement/"+under.Name, "must not be more than %s, which is %g", over.Name, high)
		}
	}
}
