package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var quarters = CompetitionFields{Periods: 4, PeriodS: 720, OvertimeS: 240}

func goodShot() ShotFields {
	return ShotFields{GameID: NameID(ID{}, "game"), Outcome: Save, Period: new(1), ClockS: new(300)}
}

func TestShotNeedsOnlyAGameAnOutcomeAndATime(t *testing.T) {
	assert.Empty(t, goodShot().Check())
	assert.Empty(t, ShotFields{GameID: NameID(ID{}, "game"), Outcome: Wide, FilmMs: new(0)}.Check())
}

func TestShotCheckFromBothSidesOfEachBorder(t *testing.T) {
	for name, change := range map[string]func(*ShotFields){
		"first second":  func(f *ShotFields) { f.ClockS = new(0) },
		"longest clock": func(f *ShotFields) { f.ClockS = new(MaxClock) },
		"last period":   func(f *ShotFields) { f.Period = new(MaxPeriod) },
		"film":          func(f *ShotFields) { f.FilmMs = new(MaxFilm) },
		"corner":        func(f *ShotFields) { f.BallXM, f.BallYM = new(-70.0), new(130.0) },
		"behind":        func(f *ShotFields) { f.BallXM, f.BallYM = new(70.0), new(-30.0) },
		"finish":        func(f *ShotFields) { f.FinishXM, f.FinishUpM = new(-20.0), new(0.0) },
		"high finish":   func(f *ShotFields) { f.FinishXM, f.FinishUpM = new(20.0), new(10.0) },
		"all of a save": func(f *ShotFields) {
			f.SaveBy, f.Rebound, f.Outlet = new(SaveBy("stick")), new(Rebound("held")), new(Outlet("complete"))
		},
		"a goal waved off": func(f *ShotFields) { f.Outcome, f.WavedOff = Goal, true },
		"own goal's band":  func(f *ShotFields) { f.Outcome, f.FinishBand = OwnGoal, new(Mid) },
	} {
		f := goodShot()
		change(&f)
		assert.Empty(t, f.Check(), name)
	}
	refuses(t, goodShot, map[string]func(*ShotFields){
		"/game_id":         func(f *ShotFields) { f.GameID = ID{} },
		"/outcome":         func(f *ShotFields) { f.Outcome = "saved" },
		"/period#none":     func(f *ShotFields) { f.Period, f.ClockS = nil, nil },
		"/period#low":      func(f *ShotFields) { f.Period = new(0) },
		"/period#high":     func(f *ShotFields) { f.Period = new(MaxPeriod + 1) },
		"/clock_s#alone":   func(f *ShotFields) { f.ClockS = nil },
		"/clock_s#low":     func(f *ShotFields) { f.ClockS = new(-1) },
		"/clock_s#high":    func(f *ShotFields) { f.ClockS = new(MaxClock + 1) },
		"/film_ms#low":     func(f *ShotFields) { f.FilmMs = new(-1) },
		"/film_ms#high":    func(f *ShotFields) { f.FilmMs = new(MaxFilm + 1) },
		"/phase":           func(f *ShotFields) { f.Phase = new(Phase("break")) },
		"/strength":        func(f *ShotFields) { f.Strength = new(Strength("short")) },
		"/arrival":         func(f *ShotFields) { f.Arrival = new(Arrival("pass")) },
		"/release_style":   func(f *ShotFields) { f.ReleaseStyle = new(ReleaseStyle("crank")) },
		"/release_level":   func(f *ShotFields) { f.ReleaseLevel = new(Band("top")) },
		"/shooter_feet":    func(f *ShotFields) { f.ShooterFeet = new(Feet("still")) },
		"/finish_side":     func(f *ShotFields) { f.FinishSide = new(Side("left")) },
		"/ball_y_m":        func(f *ShotFields) { f.BallXM = new(1.0) },
		"/ball_x_m":        func(f *ShotFields) { f.BallXM, f.BallYM = new(70.1), new(1.0) },
		"/ball_y_m#far":    func(f *ShotFields) { f.BallXM, f.BallYM = new(1.0), new(130.1) },
		"/finish_up_m":     func(f *ShotFields) { f.FinishXM = new(1.0) },
		"/finish_up_m#low": func(f *ShotFields) { f.FinishXM, f.FinishUpM = new(1.0), new(-.01) },
		"/finish_band":     func(f *ShotFields) { f.Outcome, f.FinishBand = Wide, new(Low) },
		"/waved_off":       func(f *ShotFields) { f.WavedOff = true },
		"/waved_off#wide":  func(f *ShotFields) { f.Outcome, f.WavedOff = Wide, true },
		"/save_by":         func(f *ShotFields) { f.Outcome, f.SaveBy = Goal, new(SaveBy("leg")) },
		"/rebound":         func(f *ShotFields) { f.Outcome, f.Rebound = Goal, new(Rebound("held")) },
		"/outlet":          func(f *ShotFields) { f.Outcome, f.Outlet = Goal, new(Outlet("carried")) },
	})
}

