package domain

// ShotFields is one shot as it was charted. It needs a game, an outcome and a time on the clock or film; all else
// may come later. Spots on the ground: x_m to the goalkeeper's right as they face the field, y_m up-field, from
// the point midway between the posts. Finish points lie in the goal's plane: the same x_m, and up_m.
type ShotFields struct {
	GameID   ID  `db:"game_id"   json:"game_id"`
	GoalieID *ID `db:"goalie_id" json:"goalie_id"` // absent: found from the stints
	StintID  *ID `db:"stint_id"  json:"stint_id"`  // absent: found by the clock or film

	Outcome   Outcome `db:"outcome"    json:"outcome"`
	Deflected bool    `db:"deflected"  json:"deflected"`
	GoalieOut bool    `db:"goalie_out" json:"goalie_out"`
	WavedOff  bool    `db:"waved_off"  json:"waved_off"`

	Period *int `db:"period"  json:"period"`
	ClockS *int `db:"clock_s" json:"clock_s"` // remaining in the period
	FilmMs *int `db:"film_ms" json:"film_ms"` // inside the frame of the release

	Phase    *Phase    `db:"phase"    json:"phase"`
	Strength *Strength `db:"strength" json:"strength"`
	Arrival  *Arrival  `db:"arrival"  json:"arrival"`

	ReleaseStyle *ReleaseStyle `db:"release_style" json:"release_style"`
	ReleaseLevel *Band         `db:"release_level" json:"release_level"`
	ShooterFeet  *Feet         `db:"shooter_feet"  json:"shooter_feet"`

	BallXM *float64 `db:"ball_x_m" json:"ball_x_m"`
	BallYM *float64 `db:"ball_y_m" json:"ball_y_m"`

	// PassXM and PassYM are where the last pass came from; CatchToReleaseS is the time from that pass's catch to the release.
	PassXM          *float64 `db:"pass_x_m"           json:"pass_x_m"`
	PassYM          *float64 `db:"pass_y_m"           json:"pass_y_m"`
	CatchToReleaseS *float64 `db:"catch_to_release_s" json:"catch_to_release_s"`

	ReleaseUpM *float64 `db:"release_up_m" json:"release_up_m"` // the ball above the ground at release
	SpeedMS    *float64 `db:"speed_ms"     json:"speed_ms"`     // as it was measured

	// GoalieXM and GoalieYM are the point midway between the goalie's feet at release; GoalieFacingDeg is where their hips
	// face, read by eye: 0 straight out, positive to the goalkeeper's right.
	GoalieXM        *float64 `db:"goalie_x_m"        json:"goalie_x_m"`
	GoalieYM        *float64 `db:"goalie_y_m"        json:"goalie_y_m"`
	GoalieFacingDeg *float64 `db:"goalie_facing_deg" json:"goalie_facing_deg"`

	// BallUncertainM and GoalieUncertainM are the longer half axes of the spots' 90 % ellipses.
	BallUncertainM   *float64 `db:"ball_uncertain_m"   json:"ball_uncertain_m"`
	GoalieUncertainM *float64 `db:"goalie_uncertain_m" json:"goalie_uncertain_m"`

	FinishBand *Band    `db:"finish_band" json:"finish_band"`
	FinishSide *Side    `db:"finish_side" json:"finish_side"`
	FinishXM   *float64 `db:"finish_x_m"  json:"finish_x_m"`
	FinishUpM  *float64 `db:"finish_up_m" json:"finish_up_m"`
	Bounce     *bool    `db:"bounce"      json:"bounce"`

	// FinishUncertainM is how far the finish point may be off, as whoever clicked it states it.
	FinishUncertainM *float64 `db:"finish_uncertain_m" json:"finish_uncertain_m"`

	// A click on a view's picture in place of a spot or finish point: the ball, where the last pass came from and the goalie's
	// feet on the ground, each on a picture of the one view; the finish in the goal's plane. Where it lies is found by the
	// view; see [ShotSpots].
	GroundViewID *ID      `db:"ground_view_id" json:"ground_view_id"`
	BallUPx      *float64 `db:"ball_u_px"      json:"ball_u_px"`
	BallVPx      *float64 `db:"ball_v_px"      json:"ball_v_px"`
	PassUPx      *float64 `db:"pass_u_px"      json:"pass_u_px"`
	PassVPx      *float64 `db:"pass_v_px"      json:"pass_v_px"`
	GoalieUPx    *float64 `db:"goalie_u_px"    json:"goalie_u_px"`
	GoalieVPx    *float64 `db:"goalie_v_px"    json:"goalie_v_px"`
	GoalViewID   *ID      `db:"goal_view_id"   json:"goal_view_id"`
	FinishUPx    *float64 `db:"finish_u_px"    json:"finish_u_px"`
	FinishVPx    *float64 `db:"finish_v_px"    json:"finish_v_px"`

	SaveBy  *SaveBy  `db:"save_by" json:"save_by"`
	Rebound *Rebound `db:"rebound" json:"rebound"`
	Outlet  *Outlet  `db:"outlet"  json:"outlet"`

	// CountedReadingID settles which reading counts; absent, the rule of [CountedReading] chooses.
	CountedReadingID *ID `db:"counted_reading_id" json:"counted_reading_id"`
}

