package planning

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
	"cagework/domain/judgement"
)

func idOf(s string) domain.ID { return domain.NameID(domain.ID{}, s) }

// rate is a rate with a worth of shortfall tries a game.
func rate(code string, cause int, state domain.State, shortfall float64) judgement.Rate {
	return judgement.Rate{
		Target:     domain.Target{ID: idOf(code), Fields: domain.TargetFields{Code: code, Cause: cause}},
		CodeOfPlay: "mens_field", Level: "college",
		Games: 1, Tally: domain.Tally{Tries: 1}, Shortfall: shortfall, State: &state,
	}
}

func chosen(t *testing.T, rates ...judgement.Rate) (string, bool) {
	t.Helper()
	w := ChooseWorkOn(rates)
	require.NotNil(t, w)
	return w.Rate.Target.Fields.Code, w.EarlierCause
}

func TestChooseWorkOn(t *testing.T) {
	clear, leaning := domain.ClearGap, domain.LeaningBelow
	code, earlier := chosen(t, rate("small", 1, clear, .1), rate("large", 9, leaning, .5))
	assert.Equal(t, "large", code, "the one worth most, however early the other")
	assert.False(t, earlier)
	code, earlier = chosen(t, rate("later", 5, clear, 1), rate("earlier", 3, clear, .8))
	assert.Equal(t, "earlier", code, "at 20 % below the best it is worth about the same")
	assert.True(t, earlier)
	code, _ = chosen(t, rate("later", 5, clear, 1), rate("earlier", 3, clear, .79))
	assert.Equal(t, "later", code)
	code, _ = chosen(t, rate("b", 3, clear, 1), rate("a", 3, clear, 1))
	assert.Equal(t, "a", code, "the code settles what is level")
}

func TestNothingToWorkOn(t *testing.T) {
	assert.Nil(t, ChooseWorkOn(nil))
	unjudged := rate("unjudged", 1, domain.Met, 1)
	unjudged.State = nil
	rates := []judgement.Rate{unjudged}
	for _, s := range []domain.State{domain.NoData, domain.TooFew, domain.CantTell, domain.LeaningMet, domain.Met} {
		rates = append(rates, rate(string(s), 1, s, 1))
	}
	assert.Nil(t, ChooseWorkOn(rates))
}

func TestTheChoiceDoesNotHangOnTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rates []judgement.Rate
		for i := range rapid.IntRange(1, 6).Draw(t, "n") {
			rates = append(rates, rate(string(rune('a'+i)), rapid.IntRange(1, 3).Draw(t, "cause"),
				domain.ClearGap, rapid.Float64Range(0, 1).Draw(t, "worth")))
		}
		want := ChooseWorkOn(rates)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		r.Shuffle(len(rates), func(i, j int) { rates[i], rates[j] = rates[j], rates[i] })
		assert.Equal(t, want, ChooseWorkOn(rates))
	})
}

func drill(name string, ball domain.Ball, effort domain.Effort) domain.Drill {
	return domain.Drill{ID: idOf(name), Fields: domain.DrillFields{
		Name: name, Ball: ball, Effort: effort, Active: true,
		Levels: domain.Levels, CodesOfPlay: domain.CodesOfPlay,
	}}
}

func rule(name, target, drill string, priority, minutes int) domain.Rule {
	return domain.Rule{ID: idOf(name), Fields: domain.RuleFields{
		Name: name, TargetID: idOf(target), DrillID: idOf(drill), Priority: priority, Active: true,
		States: []domain.State{domain.ClearGap}, Levels: domain.Levels, CodesOfPlay: domain.CodesOfPlay,
		Dose: domain.Dose{Minutes: minutes, Repetitions: 10, TimesAWeek: 2},
	}}
}

func need(a domain.Availability, minutes int) Need {
	return Need{
		Goalie: domain.GoalieFields{Availability: a}, PracticeMinutes: minutes,
		Rates: []judgement.Rate{rate("low", 1, domain.ClearGap, 1)},
		Drills: []domain.Drill{
			drill("film", domain.BallNone, domain.Easy),
			drill("shadow", domain.BallNone, domain.Moderate),
			drill("shots", domain.BallLive, domain.Moderate),
		},
		Rules: []domain.Rule{
			rule("c", "low", "film", 30, 4), rule("b", "low", "shadow", 20, 5), rule("a", "low", "shots", 10, 10),
		},
	}
}

