package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// warned finds a shot among stints and gives what is odd about it, as a store does.
func warned(f ShotFields, p ShotPlace) []string {
	found, _ := FindShot(f, p.Competition, p.Stints)
	return pointers(f.Warnings(found, p))
}

func TestAnUnresolvedShotWarns(t *testing.T) {
	a := NameID(ID{}, "a")
	place := ShotPlace{Competition: quarters}
	assert.Equal(t, []string{"/goalie_id"}, warned(goodShot(), place))
	place.Stints = []Stint{stintOf("first", &a, 0, 1000)}
	assert.Empty(t, warned(goodShot(), place))
}

func TestAGivenGoalieWhileAnotherIsInTheCageWarns(t *testing.T) {
	a, b, third := NameID(ID{}, "a"), NameID(ID{}, "b"), NameID(ID{}, "c")
	first, second := stintOf("first", &a, 0, 420, 0, 5000), stintOf("second", &b, 420, 2000, 5000, 9000)
	empty := stintOf("empty", nil, 2000, 2060)
	place := ShotPlace{Competition: quarters, Stints: []Stint{first, second, empty}}
	at := func(elapsed int, change func(*ShotFields)) ShotFields {
		f := goodShot()
		f.Period, f.ClockS = new(1+elapsed/720), new(720-elapsed%720)
		change(&f)
		return f
	}
	goalie := func(id ID) func(*ShotFields) { return func(f *ShotFields) { f.GoalieID = &id } }
	stint := func(id ID) func(*ShotFields) { return func(f *ShotFields) { f.StintID = &id } }
	filmOnly := func(ms int, id ID) ShotFields {
		return ShotFields{GameID: a, Outcome: Save, FilmMs: &ms, GoalieID: &id}
	}
	for name, c := range map[string]struct {
		shot ShotFields
		want []string
	}{
		"nobody given":                     {at(300, func(*ShotFields) {}), []string{}},
		"the one who is in":                {at(300, goalie(a)), []string{}},
		"another":                          {at(300, goalie(b)), []string{"/goalie_id"}},
		"the moment of the change, either": {at(420, goalie(a)), []string{}},
		"or the other":                     {at(420, goalie(b)), []string{}},
		"a third goalie then":              {at(420, goalie(third)), []string{"/goalie_id"}},
		"a second after it":                {at(421, goalie(a)), []string{"/goalie_id"}},
		"while the cage was empty":         {at(2030, goalie(b)), []string{"/goalie_id"}},
		"after every stint":                {at(2100, goalie(b)), []string{}},
		"the stint that was on":            {at(300, stint(first.ID)), []string{}},
		"another stint":                    {at(300, stint(second.ID)), []string{"/stint_id"}},
		"either stint of the change":       {at(420, stint(second.ID)), []string{}},
		"an empty stint before its time":   {at(1990, stint(empty.ID)), []string{"/stint_id"}},
		"by film, the one who is in":       {filmOnly(4000, a), []string{}},
		"by film, another":                 {filmOnly(4000, b), []string{"/goalie_id"}},
		"film of no stint":                 {filmOnly(9001, a), []string{}},
	} {
		assert.Equal(t, c.want, warned(c.shot, place), name)
	}
}

func TestAShotAfterTheEndOfTheGameWarns(t *testing.T) {
	a := NameID(ID{}, "a")
	place := ShotPlace{
		Game: GameFields{EndedPeriod: new(5), EndedClockS: new(100)}, Competition: quarters,
		Stints: []Stint{stintOf("all", &a, 0, 3120)},
	}
	f := goodShot()
	f.Period, f.ClockS = new(5), new(100) // the goal that ended it
	assert.Empty(t, warned(f, place))
	f.ClockS = new(99)
	assert.Equal(t, []string{"/clock_s"}, warned(f, place))
	place.Game = GameFields{}
	assert.Empty(t, warned(f, place), "nobody said when it ended")
}

func TestARebound(t *testing.T) {
	a := NameID(ID{}, "a")
	place := ShotPlace{Competition: quarters, Stints: []Stint{stintOf("all", &a, 0, 2880)}}
	f := goodShot()
	f.Arrival = new(Arrival("rebound"))
	assert.Empty(t, warned(f, place))
	f.Deflected = true
	assert.Equal(t, []string{"/deflected"}, warned(f, place))
}
