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
	ClickedFinishXM     *float64 `db:"clicked_finish_x_m"     json:"clicked_finish_x_m"`
	ClickedFinishUpM    *float64 `db:"clicked_finish_up_m"    json:"clicked_finish_up_m"`
	ClickedFinishErrorM *float64 `db:"clicked_finish_error_m" json:"clicked_finish_error_m"`
}

// checkClicks refuses half a click, and a spot beside a click: one would belie the other.
func (f ShotFields) checkClicks(c *checks) {
	c.numberIf("/ball_u_px", f.BallUPx, 0, MaxPictureSide)
	c.numberIf("/ball_v_px", f.BallVPx, 0, MaxPictureSide)
	c.numberIf("/finish_u_px", f.FinishUPx, 0, MaxPictureSide)
	c.numberIf("/finish_v_px", f.FinishVPx, 0, MaxPictureSide)
	whole := func(view *ID, u, v *float64) bool { return (view == nil) == (u == nil) && (u == nil) == (v == nil) }
	c.when(!whole(f.GroundViewID, f.BallUPx, f.BallVPx), "/ground_view_id", "goes with ball_u_px and ball_v_px")
	c.when(!whole(f.GoalViewID, f.FinishUPx, f.FinishVPx), "/goal_view_id", "goes with finish_u_px and finish_v_px")
	c.when(f.GroundViewID != nil && f.BallXM != nil, "/ball_x_m", "comes from the click: send the click or the spot, not both")
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
	if f.GroundViewID != nil && f.BallUPx != nil && f.BallVPx != nil {
		v := c.viewOf(f, "/ground_view_id", views[*f.GroundViewID], GroundPlane)
		if spot := c.spot(v, "/ball_u_px", *f.BallUPx, *f.BallVPx); spot != nil {
			off := math.Abs(spot.XM) > 70 || *spot.YM < -30 || *spot.YM > 130
			if c.when(off, "/ball_u_px", "maps to a spot off any field"); !off {
				out.ClickedBallXM, out.ClickedBallYM, out.ClickedBallErrorM = &spot.XM, spot.YM, &spot.HalfMajorM
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
	if f.BallUncertainM != nil && coarse(f.BallUncertainM) {
		f.BallXM, f.BallYM, f.BallUncertainM = nil, nil, nil
	}
	if f.GoalieUncertainM != nil && coarse(f.GoalieUncertainM) {
		f.GoalieXM, f.GoalieYM, f.GoalieFacingDeg, f.GoalieUncertainM = nil, nil, nil, nil
	}
	if s.ClickedFinishXM != nil && !coarse(s.ClickedFinishErrorM) {
		f.FinishXM, f.FinishUpM, f.FinishUncertainM = s.ClickedFinishXM, s.ClickedFinishUpM, s.ClickedFinishErrorM
	}
	return f
}

func coarse(errorM *float64) bool { return errorM == nil || *errorM > field.CoarseFromM }

const coarseWords = "the spot may be off by more than a metre, so nothing is worked out from it"

// warnOfClicks says which clicks and spots tell less than they seem to.
func (f ShotFields) warnOfClicks(c *checks, s ShotSpots) {
	for _, click := range []struct {
		pointer   string
		view      *ID
		at, error *float64
	}{
		{"/ball_u_px", f.GroundViewID, s.ClickedBallXM, s.ClickedBallErrorM},
		{"/finish_u_px", f.GoalViewID, s.ClickedFinishXM, s.ClickedFinishErrorM},
	} {
		c.when(click.view != nil && click.at == nil, click.pointer, "by the view as it is now the click has no spot")
		c.when(click.at != nil && coarse(click.error), click.pointer, coarseWords)
	}
	c.when(f.BallUncertainM != nil && coarse(f.BallUncertainM), "/ball_uncertain_m", coarseWords)
	c.when(f.GoalieUncertainM != nil && coarse(f.GoalieUncertainM), "/goalie_uncertain_m", coarseWords)
}
