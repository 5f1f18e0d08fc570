package domain

// ShotFields is one shot as it was charted. It needs a game, an outcome and a time on the clock or film; all else
// may come later. Spots on the ground: x_m to the goalkeeper's right as they face the field, y_m up-field, from
// the point midway between the posts. Finish points lie in the goal's plane: the same x_m, and up_m.
type ShotFields struct {
	GameID   ID  `db:"game_id"   json:"game_id"`
	GoalieID *ID `db:"goalie_id" json:"goalie_id"` // absent: found from the stints

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

	FinishBand *Band    `db:"finish_band" json:"finish_band"`
	FinishSide *Side    `db:"finish_side" json:"finish_side"`
	FinishXM   *float64 `db:"finish_x_m"  json:"finish_x_m"`
	FinishUpM  *float64 `db:"finish_up_m" json:"finish_up_m"`
	Bounce     *bool    `db:"bounce"      json:"bounce"`

	SaveBy  *SaveBy  `db:"save_by" json:"save_by"`
	Rebound *Rebound `db:"rebound" json:"rebound"`
	Outlet  *Outlet  `db:"outlet"  json:"outlet"`
}

// FacedHow says how the service found whose shot it was.
type FacedHow string

// How it was found whose shot it was; an unresolved shot counts in no line until it is settled.
const (
	FacedGiven      FacedHow = "given"
	FacedOnlyGoalie FacedHow = "only_goalie"
	FacedClock      FacedHow = "stint_clock"
	FacedFilm       FacedHow = "stint_film"
	FacedEmptyCage  FacedHow = "empty_cage"
	FacedUnresolved FacedHow = "unresolved"
)

// FacedHows is the list of FacedHow.
var FacedHows = []FacedHow{FacedGiven, FacedOnlyGoalie, FacedClock, FacedFilm, FacedEmptyCage, FacedUnresolved}

// ShotFound is what the service found of a shot: when it was, and whose.
type ShotFound struct {
	ElapsedS      *int     `db:"elapsed_s"       json:"elapsed_s"` // since the game began; absent without a clock time
	FacedGoalieID *ID      `db:"faced_goalie_id" json:"faced_goalie_id"`
	FacedStintID  *ID      `db:"faced_stint_id"  json:"faced_stint_id"`
	FacedHow      FacedHow `db:"faced_how"       json:"faced_how"`
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
	f.checkAfter(&c)
	return c.faults
}

func (f ShotFields) checkTime(c *checks) {
	c.when(f.Period == nil && f.FilmMs == nil, "/period", "a shot needs a time: period with clock_s, or film_ms")
	c.when((f.Period == nil) != (f.ClockS == nil), "/clock_s", "goes with period")
	c.wholeIf("/period", f.Period, 1, MaxPeriod)
	c.wholeIf("/clock_s", f.ClockS, 0, MaxClock)
	c.wholeIf("/film_ms", f.FilmMs, 0, MaxFilm)
}

func (f ShotFields) checkPlaces(c *checks) {
	c.when((f.BallXM == nil) != (f.BallYM == nil), "/ball_y_m", "goes with ball_x_m")
	c.numberIf("/ball_x_m", f.BallXM, -70, 70)
	c.numberIf("/ball_y_m", f.BallYM, -30, 130)
	c.when((f.FinishXM == nil) != (f.FinishUpM == nil), "/finish_up_m", "goes with finish_x_m")
	c.numberIf("/finish_x_m", f.FinishXM, -20, 20)
	c.numberIf("/finish_up_m", f.FinishUpM, 0, 10)
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
// it was. An own goal belongs to the team, so a goalie given with it stands but is charged nothing.
//
// The order is that of the design: the goalie given; the game's only goalie; the stint by the clock; the stint by
// film. A moment shared by two stints belongs to the one that ends there: the shot stopped the clock of the change.
func FindShot(f ShotFields, comp CompetitionFields, stints []Stint) (ShotFound, []FieldError) {
	var c checks
	found := ShotFound{FacedHow: FacedUnresolved}
	if f.Period != nil && f.ClockS != nil {
		elapsed, ok := comp.Clock().Elapsed(*f.Period, *f.ClockS)
		c.when(!ok, "/clock_s", "is more than period %d of this competition has", *f.Period)
		found.ElapsedS = &elapsed
	}
	if f.GoalieID != nil {
		found.FacedGoalieID, found.FacedHow = f.GoalieID, FacedGiven
		return found, c.faults
	}
	if goalie, only := onlyGoalie(stints); only {
		found.FacedGoalieID, found.FacedHow = goalie, FacedOnlyGoalie
		return found, c.faults
	}
	if stint := stintAt(stints, found.ElapsedS, clockSpan); stint != nil {
		found.face(stint, FacedClock)
	} else if stint := stintAt(stints, f.FilmMs, filmSpan); stint != nil {
		found.face(stint, FacedFilm)
	}
	return found, c.faults
}

func (s *ShotFound) face(stint *Stint, how FacedHow) {
	s.FacedStintID = &stint.ID
	s.FacedGoalieID, s.FacedHow = stint.Fields.GoalieID, how
	if stint.Fields.GoalieID == nil {
		s.FacedHow = FacedEmptyCage
	}
}

// onlyGoalie gives the goalie when one alone stood in the cage and it was never empty.
func onlyGoalie(stints []Stint) (*ID, bool) {
	var goalie *ID
	for i := range stints {
		g := stints[i].Fields.GoalieID
		if g == nil || (goalie != nil && *goalie != *g) {
			return nil, false
		}
		goalie = g
	}
	return goalie, goalie != nil
}

func clockSpan(s *Stint) (start, end *int) { return &s.Found.StartElapsedS, &s.Found.EndElapsedS }
func filmSpan(s *Stint) (start, end *int)  { return s.Fields.StartFilmMs, s.Fields.EndFilmMs }

// stintAt gives the stint that holds the moment, by the span that is asked for; nil when none or no moment.
func stintAt(stints []Stint, at *int, span func(*Stint) (start, end *int)) *Stint {
	if at == nil {
		return nil
	}
	var best *Stint
	for i := range stints {
		start, end := span(&stints[i])
		if start == nil || end == nil || *at < *start || *at > *end {
			continue
		}
		if best == nil || *end == *at {
			best = &stints[i]
		}
	}
	return best
}
