package domain

import (
	"bytes"
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestStarterDataIsValid(t *testing.T) {
	program := NameID(ID{}, "a program")
	data := Starter(program)
	require.Len(t, data.Competitions, 18)
	require.Len(t, data.Habits, 13)
	require.Len(t, data.Targets, 28)
	require.Len(t, data.Drills, 30)
	require.Len(t, data.Rules, 59)
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
	ids := map[ID]bool{}
	for _, r := range data.Rules {
		require.False(t, ids[r.ID], "two rules with one id")
		ids[r.ID] = true
		if r.Fields.Active {
			continue // TestStarterRulesHaveNoFindings holds it
		}
		assert.Equal(t, []CodeOfPlay{"box"}, r.Fields.CodesOfPlay, "%s: only box waits for rates of its own", r.Fields.Name)
	}
}

func TestStarterRulesHaveNoFindings(t *testing.T) {
	data := Starter(NameID(ID{}, "a program"))
	for _, r := range data.Rules {
		assert.Empty(t, CheckRule(r, data.Rules, data.Targets, data.Drills), r.Fields.Name)
	}
}

func TestStarterKeepsLiveBallsFromTheYoungest(t *testing.T) {
	data := Starter(NameID(ID{}, "a program"))
	for _, d := range data.Drills {
		if slices.Contains(d.Fields.Levels, "10u") {
			assert.NotEqual(t, BallLive, d.Fields.BallAt("10u"), d.Fields.Code)
		}
		for _, level := range d.Fields.SoftLevels {
			assert.Contains(t, d.Fields.Levels, level, d.Fields.Code)
		}
		thrown := d.Fields.Ball == BallSoft || d.Fields.Ball == BallLive
		care := strings.Join(d.Fields.Cautions, " ")
		assert.Contains(t, care, "One shooter and one ball", d.Fields.Code)
		assert.Contains(t, care, "Heat, lightning", d.Fields.Code)
		for _, words := range []string{"head or throat", "concussion", "CPR", "thumb"} {
			assert.Equal(t, thrown, strings.Contains(care, words), "%s: %s", d.Fields.Code, words)
		}
	}
}

func TestStarterTargetsComeInTheOrderOfCauses(t *testing.T) {
	off := []string{"clean_look", "stick_beat_ball", "sealed_pipe", "outlet_after_save"}
	for _, r := range Starter(ID{}).Targets {
		f := r.Fields
		saves := len(f.Hit) == 1 && f.Hit[0].Field == "outcome"
		assert.Equal(t, saves, f.Cause >= 70, "%s: what causes a save is worked on before the save", f.Code)
		assert.Equal(t, !slices.Contains(off, f.Code), f.Active, f.Code)
		assert.NotEmpty(t, f.Cue, f.Code)
		for _, rate := range f.Rates {
			assert.NotEqual(t, CodeOfPlay("box"), rate.CodeOfPlay, "box starts from a program's own season")
			assert.Contains(t, rate.Source, "from memory")
		}
	}
}
