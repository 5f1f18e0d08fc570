package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func goodClear() ClearFields {
	return ClearFields{GameID: NameID(ID{}, "game"), Result: Cleared, Period: new(1), ClockS: new(300)}
}

func TestClearCheckFromBothSidesOfEachBorder(t *testing.T) {
	shot := NameID(ID{}, "shot")
	for name, f := range map[string]ClearFields{
		"by the clock": goodClear(),
		"by film":      {GameID: shot, Result: ClearFailed, FilmMs: new(0)},
		"by its shot":  {GameID: shot, Result: NotTried, ShotID: &shot},
		"last moment":  {GameID: shot, Result: Cleared, Period: new(MaxPeriod), ClockS: new(MaxClock), FilmMs: new(MaxFilm)},
	} {
		assert.Empty(t, f.Check(), name)
	}
	refuses(t, goodClear, map[string]func(*ClearFields){
		"/game_id":       func(f *ClearFields) { f.GameID = ID{} },
		"/result":        func(f *ClearFields) { f.Result = "made" },
		"/result#none":   func(f *ClearFields) { f.Result = "" },
		"/period":        func(f *ClearFields) { f.Period, f.ClockS = nil, nil },
		"/period#high":   func(f *ClearFields) { f.Period = new(MaxPeriod + 1) },
		"/clock_s":       func(f *ClearFields) { f.ClockS = nil },
		"/clock_s#low":   func(f *ClearFields) { f.ClockS = new(-1) },
		"/clock_s#alone": func(f *ClearFields) { f.Period, f.FilmMs = nil, new(5) },
		"/film_ms":       func(f *ClearFields) { f.FilmMs = new(MaxFilm + 1) },
	})
}

func TestFindClear(t *testing.T) {
	a, b := NameID(ID{}, "a"), NameID(ID{}, "b")
	first, second := stintOf("first", &a, 0, 1000), stintOf("second", &b, 1000, 2000)
	stints := []Stint{first, second}
	shot := &Shot{ID: NameID(ID{}, "shot"), Found: ShotFound{
		ElapsedS: new(1500), FacedGoalieID: &b, FacedStintID: &second.ID, FacedHow: CageByClock,
	}}
	bare, given, timed := ClearFields{ShotID: &shot.ID}, ClearFields{ShotID: &shot.ID, GoalieID: &a}, goodClear()
	timed.ShotID = &shot.ID
	for name, c := range map[string]struct {
		clear ClearFields
		after *Shot
		want  ClearFound
	}{
		"stands where its shot stands":     {bare, shot, ClearFound{new(1500), &b, &second.ID, CageByClock}},
		"a goalie given is believed":       {given, shot, ClearFound{new(1500), &a, nil, CageGiven}},
		"a time of its own comes first":    {timed, shot, ClearFound{new(420), &a, &first.ID, CageByClock}},
		"without a shot, by the clock":     {goodClear(), nil, ClearFound{new(420), &a, &first.ID, CageByClock}},
		"nothing to find it by":            {bare, nil, ClearFound{CageHow: CageUnresolved}},
		"a shot that is unresolved itself": {bare, &Shot{Found: ShotFound{FacedHow: CageUnresolved}}, ClearFound{CageHow: CageUnresolved}},
	} {
		found, faults := FindClear(c.clear, c.after, quarters, stints)
		assert.Empty(t, faults, name)
		assert.Equal(t, c.want, found, name)
	}
	late := goodClear()
	late.ClockS = new(721)
	_, faults := FindClear(late, nil, quarters, stints)
	require.Len(t, faults, 1)
	assert.Equal(t, "/clock_s", faults[0].Pointer)
}
