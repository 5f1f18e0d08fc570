package domain

import (
	"math"

	"cagework/domain/field"
)

// ShotSpots are where the clicks of a shot lie by the views that it names, in metres, each with the longer half-axis of
// its 90 % ellipse. They are found again, with history, when a view is corrected. Absent: nothing was clicked, or the view
// as it is now gives the click no spot.
type ShotSpots struct {
	ClickedBallXM       *float64 `db:"clicked_ball_x_m"       json:"clicked_ball_x_m"`
	ClickedBallYM       *float64 `db:"clicked_ball_y_m"       json:"clicked_ball_y_m"`
	ClickedBallErrorM   *float64 `db:"clicked_ball_error_m"   json:"clicked_ball_error_m"`
	ClickedPassXM       *float64 `db:"clicked_pass_x_m"       json:"clicked_pass_x_m"`
	ClickedPassYM       *float64 `db:"clicked_pass_y_m"       json:"clicked_pass_y_m"`
	ClickedPassErrorM   *float64 `db:"clicked_pass_error_m"   json:"clicked_pass_error_m"`
	ClickedGoalieXM     *float64 `db:"clicked_goalie_x_m"     json:"clicked_goalie_x_m"`
	ClickedGoalieYM     *float64 `db:"clicked_goalie_y_m"     json:"clicked_goalie_y_m"`
	ClickedGoalieErrorM *float64 `db:"clicked_goalie_error_m" json:"clicked_goalie_error_m"`
	ClickedFinishXM     *float64 `db:"clicked_finish_x_m"     json:"clicked_finish_x_m"`
	ClickedFinishUpM    *float64 `db:"clicked_finish_up_m"    json:"clicked_finish_up_m"`
	ClickedFinishErrorM *float64 `db:"clicked_finish_error_m" json:"clicked_finish_error_m"`
}

// groundClick is one of a shot's clicks on the ground.
type groundClick struct {
	name         string   // of the spot, as its fields begin
	u, v         *float64 // the click
	stated       *float64 // x_m of the spot, where somebody stated one
	x, y, errorM **float64
}

// groundClicks gives the clicks on the ground of a shot, there or not, with the places of their spots in s.
func (f *ShotFields) groundClicks(s *ShotSpots) []groundClick {
	return []groundClick{
		{"ball", f.BallUPx, f.BallVPx, f.BallXM, &s.ClickedBallXM, &s.ClickedBallYM, &s.ClickedBallErrorM},
		{"pass", f.PassUPx, f.PassVPx, f.PassXM, &s.ClickedPassXM, &s.ClickedPassYM, &s.ClickedPassErrorM},
		{"goalie", f.GoalieUPx, f.GoalieVPx, f.GoalieXM, &s.ClickedGoalieXM, &s.ClickedGoalieYM, &s.ClickedGoalieErrorM},
	}
}

// checkClicks refuses half a click, and a spot beside a click: one would belie the other.
func (f ShotFields) checkClicks(c *checks) {
	clicked := false
	for _, k := range f.groundClicks(&ShotSpots{}) {
		c.numberIf("/"+k.name+"_u_px", k.u, 0, MaxPictureSide)
		c.numberIf("/"+k.name+"_v_px", k.v, 0, MaxPictureSide)
		c.when((k.u == nil) != (k.v == nil), "/ground_view_id", "goes with %s_u_px and %s_v_px, both or none", k.name, k.name)
		c.when(k.u != nil && k.stated != nil, "/"+k.name+"_x_m", "comes from the click: send the click or the spot, not both")
		clicked = clicked || k.u != nil
	}
	c.when(clicked != (f.GroundViewID != nil), "/ground_view_id", "goes with a click on the ground: of the ball, the pass or the goalie")
	c.numberIf("/finish_u_px", f.FinishUPx, 0, MaxPictureSide)
	c.numberIf("/finish_v_px", f.FinishVPx, 0, MaxPictureSide)
	whole := (f.GoalViewID == nil) == (f.FinishUPx == nil) && (f.FinishUPx == nil) == (f.FinishVPx == nil)
	c.when(!whole, "/goal_view_id", "goes with finish_u_px and finish_v_px")
	c.when(f.GoalViewID != nil && f.FinishXM != nil, "/finish_x_m", "comes from the click: send the click or the point, not both")
}

// Views gives the ids of the views that a shot names.
func (f ShotFields) Views() []ID {
	var ids []ID
	for _, id := range []*ID{f.GroundViewID, f.GoalViewID} {
		if id != nil {
			ids = append(ids, *id)
		}
	}
	return ids
}

// FindSpots maps the clicks of a shot by the views that it names. A click without a spot is a fault: the view is not
// there, is of another game, of the other plane or of another time of the film, or has no spot there.
func FindSpots(f ShotFields, views map[ID]*Mapping) (ShotSpots, []FieldError) {
	var c checks
	var out ShotSpots
	if f.GroundViewID != nil {
		v := c.viewOf(f, "/ground_view_id", views[*f.GroundViewID], GroundPlane)
		for _, k := range f.groundClicks(&out) {
			if spot := c.groundSpot(v, k); spot != nil {
				*k.x, *k.y, *k.errorM = &spot.XM, spot.YM, &spot.HalfMajorM
			}
		}
	}
	if f.GoalViewID != nil && f.FinishUPx != nil && f.FinishVPx != nil {
		v := c.viewOf(f, "/goal_view_id", views[*f.GoalViewID], GoalPlane)
		if spot := c.spot(v, "/finish_u_px", *f.FinishUPx, *f.FinishVPx); spot != nil {
			off := math.Abs(spot.XM) > 20 || *spot.UpM < -spot.HalfMajorM || *spot.UpM > 10
			if c.when(off, "/finish_u_px", "maps to a point under the ground or far from the goal"); !off {
				up := math.Max(0, *spot.UpM) // no ball is under the ground, where the click's error may put it
				out.ClickedFinishXM, out.ClickedFinishUpM, out.ClickedFinishErrorM = &spot.XM, &up, &spot.HalfMajorM
			}
		}
	}
	return out, c.faults
}

