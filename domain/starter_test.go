package domain

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestStarterDataIsValid(t *testing.T) {
	program := NameID(ID{}, "a program")
	data := Starter(program)
	require.Len(t, data.Competitions, 18)
	require.Len(t, data.Habits, 11)
	require.Len(t, data.Targets, 2)
	require.Len(t, data.Drills, 4)
	require.Len(t, data.Rules, 6)
	for _, r := range data.Targets {
		assert.Empty(t, r.Fields.Check(), r.Fields.Code)
		assert.Empty(t, UnknownHabits("/of", r.Fields.Of, data.Habits), r.Fields.Code)
		assert.Empty(t, UnknownHabits("/hit", r.Fields.Hit, data.Habits), r.Fields.Code)
		assert.Equal(t, NameID(program, "target:"+r.Fields.Code), r.ID)
	}
	for _, r := range data.Drills {
		assert.Empty(t, r.Fields.Check(), r.Fields.Code)
		assert.NotEmpty(t, r.Fields.Cautions, r.Fields.Code)
	}
	for _, r := range data.Rules {
		assert.Empty(t, r.Fields.Check(), r.Fields.Name)
	}
	assert.Equal(t, data, Starter(program), "the same each time")
	assert.NotEqual(t, data.Targets[0].ID, Starter(NameID(ID{}, "another")).Targets[0].ID)
}

func TestStarterFilesHoldNothingUnknown(t *testing.T) {
	read := func(name string, into any) {
		raw, err := starterFiles.ReadFile("starter/" + name + ".json")
		require.NoError(t, err)
		d := json.NewDecoder(bytes.NewReader(raw))
		d.DisallowUnknownFields()
		require.NoError(t, d.Decode(into), name)
	}
	read("competitions", &[]starterCompetition{})
	read("habits", &[]HabitFields{})
	read("targets", &[]TargetFields{})
	read("drills", &[]DrillFields{})
	read("rules", &[]starterRule{})
}

func TestStarterRulesNameWhatIsThere(t *testing.T) {
	data := Starter(NameID(ID{}, "a program"))
	targets, drills, ids := map[ID]bool{}, map[ID]DrillFields{}, map[ID]bool{}
	for _, r := range data.Targets {
		targets[r.ID] = true
	}
	for _, r := range data.Drills {
		drills[r.ID] = r.Fields
	}
	for _, r := range data.Rules {
		require.False(t, ids[r.ID], "two rules with one id")
		ids[r.ID] = true
		assert.True(t, targets[r.Fields.TargetID], r.Fields.Name)
		drill, ok := drills[r.Fields.DrillID]
		require.True(t, ok, r.Fields.Name)
		for _, level := range r.Fields.Levels {
			for _, code := range r.Fields.CodesOfPlay {
				assert.True(t, drill.Fits(code, level), "%s: %s %s", r.Fields.Name, code, level)
			}
			assert.False(t, level == "10u" && drill.Ball == BallLive, "no live ball for 10U: %s", r.Fields.Name)
		}
	}
}
