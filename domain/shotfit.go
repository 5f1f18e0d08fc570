package domain

import (
	"fmt"
	"math"
	"slices"

	"cagework/domain/field"
)

// ShotPlace is what a shot must fit: its game and competition, the goalie who faced it, and the game's stints.
type ShotPlace struct {
	Game        GameFields
	Competition CompetitionFields
	Goalie      *GoalieFields // nil for an empty cage or an unresolved shot
	Stints      []Stint
}

// Contradictions refuses a shot that cannot be right where it stands: a ball in the goal or off any field of the code of
// play, a band or side that its finish point is not in, and a save or goal that could not have entered. What is off by no more than the ball's radius and the stated
// uncertainty is not refused; see [ShotFields.Warnings].
func (f ShotFields) Contradictions(p ShotPlace) []FieldError {
	var c checks
	f.checkSpots(&c, p.Competition)
	if f.FinishXM == nil || f.FinishUpM == nil {
		return c.faults
	}
	slack := field.BallDiameterM/2 + f.uncertainty()
	opening := field.Opening{WidthM: p.Competition.GoalWidthM, HeightM: p.Competition.GoalHeightM}
	if f.FinishBand != nil {
		low, high := opening.Third(bandPlace(*f.FinishBand), opening.HeightM)
		c.when(*f.FinishUpM < low-slack || *f.FinishUpM > high+slack && *f.FinishBand != High, "/finish_band",
			"%s is from %.2f to %.2f m, and the finish point is at %.2f m", *f.FinishBand, low, high, *f.FinishUpM)
	}
	if f.FinishSide != nil && p.Goalie != nil {
		from, to := sideSpan(*f.FinishSide, p.Goalie.StickHand, opening)
		c.when(*f.FinishXM < from-slack || *f.FinishXM > to+slack, "/finish_side",
			"for this goalie %s %s, and the finish point is at %.2f m", *f.FinishSide, spanWords(from, to), *f.FinishXM)
	}
	if f.enters() {
		outside := opening.Outside(*f.FinishXM, *f.FinishUpM)
		c.when(outside > field.BallDiameterM+f.uncertainty(), "/finish_x_m",
			"a shot with the outcome %s finishes in the opening; this point is %.2f m outside it", f.Outcome, outside)
	}
	return c.faults
}

// enters tells whether the ball went in or would have: then its finish point lies in the opening.
func (f ShotFields) enters() bool { return f.Outcome.OnGoal() || f.Outcome == OwnGoal }

// Warnings says what is odd about a shot but may be right. They are worked out anew each time, never stored.
func (f ShotFields) Warnings(found ShotFound, p ShotPlace) []FieldError {
	c := checks{faults: []FieldError{}}
	f.warnOfClicks(&c, found.ShotSpots)
	f = f.With(found.ShotSpots)
	f.checkSpots(&c, p.Competition) // a view that was corrected may have moved a spot to where none can be
	opening := field.Opening{WidthM: p.Competition.GoalWidthM, HeightM: p.Competition.GoalHeightM}
	if f.FinishXM != nil && f.FinishUpM != nil && f.enters() {
		c.when(opening.Outside(*f.FinishXM, *f.FinishUpM) > 0, "/finish_x_m", "the finish point lies just outside the opening")
	}
	f.warnOfFrame(&c, p.Competition)
	c.when(found.FacedHow == CageUnresolved, "/goalie_id", "it is not known whose shot it was; it counts in no line")
	f.warnOfStints(&c, found, p.Stints)
	if end := gameEnd(p); end != nil && found.ElapsedS != nil {
		c.when(*found.ElapsedS > *end, "/clock_s", "the game had ended by then")
	}
	c.when(f.Arrival != nil && *f.Arrival == "rebound" && f.Deflected, "/deflected",
		"a rebound that was deflected as well: make sure that it is one shot")
	return c.faults
}

// warnOfFrame compares an outcome that says where the ball passed the frame with the finish point, the ball's radius and the
// stated uncertainty respected.
func (f ShotFields) warnOfFrame(c *checks, competition CompetitionFields) {
	if f.FinishXM == nil || f.FinishUpM == nil {
		return
	}
	ground := competition.Ground()
	opening, at := ground.Opening(), field.Finish{XM: *f.FinishXM, UpM: *f.FinishUpM}
	gap := opening.FrameGapM(at, ground.PostM)
	inside := opening.Outside(at.XM, at.UpM) == 0
	c.when(f.Outcome == Wide && inside, "/outcome", "a wide shot finishes inside the opening")
	c.when(f.Outcome == Wide && !inside && -gap > f.uncertainty(), "/outcome", "a ball that goes by this point touches the frame")
	c.when(f.Outcome == Pipe && gap > f.uncertainty(), "/outcome", "a ball that goes by this point misses the frame by %.2f m", gap)
}

// warnOfStints compares who is given with who stood in the cage by the clock or, without a clock time, by film. At the
// moment of a change either of the two may be right.
func (f ShotFields) warnOfStints(c *checks, found ShotFound, stints []Stint) {
	at, by := stintsAt(stints, found.ElapsedS, clockSpan), "the clock"
	if found.ElapsedS == nil {
		at, by = stintsAt(stints, f.FilmMs, filmSpan), "film"
	}
	switch {
	case len(at) == 0:
	case f.StintID != nil:
		given := slices.ContainsFunc(at, func(s *Stint) bool { return s.ID == *f.StintID })
		c.when(!given, "/stint_id", "by %s another stint was on", by)
	case f.GoalieID != nil:
		given := slices.ContainsFunc(at, func(s *Stint) bool {
			return s.Fields.GoalieID != nil && *s.Fields.GoalieID == *f.GoalieID
		})
		empty := !slices.ContainsFunc(at, func(s *Stint) bool { return s.Fields.GoalieID != nil })
		c.when(empty, "/goalie_id", "by %s the cage was empty", by)
		c.when(!given && !empty, "/goalie_id", "by %s another goalie was in the cage", by)
	}
}

func (f ShotFields) uncertainty() float64 {
	if f.FinishUncertainM == nil {
		return 0
	}
	return *f.FinishUncertainM
}

func gameEnd(p ShotPlace) *int {
	var c checks
	return c.elapsed(p.Competition, p.Game.EndedPeriod, p.Game.EndedClockS)
}

// bandPlace gives a band's third of the height, counted from the ground.
func bandPlace(b Band) int {
	switch b {
	case Low:
		return 0
	case Mid:
		return 1
	case High:
	}
	return 2
}

// spanWords says a span of x_m; a side that is open goes on past the post.
func spanWords(from, to float64) string {
	switch {
	case math.IsInf(from, -1):
		return fmt.Sprintf("is up to %.2f m", to)
	case math.IsInf(to, 1):
		return fmt.Sprintf("is from %.2f m on", from)
	}
	return fmt.Sprintf("is from %.2f to %.2f m", from, to)
}

// sideSpan gives from where to where a side lies for a goalie: the stick side is where the head of the stick is held.
// The outer thirds go on past the posts: a ball off the frame still has a side.
func sideSpan(s Side, hand Hand, o field.Opening) (from, to float64) {
	sixth := o.WidthM / 6
	switch s {
	case OffSide:
		from, to = math.Inf(-1), -sixth
	case Middle:
		from, to = -sixth, sixth
	case StickSide:
		from, to = sixth, math.Inf(1)
	}
	if hand == Left {
		from, to = -to, -from
	}
	return from, to
}