func stintOf(name string, goalie *ID, start, end int, film ...int) Stint {
	s := Stint{
		ID: NameID(ID{}, name), Fields: StintFields{GoalieID: goalie},
		Found: StintFound{StartElapsedS: start, EndElapsedS: end},
	}
	if len(film) == 2 {
		s.Fields.StartFilmMs, s.Fields.EndFilmMs = &film[0], &film[1]
	}
	return s
}

func TestFindShotInTheOrderOfTheDesign(t *testing.T) {
	a, b := NameID(ID{}, "a"), NameID(ID{}, "b")
	first, second := stintOf("first", &a, 0, 1000, 0, 5000), stintOf("second", &b, 1000, 2000, 5000, 9000)
	empty := stintOf("empty", nil, 2000, 2060)
	at := func(elapsed int) ShotFields { // within the first period or the later ones
		f := goodShot()
		f.Period, f.ClockS = new(1+elapsed/720), new(720-elapsed%720)
		return f
	}
	film := func(ms int) ShotFields { return ShotFields{GameID: NameID(ID{}, "game"), Outcome: Save, FilmMs: &ms} }
	given := at(10)
	given.GoalieID = &b
	for name, c := range map[string]struct {
		shot   ShotFields
		stints []Stint
		how    CageHow
		goalie *ID
		stint  *ID
	}{
		"given wins over the stint":      {given, []Stint{first}, CageGiven, &b, nil},
		"the only goalie, any time":      {film(99999), []Stint{first}, CageOnlyGoalie, &a, nil},
		"one goalie in two stints":       {film(99999), []Stint{first, stintOf("again", &a, 1500, 1600)}, CageOnlyGoalie, &a, nil},
		"by the clock":                   {at(1500), []Stint{first, second}, CageByClock, &b, &second.ID},
		"by film":                        {film(2000), []Stint{first, second}, CageByFilm, &a, &first.ID},
		"the stint that ends":            {at(1000), []Stint{second, first}, CageByClock, &a, &first.ID},
		"the stint that ends, by film":   {film(5000), []Stint{second, first}, CageByFilm, &a, &first.ID},
		"an empty cage":                  {at(2030), []Stint{first, second, empty}, CageEmpty, nil, &empty.ID},
		"an empty cage in a lone game":   {at(2030), []Stint{first, empty}, CageEmpty, nil, &empty.ID},
		"one goalie but an empty cage":   {at(500), []Stint{first, empty}, CageByClock, &a, &first.ID},
		"no stints":                      {at(5), nil, CageUnresolved, nil, nil},
		"between the stints":             {at(2100), []Stint{first, second}, CageUnresolved, nil, nil},
		"film outside, no clock":         {film(9500), []Stint{first, second}, CageUnresolved, nil, nil},
		"film where stints have no film": {film(10), []Stint{empty, stintOf("x", &a, 0, 5)}, CageUnresolved, nil, nil},
	} {
		found, faults := FindShot(c.shot, quarters, c.stints)
		assert.Empty(t, faults, name)
		assert.Equal(t, c.how, found.FacedHow, name)
		assert.Equal(t, c.goalie, found.FacedGoalieID, name)
		assert.Equal(t, c.stint, found.FacedStintID, name)
	}
}

func TestFindShotElapsed(t *testing.T) {
	found, faults := FindShot(goodShot(), quarters, nil)
	assert.Empty(t, faults)
	assert.Equal(t, 420, *found.ElapsedS)
	f := goodShot()
	f.ClockS = new(721)
	_, faults = FindShot(f, quarters, nil)
	require.Len(t, faults, 1)
	assert.Equal(t, "/clock_s", faults[0].Pointer)
	found, _ = FindShot(ShotFields{FilmMs: new(5)}, quarters, nil)
	assert.Nil(t, found.ElapsedS)
}

func TestFindShotDoesNotHangOnTheOrderOfStints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var stints []Stint
		at := 0
		for i := range rapid.IntRange(1, 5).Draw(t, "stints") {
			goalie := NameID(ID{}, string(rune('a'+i)))
			end := at + rapid.IntRange(1, 700).Draw(t, "seconds")
			stints = append(stints, stintOf("stint "+string(rune('a'+i)), &goalie, at, end))
			at = end
		}
		f := goodShot()
		f.Period, f.ClockS = new(rapid.IntRange(1, 4).Draw(t, "period")), new(rapid.IntRange(0, 720).Draw(t, "clock"))
		want, _ := FindShot(f, quarters, stints)
		got, _ := FindShot(f, quarters, rapid.Permutation(stints).Draw(t, "order"))
		assert.Equal(t, want, got)
	})
}

func TestStintFind(t *testing.T) {
	f := StintFields{StartPeriod: 1, StartClockS: 720, EndPeriod: 4, EndClockS: 0}
	found, faults := f.Find(quarters)
	assert.Empty(t, faults)
	assert.Equal(t, StintFound{0, 2880}, found)
	f.EndPeriod, f.EndClockS = 1, 720
	_, faults = f.Find(quarters)
	assert.Empty(t, faults, "a stint of no length")
	f.StartClockS = 719
	_, faults = f.Find(quarters)
	assert.Equal(t, "/end_clock_s", faults[0].Pointer)
	f.StartClockS = 721
	_, faults = f.Find(quarters)
	assert.Equal(t, "/start_clock_s", faults[0].Pointer)
}