// ShotFound is what the service found of a shot: when it was, and whose.
type ShotFound struct {
	ElapsedS      *int    `db:"elapsed_s"       json:"elapsed_s"` // since the game began; absent without a clock time
	FacedGoalieID *ID     `db:"faced_goalie_id" json:"faced_goalie_id"`
	FacedStintID  *ID     `db:"faced_stint_id"  json:"faced_stint_id"`
	FacedHow      CageHow `db:"faced_how"       json:"faced_how"`

	ShotSpots // of the clicks

	// Warnings are worked out anew each time the shot is read: what is odd about it, but may be right. Nil, and in no
	// JSON, is a shot for which nobody has yet.
	Warnings []FieldError `db:"-" json:"warnings,omitzero"`

	// Derived is what follows from the shot's places and times, worked out beside the warnings.
	Derived *ShotDerived `db:"-" json:"derived,omitzero"`
}

// Shot is the stored shot.
type Shot = Record[ShotFields, ShotFound]

// Check gives the faults of the fields.
func (f ShotFields) Check() []FieldError {
	var c checks
	c.id("/game_id", f.GameID)
	oneOf(&c, "/outcome", f.Outcome, Outcomes)
	f.checkTime(&c)
	oneOfIf(&c, "/phase", f.Phase, Phases)
	oneOfIf(&c, "/strength", f.Strength, Strengths)
	oneOfIf(&c, "/arrival", f.Arrival, Arrivals)
	oneOfIf(&c, "/release_style", f.ReleaseStyle, ReleaseStyles)
	oneOfIf(&c, "/release_level", f.ReleaseLevel, Bands)
	oneOfIf(&c, "/shooter_feet", f.ShooterFeet, FeetList)
	oneOfIf(&c, "/finish_band", f.FinishBand, Bands)
	oneOfIf(&c, "/finish_side", f.FinishSide, Sides)
	oneOfIf(&c, "/save_by", f.SaveBy, SaveBys)
	oneOfIf(&c, "/rebound", f.Rebound, Rebounds)
	oneOfIf(&c, "/outlet", f.Outlet, Outlets)
	f.checkPlaces(&c)
	f.checkClicks(&c)
	f.checkAfter(&c)
	return c.faults
}

func (f ShotFields) checkTime(c *checks) {
	c.when(f.Period == nil && f.FilmMs == nil, "/period", "a shot needs a time: period with clock_s, or film_ms")
	c.gameTime(f.Period, f.ClockS, f.FilmMs)
}

