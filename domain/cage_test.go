package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFindCageTakesTheClockBeforeTheFilm(t *testing.T) {
	a, b := NameID(ID{}, "a"), NameID(ID{}, "b")
	first, second := stintOf("first", &a, 0, 1000, 0, 5000), stintOf("second", &b, 1000, 2000, 5000, 9000)
	stints := []Stint{first, second}
	assert.Equal(t, Cage{&b, &second.ID, CageByClock}, FindCage(nil, new(1500), new(10), stints))
	assert.Equal(t, Cage{&a, &first.ID, CageByFilm}, FindCage(nil, new(2500), new(10), stints), "no stint by the clock")
	assert.Equal(t, Cage{&a, nil, CageGiven}, FindCage(&a, new(1500), new(6000), stints))
	assert.Equal(t, Cage{How: CageUnresolved}, FindCage(nil, nil, nil, stints))
}

func TestEveryWayToFindTheCageIsOnTheList(t *testing.T) {
	for _, how := range []CageHow{CageGiven, CageOnlyGoalie, CageByClock, CageByFilm, CageEmpty, CageUnresolved} {
		assert.Contains(t, CageHows, how)
	}
	assert.Len(t, CageHows, 6)
}

func TestAGivenStintIsWhereTheShotBelongs(t *testing.T) {
	a, b := NameID(ID{}, "a"), NameID(ID{}, "b")
	first, second, empty := stintOf("first", &a, 0, 1000), stintOf("second", &b, 1000, 2000), stintOf("empty", nil, 2000, 2060)
	stints := []Stint{first, second, empty}
	for name, c := range map[string]struct {
		stint  Stint
		goalie *ID
		how    CageHow
	}{
		"against the clock":        {second, &b, CageGiven},
		"as the clock has it":      {first, &a, CageGiven},
		"of an empty cage":         {empty, nil, CageEmpty},
		"with its goalie as well":  {second, &b, CageGiven},
		"with a goalie, the other": {first, &a, CageGiven},
	} {
		f := goodShot() // 420 s into the game
		f.StintID = &c.stint.ID
		for _, goalie := range []*ID{nil, c.goalie} {
			f.GoalieID = goalie
			found, faults := FindShot(f, quarters, stints)
			assert.Empty(t, faults, name)
			assert.Equal(t, c.how, found.FacedHow, name)
			assert.Equal(t, c.goalie, found.FacedGoalieID, name)
			assert.Equal(t, c.stint.ID, *found.FacedStintID, name)
			assert.Equal(t, 420, *found.ElapsedS, name)
		}
	}
}

func TestAGivenStintThatCannotBeIsRefused(t *testing.T) {
	a, b, elsewhere := NameID(ID{}, "a"), NameID(ID{}, "b"), NameID(ID{}, "a stint of another game")
	first, empty := stintOf("first", &a, 0, 1000), stintOf("empty", nil, 1000, 1060)
	for name, c := range map[string]struct{ goalie, stint *ID }{
		"of another goalie":        {&b, &first.ID},
		"empty, but with a goalie": {&a, &empty.ID},
		"of another game":          {nil, &elsewhere},
		"of another game, given":   {&a, &elsewhere},
	} {
		f := goodShot()
		f.GoalieID, f.StintID = c.goalie, c.stint
		found, faults := FindShot(f, quarters, []Stint{first, empty})
		require.Len(t, faults, 1, name)
		assert.Equal(t, "/stint_id", faults[0].Pointer, name)
		assert.NotEqual(t, CageByClock, found.FacedHow, name)
	}
}