// groundSpot gives the spot of a click on the ground, nil when there is none.
func (c *checks) groundSpot(v *Mapping, k groundClick) *MappedSpot {
	if k.u == nil || k.v == nil {
		return nil
	}
	pointer := "/" + k.name + "_u_px"
	spot := c.spot(v, pointer, *k.u, *k.v)
	if spot != nil && (math.Abs(spot.XM) > 70 || *spot.YM < -30 || *spot.YM > 130) {
		c.add(pointer, "maps to a spot off any field")
		return nil
	}
	return spot
}

// viewOf gives the view that a shot names if it fits the shot, else nil with the fault.
func (c *checks) viewOf(f ShotFields, pointer string, v *Mapping, plane ViewPlane) *Mapping {
	before := len(c.faults)
	switch {
	case v == nil:
		c.add(pointer, "there is no such view")
	case v.fields.GameID != f.GameID:
		c.add(pointer, "is a view of another game")
	case v.fields.Plane != plane:
		c.add(pointer, "is a view of the other plane")
	case !v.fields.holdsAt(f.FilmMs):
		c.add(pointer, "is a view of another part of the film")
	}
	if len(c.faults) > before {
		return nil
	}
	return v
}

// holdsAt tells whether the view's picture is that of a time on the film; a shot without one is taken at its word.
func (f ViewFields) holdsAt(filmMs *int) bool {
	return filmMs == nil || (f.FromFilmMs == nil || *f.FromFilmMs <= *filmMs) && (f.ToFilmMs == nil || *filmMs <= *f.ToFilmMs)
}

func (c *checks) spot(v *Mapping, pointer string, u, w float64) *MappedSpot {
	if v == nil {
		return nil
	}
	spot, refusal := v.Map(Click{UPx: u, VPx: w})
	if refusal != nil {
		c.add(pointer, "%s", refusal.Detail)
	}
	return spot
}

// With gives the fields with the spots that were clicked in their places, for whatever is worked out from a shot. A
// coarse spot stays out, clicked or stated: nothing is worked out from a distance that may be off by more than a metre.
func (f ShotFields) With(s ShotSpots) ShotFields {
	if s.ClickedBallXM != nil && !coarse(s.ClickedBallErrorM) {
		f.BallXM, f.BallYM, f.BallUncertainM = s.ClickedBallXM, s.ClickedBallYM, s.ClickedBallErrorM
	}
	if s.ClickedPassXM != nil && !coarse(s.ClickedPassErrorM) {
		f.PassXM, f.PassYM = s.ClickedPassXM, s.ClickedPassYM
	}
	if s.ClickedGoalieXM != nil && !coarse(s.ClickedGoalieErrorM) {
		f.GoalieXM, f.GoalieYM, f.GoalieUncertainM = s.ClickedGoalieXM, s.ClickedGoalieYM, s.ClickedGoalieErrorM
	}
	if s.ClickedFinishXM != nil && !coarse(s.ClickedFinishErrorM) {
		f.FinishXM, f.FinishUpM, f.FinishUncertainM = s.ClickedFinishXM, s.ClickedFinishUpM, s.ClickedFinishErrorM
	}
	if f.BallUncertainM != nil && coarse(f.BallUncertainM) {
		f.BallXM, f.BallYM, f.BallUncertainM = nil, nil, nil
	}
	if f.GoalieUncertainM != nil && coarse(f.GoalieUncertainM) {
		f.GoalieXM, f.GoalieYM, f.GoalieUncertainM = nil, nil, nil
	}
	if f.GoalieXM == nil {
		f.GoalieFacingDeg = nil // it goes with the spot
	}
	return f
}

func coarse(errorM *float64) bool { return errorM == nil || *errorM > field.CoarseFromM }

const coarseWords = "the spot may be off by more than a metre, so nothing is worked out from it"

// warnOfClicks says which clicks and spots tell less than they seem to.
func (f ShotFields) warnOfClicks(c *checks, s ShotSpots) {
	for _, k := range f.groundClicks(&s) {
		warnOfClick(c, "/"+k.name+"_u_px", k.u != nil, *k.x, *k.errorM)
	}
	warnOfClick(c, "/finish_u_px", f.FinishUPx != nil, s.ClickedFinishXM, s.ClickedFinishErrorM)
	c.when(f.BallUncertainM != nil && coarse(f.BallUncertainM), "/ball_uncertain_m", coarseWords)
	c.when(f.GoalieUncertainM != nil && coarse(f.GoalieUncertainM), "/goalie_uncertain_m", coarseWords)
}

func warnOfClick(c *checks, pointer string, clicked bool, at, errorM *float64) {
	c.when(clicked && at == nil, pointer, "by the view as it is now the click has no spot")
	c.when(at != nil && coarse(errorM), pointer, coarseWords)
}
