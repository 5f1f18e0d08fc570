package domain

import (
	"embed"
	"encoding/json"
)

// starterFiles hold the starter data, one file a noun; rules name their target and drill by code.
//
//go:embed starter/*.json
var starterFiles embed.FS

// StarterData is what every program starts with. A program may change all of it.
type StarterData struct {
	Competitions []Competition
	Habits       []Habit
	Targets      []Target
	Drills       []Drill
	Rules        []Rule
}

// starterCompetition is a competition as the file has it.
type starterCompetition struct {
	Key string `json:"key"`
	CompetitionFields
}

// starterRule is a rule as the file has it. Most rows of the table speak of one target and give one drill; a row that
// speaks of two, or gives a second drill later, is two rules here. A live drill comes after a step with a soft ball or
// none for the same target; where the table names none, a rule gives one first. Nothing here asks whether a goalie is
// limited or held: no rule may decide that, the gates do, and the rules with little effort at the end leave them
// something to choose.
type starterRule struct {
	Code        string   `json:"code"`
	Target      string   `json:"target"` // "" is any
	Drill       string   `json:"drill"`  // "" is none
	AfterDrills []string `json:"after_drills"`
	AlsoShort   []string `json:"also_short"`
	NotShort    []string `json:"not_short"`
	RuleFields
}

// Starter gives the starter data for a program. Its ids are made from the program's, so that they are the same each
// time.
func Starter(program ID) StarterData {
	id := func(noun Noun, code string) ID { return NameID(program, string(noun)+":"+code) }
	ids := func(noun Noun, codes []string) []ID {
		out := make([]ID, len(codes))
		for i, code := range codes {
			out[i] = id(noun, code)
		}
		return out
	}
	var data StarterData
	for _, f := range starterFile[starterCompetition]("competitions") {
		data.Competitions = append(data.Competitions, Competition{ID: id(NounCompetition, f.Key), Fields: f.CompetitionFields})
	}
	for _, f := range starterFile[HabitFields]("habits") {
		data.Habits = append(data.Habits, Habit{ID: id(NounHabit, f.Code), Fields: f})
	}
	for _, f := range starterFile[TargetFields]("targets") {
		data.Targets = append(data.Targets, Target{ID: id(NounTarget, f.Code), Fields: f})
	}
	for _, f := range starterFile[DrillFields]("drills") {
		data.Drills = append(data.Drills, Drill{ID: id(NounDrill, f.Code), Fields: f})
	}
	for _, r := range starterFile[starterRule]("rules") {
		if r.Target != "" {
			r.TargetID = new(id(NounTarget, r.Target))
		}
		if r.Drill != "" {
			r.DrillID = new(id(NounDrill, r.Drill))
		}
		r.AfterDrillIDs = ids(NounDrill, r.AfterDrills)
		r.AlsoShortIDs, r.NotShortIDs = ids(NounTarget, r.AlsoShort), ids(NounTarget, r.NotShort)
		data.Rules = append(data.Rules, Rule{ID: id(NounRule, r.Code), Fields: r.RuleFields})
	}
	return data
}

// starterFile reads one file. It cannot fail: the files are embedded, and a test reads them strictly.
func starterFile[T any](name string) []T {
	data, _ := starterFiles.ReadFile("starter/" + name + ".json")
	var out []T
	_ = json.Unmarshal(data, &out)
	return out
}
