package domain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// lintScene is two rules for one target, the second of which is checked; as it stands there is nothing to find.
type lintScene struct {
	first, rule Rule
	targets     []Target
	drills      []Drill
}

func newLintScene() *lintScene {
	target := func(name string) Target {
		return Target{ID: NameID(ID{}, name), Fields: TargetFields{
			Code: name, Active: true, Rates: []TargetRate{{CodeOfPlay: "mens_field", Level: "12u", Rate: .5}},
		}}
	}
	drill := func(name string, ball Ball) Drill {
		return Drill{ID: NameID(ID{}, name), Fields: DrillFields{
			Code: name, Active: true, Ball: ball, Effort: Moderate, Levels: []Level{"12u", "14u"}, CodesOfPlay: []CodeOfPlay{"mens_field"},
		}}
	}
	s := &lintScene{targets: []Target{target("low"), target("set")}, drills: []Drill{drill("shadow", BallNone), drill("called", BallLive)}}
	rule := func(name string, priority int, drill Drill) Rule {
		return Rule{ID: NameID(ID{}, name), Fields: RuleFields{
			Name: name, TargetID: &s.targets[0].ID, States: []State{ClearGap, LeaningBelow}, Levels: []Level{"12u"},
			CodesOfPlay: []CodeOfPlay{"mens_field"}, SeasonPart: AnyPart, DrillID: &drill.ID, Dose: Dose{4, 20, 2}, Priority: priority, Active: true,
		}}
	}
	s.first, s.rule = rule("first", 10, s.drills[0]), rule("second", 20, s.drills[1])
	s.rule.Fields.AfterDrillIDs, s.rule.Fields.AfterSessions = []ID{s.drills[0].ID}, 2
	return s
}

func (s *lintScene) findings() []FieldError {
	return CheckRule(s.rule, []Rule{s.first, s.rule}, s.targets, s.drills)
}

func TestFindings(t *testing.T) {
	require.Equal(t, []FieldError{}, newLintScene().findings())
	for name, c := range map[string]struct {
		spoil           func(*lintScene)
		pointer, detail string
	}{
		"missing drill":     {func(s *lintScene) { s.drills = s.drills[:1] }, "/drill_id", "there is no such drill"},
		"inactive drill":    {func(s *lintScene) { s.drills[1].Fields.Active = false }, "/drill_id", "the drill is switched off"},
		"missing target":    {func(s *lintScene) { s.targets = s.targets[1:] }, "/target_id", "there is no such target"},
		"inactive target":   {func(s *lintScene) { s.targets[0].Fields.Active = false }, "/target_id", "the target is switched off, so it is never judged"},
		"missing also":      {func(s *lintScene) { s.rule.Fields.AlsoShortIDs = []ID{{1}} }, "/also_short_ids/0", "there is no such target"},
		"missing not":       {func(s *lintScene) { s.rule.Fields.NotShortIDs = []ID{{1}} }, "/not_short_ids/0", "there is no such target"},
		"level":             {func(s *lintScene) { s.rule.Fields.Levels = []Level{"12u", "10u"} }, "/levels/1", "the drill is not for 10u"},
		"code of play":      {func(s *lintScene) { s.rule.Fields.CodesOfPlay = []CodeOfPlay{"mens_field", "box"} }, "/codes_of_play/1", "the drill is not for box"},
		"live shots":        {func(s *lintScene) { s.rule.Fields.Repetitions = 41 }, "/repetitions", "is over the 40 live shots a practice that 12u starts with"},
		"minutes":           {func(s *lintScene) { s.rule.Fields.Minutes = 61 }, "/minutes", "is over 60 minutes a time"},
		"untried":           {func(s *lintScene) { s.first.Fields.Active = false }, "/after_drill_ids", "no rule for the same target gives one of these drills"},
		"untried elsewhere": {func(s *lintScene) { s.first.Fields.TargetID = &s.targets[1].ID }, "/after_drill_ids", "no rule for the same target gives one of these drills"},
		"no state":          {func(s *lintScene) { s.rule.Fields.States = []State{"grand"} }, "/states", "it speaks in no state"},
		"no season part":    {func(s *lintScene) { s.rule.Fields.SeasonPart = "post" }, "/season_part", "it speaks in no part of the season"},
		"no rate":           {func(s *lintScene) { s.rule.Fields.Levels = []Level{"14u"} }, "/target_id", "the target has no rate to reach for any of the rule's levels and codes of play"},
		"alone and not": {func(s *lintScene) { s.rule.Fields.OnlyShort, s.rule.Fields.AlsoShortIDs = true, []ID{s.targets[1].ID} },
			"/only_short", "no other target may fall short, and yet one of also_short_ids must"},
		"not itself": {func(s *lintScene) {
			s.rule.Fields.States, s.rule.Fields.NotShortIDs = []State{ClearGap}, []ID{s.targets[0].ID}
		}, "/not_short_ids/0", "it speaks only while its own target is a clear gap"},
		"shadowed": {func(s *lintScene) { s.rule.Fields.AfterDrillIDs, s.rule.Fields.AfterSessions = nil, 0 },
			"/priority", `the rule "first" comes first whenever this one could speak`},
	} {
		s := newLintScene()
		c.spoil(s)
		assert.Equal(t, []FieldError{{c.pointer, c.detail}}, s.findings(), name)
	}
}