func TestTheFirstRuleThatPassesGivesTheDrill(t *testing.T) {
	plan := MakePlan(need(domain.Full, 20))
	assert.Equal(t, "shots", plan.Drill.Fields.Name)
	assert.Equal(t, "a", plan.Rule.Fields.Name)
	assert.Empty(t, plan.HeldBack)
}

func TestMinutesGate(t *testing.T) {
	plan := MakePlan(need(domain.Full, 10))
	assert.Equal(t, "shadow", plan.Drill.Fields.Name, "a dose of 10 minutes fits 10")
	assert.Equal(t, []HeldBack{{"shots", GateMinutes, "It takes 20 minutes a week; there are 10 practice minutes."}}, plan.HeldBack)
	plan = MakePlan(need(domain.Full, 0))
	assert.NotNil(t, plan.WorkOn)
	assert.Nil(t, plan.Drill)
	assert.Len(t, plan.HeldBack, 3, "nothing fits, each said")
}

func TestAvailabilityGate(t *testing.T) {
	plan := MakePlan(need(domain.Limited, 60))
	assert.Equal(t, "film", plan.Drill.Fields.Name)
	require.Len(t, plan.HeldBack, 2)
	for _, h := range plan.HeldBack {
		assert.Equal(t, GateAvailability, h.Gate)
	}
	plan = MakePlan(need(domain.Held, 60))
	assert.Nil(t, plan.WorkOn)
	assert.Nil(t, plan.Drill)
	require.Len(t, plan.HeldBack, 1)
	assert.Contains(t, plan.HeldBack[0].Why, "film included")
}

// No rule, drill or minutes may ever lift what the availability says.
func TestNoRuleLiftsTheAvailability(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := need(rapid.SampledFrom(domain.Availabilities).Draw(t, "availability"), rapid.IntRange(0, 200).Draw(t, "minutes"))
		for i := range n.Drills {
			n.Drills[i].Fields.Ball = rapid.SampledFrom(domain.Balls).Draw(t, "ball")
			n.Drills[i].Fields.Effort = rapid.SampledFrom(domain.Efforts).Draw(t, "effort")
			n.Rules[i].Fields.Priority = rapid.IntRange(1, 1000).Draw(t, "priority")
		}
		plan := MakePlan(n)
		switch {
		case plan.Drill == nil:
		case n.Goalie.Availability == domain.Held:
			t.Fatalf("a held goalie was given %s", plan.Drill.Fields.Name)
		case n.Goalie.Availability == domain.Limited:
			if plan.Drill.Fields.Ball != domain.BallNone || plan.Drill.Fields.Effort != domain.Easy {
				t.Fatalf("a limited goalie was given %+v", plan.Drill.Fields)
			}
		}
	})
}

func TestRulesThatDoNotApply(t *testing.T) {
	for name, change := range map[string]func(*Need){
		"inactive rule":      func(n *Need) { n.Rules[2].Fields.Active = false },
		"another target":     func(n *Need) { n.Rules[2].Fields.TargetID = idOf("other") },
		"another state":      func(n *Need) { n.Rules[2].Fields.States = []domain.State{domain.Met} },
		"another level":      func(n *Need) { n.Rules[2].Fields.Levels = []domain.Level{"10u"} },
		"another code":       func(n *Need) { n.Rules[2].Fields.CodesOfPlay = []domain.CodeOfPlay{"box"} },
		"inactive drill":     func(n *Need) { n.Drills[2].Fields.Active = false },
		"drill that misfits": func(n *Need) { n.Drills[2].Fields.Levels = []domain.Level{"10u"} },
		"drill that is gone": func(n *Need) { n.Drills = n.Drills[:2] },
	} {
		n := need(domain.Full, 60)
		change(&n)
		plan := MakePlan(n)
		require.NotNil(t, plan.Drill, name)
		assert.Equal(t, "shadow", plan.Drill.Fields.Name, name)
		assert.Empty(t, plan.HeldBack, name)
	}
}

func TestPracticeMinutes(t *testing.T) {
	team := func(minutes int) domain.Team { return domain.Team{Fields: domain.TeamFields{PracticeMinutes: minutes}} }
	assert.Equal(t, 0, PracticeMinutes(domain.GoalieFields{}, nil))
	assert.Equal(t, 40, PracticeMinutes(domain.GoalieFields{}, []domain.Team{team(20), team(40)}))
	own := 0
	assert.Equal(t, 0, PracticeMinutes(domain.GoalieFields{PracticeMinutes: &own}, []domain.Team{team(20)}))
}