func (f ShotFields) checkPlaces(c *checks) {
	c.when((f.BallXM == nil) != (f.BallYM == nil), "/ball_y_m", "goes with ball_x_m")
	c.numberIf("/ball_x_m", f.BallXM, -70, 70)
	c.numberIf("/ball_y_m", f.BallYM, -30, 130)
	c.when((f.PassXM == nil) != (f.PassYM == nil), "/pass_y_m", "goes with pass_x_m")
	c.numberIf("/pass_x_m", f.PassXM, -70, 70)
	c.numberIf("/pass_y_m", f.PassYM, -30, 130)
	c.numberIf("/catch_to_release_s", f.CatchToReleaseS, 0.05, 30)
	c.numberIf("/release_up_m", f.ReleaseUpM, 0, 4)
	c.numberIf("/speed_ms", f.SpeedMS, 1, 70)
	c.when((f.GoalieXM == nil) != (f.GoalieYM == nil), "/goalie_y_m", "goes with goalie_x_m")
	c.numberIf("/goalie_x_m", f.GoalieXM, -70, 70)
	c.numberIf("/goalie_y_m", f.GoalieYM, -30, 130)
	c.numberIf("/goalie_facing_deg", f.GoalieFacingDeg, -180, 180)
	c.when(f.GoalieFacingDeg != nil && f.GoalieXM == nil && f.GoalieUPx == nil, "/goalie_facing_deg", "goes with goalie_x_m or a click")
	c.numberIf("/ball_uncertain_m", f.BallUncertainM, 0, 50)
	c.when(f.BallUncertainM != nil && f.BallXM == nil, "/ball_uncertain_m", "goes with ball_x_m")
	c.numberIf("/goalie_uncertain_m", f.GoalieUncertainM, 0, 50)
	c.when(f.GoalieUncertainM != nil && f.GoalieXM == nil, "/goalie_uncertain_m", "goes with goalie_x_m")
	c.when((f.FinishXM == nil) != (f.FinishUpM == nil), "/finish_up_m", "goes with finish_x_m")
	c.numberIf("/finish_x_m", f.FinishXM, -20, 20)
	c.numberIf("/finish_up_m", f.FinishUpM, 0, 10)
	c.numberIf("/finish_uncertain_m", f.FinishUncertainM, 0, 2)
	c.when(f.FinishUncertainM != nil && f.FinishXM == nil, "/finish_uncertain_m", "goes with finish_x_m")
	finished := f.FinishBand != nil || f.FinishSide != nil
	c.when(finished && !f.Outcome.OnGoal() && f.Outcome != OwnGoal, "/finish_band",
		"only a shot on goal finishes in a band or on a side of the opening")
}

// checkAfter refuses what can only follow a save on any other outcome.
func (f ShotFields) checkAfter(c *checks) {
	if f.Outcome == Save {
		c.when(f.WavedOff, "/waved_off", "only a goal can be waved off")
		return
	}
	c.when(f.SaveBy != nil, "/save_by", "only a save has it")
	c.when(f.Rebound != nil, "/rebound", "only a save has it")
	c.when(f.Outlet != nil, "/outlet", "only a save has it")
	c.when(f.WavedOff && f.Outcome != Goal, "/waved_off", "only a goal can be waved off")
}

// FindShot gives what can be found of a shot from its game's competition and stints: its elapsed second and whose
// it was; see [FindCage]. A stint that is given is where the shot belongs; a goalie given beside it must be its.
// An own goal belongs to the team, so a goalie given with it stands but is charged nothing.
func FindShot(f ShotFields, comp CompetitionFields, stints []Stint) (ShotFound, []FieldError) {
	var c checks
	elapsed := c.elapsed(comp, f.Period, f.ClockS)
	cage := FindCage(f.GoalieID, elapsed, f.FilmMs, stints)
	if f.StintID != nil {
		cage = c.givenStint(f, stints)
	}
	return ShotFound{
		ElapsedS: elapsed, FacedGoalieID: cage.GoalieID, FacedStintID: cage.StintID, FacedHow: cage.How,
	}, c.faults
}

func (c *checks) givenStint(f ShotFields, stints []Stint) Cage {
	for i := range stints {
		stint := &stints[i]
		if stint.ID != *f.StintID {
			continue
		}
		other := f.GoalieID != nil && (stint.Fields.GoalieID == nil || *stint.Fields.GoalieID != *f.GoalieID)
		c.when(other, "/stint_id", "is the stint of another goalie")
		return inStint(stint, CageGiven)
	}
	c.add("/stint_id", "is no stint of this game")
	return Cage{How: CageUnresolved}
}