func TestSoftBallsDoNotCountAsLive(t *testing.T) {
	s := newLintScene()
	s.rule.Fields.Repetitions = 41
	s.drills[1].Fields.SoftLevels = []Level{"12u"}
	assert.Empty(t, s.findings())
}

func TestARuleThatIsOffIsNotAsked(t *testing.T) {
	s := newLintScene()
	s.drills = nil
	s.rule.Fields.Active = false
	assert.Equal(t, []FieldError{}, s.findings())
}

// TestNotShadowed goes through what gives a later rule its turn all the same.
func TestNotShadowed(t *testing.T) {
	for name, free := range map[string]func(s *lintScene, first, second *RuleFields){
		"another state":     func(_ *lintScene, first, _ *RuleFields) { first.States = []State{ClearGap} },
		"another level":     func(_ *lintScene, first, _ *RuleFields) { first.Levels = []Level{"14u"} },
		"another code":      func(_ *lintScene, first, _ *RuleFields) { first.CodesOfPlay = []CodeOfPlay{"womens_field"} },
		"another part":      func(_ *lintScene, first, _ *RuleFields) { first.SeasonPart = InSeason },
		"another target":    func(s *lintScene, first, _ *RuleFields) { first.TargetID = &s.targets[1].ID },
		"any target":        func(_ *lintScene, first, _ *RuleFields) { first.TargetID = nil },
		"the same priority": func(_ *lintScene, first, _ *RuleFields) { first.Priority = 20 },
		"off":               func(_ *lintScene, first, _ *RuleFields) { first.Active = false },
		"asks for practice": func(s *lintScene, first, _ *RuleFields) {
			first.AfterDrillIDs, first.AfterSessions = []ID{s.drills[0].ID}, 1
		},
		"asks for blocks":        func(_ *lintScene, first, _ *RuleFields) { first.AfterBlocks = 1 },
		"asks for another gap":   func(s *lintScene, first, _ *RuleFields) { first.AlsoShortIDs = []ID{s.targets[1].ID} },
		"asks for no other gap":  func(s *lintScene, first, _ *RuleFields) { first.NotShortIDs = []ID{s.targets[1].ID} },
		"asks for no gap at all": func(_ *lintScene, first, _ *RuleFields) { first.OnlyShort = true },
		"for the shy":            func(_ *lintScene, first, _ *RuleFields) { first.ForShy = true },
		"less time":              func(_ *lintScene, _, second *RuleFields) { second.Minutes = 3 },
		"fewer repetitions":      func(_ *lintScene, _, second *RuleFields) { second.Repetitions = 10 },
		"a softer ball": func(s *lintScene, _, _ *RuleFields) {
			s.drills[0].Fields.Ball, s.drills[1].Fields.Ball = BallLive, BallSoft
		},
		"less effort":            func(s *lintScene, _, _ *RuleFields) { s.drills[0].Fields.Effort = Hard },
		"no team":                func(s *lintScene, _, _ *RuleFields) { s.drills[0].Fields.Team = true },
		"its drill is off":       func(s *lintScene, _, _ *RuleFields) { s.drills[0].Fields.Active = false },
		"its drill does not fit": func(s *lintScene, _, _ *RuleFields) { s.drills[0].Fields.Levels = []Level{"14u"} },
	} {
		s := newLintScene()
		s.rule.Fields.AfterDrillIDs, s.rule.Fields.AfterSessions = nil, 0
		require.Len(t, s.findings(), 1)
		free(s, &s.first.Fields, &s.rule.Fields)
		assert.Empty(t, s.findings(), name)
	}
}
