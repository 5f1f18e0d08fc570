package planning

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
)

func idOf(s string) domain.ID { return domain.NameID(domain.ID{}, s) }

// rate is a rate with a worth of shortfall tries a game.
func rate(code string, cause int, state domain.State, shortfall float64) judgement.Rate {
	return judgement.Rate{
		Target:     domain.Target{ID: idOf(code), Fields: domain.TargetFields{Code: code, Cause: cause}},
		CodeOfPlay: "mens_field", Level: "college",
		Games: 1, Tally: domain.Tally{Tries: 1}, Shortfall: shortfall, State: &state, Listed: true,
	}
}

// byShortfall stands for the judgement: what is kept first, then the larger shortfalls, a target once.
func byShortfall(kept, short []judgement.Rate, most int) []judgement.Gap {
	var out []judgement.Gap
	add := func(r judgement.Rate, keep bool) {
		if len(out) < most && !slices.ContainsFunc(out, func(g judgement.Gap) bool { return g.Rate.Target.ID == r.Target.ID }) {
			out = append(out, judgement.Gap{Rate: r, Kept: keep})
		}
	}
	for _, r := range kept {
		add(r, true)
	}
	for _, r := range slices.SortedFunc(slices.Values(short), func(a, b judgement.Rate) int {
		return cmp.Or(cmp.Compare(b.Shortfall, a.Shortfall), cmp.Compare(a.Target.Fields.Code, b.Target.Fields.Code),
			judgement.ComparePlays(a, b))
	}) {
		add(r, false)
	}
	return out
}

func TestOnlyWhatFallsShortIsOrdered(t *testing.T) {
	n := need(domain.Full, 60)
	unjudged, unlisted := rate("unjudged", 1, domain.Met, 1), rate("unlisted", 1, domain.ClearGap, 1)
	unjudged.State, unlisted.Listed = nil, false
	n.Rates = append(n.Rates, unjudged, unlisted)
	for _, s := range []domain.State{domain.NoData, domain.TooFew, domain.CantTell, domain.LeaningMet, domain.Met} {
		n.Rates = append(n.Rates, rate(string(s), 1, s, 1))
	}
	assert.Equal(t, []string{"low"}, targetsOf(ChooseWorkOns(n)))
	n.Rates = n.Rates[1:]
	assert.Empty(t, ChooseWorkOns(n))
}

func drill(name string, ball domain.Ball, effort domain.Effort) domain.Drill {
	return domain.Drill{ID: idOf(name), Fields: domain.DrillFields{
		Name: name, Ball: ball, Effort: effort, Active: true,
		Levels: domain.Levels, CodesOfPlay: domain.CodesOfPlay,
	}}
}

func rule(name, target, drill string, priority, minutes int) domain.Rule {
	return domain.Rule{ID: idOf(name), Fields: domain.RuleFields{
		Name: name, TargetID: new(idOf(target)), DrillID: new(idOf(drill)), Priority: priority, Active: true,
		States: []domain.State{domain.ClearGap, domain.LeaningBelow}, Levels: domain.Levels, CodesOfPlay: domain.CodesOfPlay,
		SeasonPart: domain.AnyPart, Dose: domain.Dose{Minutes: minutes, Repetitions: 10, TimesAWeek: 2},
	}}
}

var week = domain.Week{Year: 2026, Number: 15} // Monday 6 to Sunday 12 April

func day(t *testing.T, s string) domain.Date {
	t.Helper()
	d, err := domain.ParseDate(s)
	require.NoError(t, err)
	return d
}

// logged is a practice on a day of April 2026 in which drills were done.
func logged(april int, drills ...string) domain.PracticeLog {
	f := domain.PracticeLogFields{PractisedOn: domain.Date{Year: 2026, Month: 4, Day: april}}
	for _, d := range drills {
		f.Done = append(f.Done, domain.PracticeDone{DrillID: idOf(d), Repetitions: 10})
	}
	return domain.PracticeLog{ID: idOf(f.PractisedOn.String()), Fields: f}
}

func game(april int) domain.Game {
	return domain.Game{Fields: domain.GameFields{PlayedOn: domain.Date{Year: 2026, Month: 4, Day: april}, Kind: domain.KindGame}}
}

// need is a goalie with one gap and three drills for it, of which the shadow was done before, so that live shots may
// follow.
func need(a domain.Availability, minutes int) Need {
	return Need{
		Goalie: domain.GoalieFields{Availability: a}, PracticeMinutes: minutes, Week: week,
		Budget: &Budget{Budget: domain.Budget{Session: 120, Week: 400}},
		Rates:  []judgement.Rate{rate("low", 1, domain.ClearGap, 1)},
		Order:  byShortfall,
		Drills: []domain.Drill{
			drill("film", domain.BallNone, domain.Easy),
			drill("shadow", domain.BallNone, domain.Moderate),
			drill("shots", domain.BallLive, domain.Moderate),
		},
		Rules: []domain.Rule{
			rule("c", "low", "film", 30, 4), rule("b", "low", "shadow", 20, 5), rule("a", "low", "shots", 10, 10),
		},
		Logs: []domain.PracticeLog{logged(1, "shadow")},
	}
}

// drillsOf names the drills of a plan, work-on by work-on.
func drillsOf(p Plan) []string {
	var out []string
	for _, w := range p.WorkOns {
		for _, d := range w.Drills {
			out = append(out, d.Drill.Fields.Name)
		}
	}
	return out
}

func heldBy(p Plan, drill string) Gate {
	for _, h := range p.HeldBack {
		if h.What == drill {
			return h.Gate
		}
	}
	return ""
}

func TestTheFirstRulesThatPassGiveTheDrills(t *testing.T) {
	plan := MakePlan(need(domain.Full, 40))
	assert.Equal(t, []string{"shots", "shadow"}, drillsOf(plan), "two at most")
	assert.Equal(t, "a", plan.WorkOns[0].Drills[0].Rule.Fields.Name)
	assert.Empty(t, plan.HeldBack)
}

func TestMinutesGate(t *testing.T) {
	plan := MakePlan(need(domain.Full, 10))
	assert.Equal(t, []string{"shadow"}, drillsOf(plan), "a dose of 10 minutes fits 10")
	assert.Equal(t, HeldBack{"shots", "", GateMinutes, "It takes 20 minutes a week; 10 of 10 practice minutes are left."}, plan.HeldBack[0])
	assert.Equal(t, GateMinutes, heldBy(plan, "film"), "nothing is left for it")
	plan = MakePlan(need(domain.Full, 0))
	assert.Len(t, plan.WorkOns, 1)
	assert.Len(t, plan.HeldBack, 3, "nothing fits, each said")
}

func TestAvailabilityGate(t *testing.T) {
	n := need(domain.Limited, 60)
	plan := MakePlan(n)
	assert.Equal(t, []string{"film"}, drillsOf(plan))
	require.Len(t, plan.HeldBack, 2)
	for _, h := range plan.HeldBack {
		assert.Equal(t, GateAvailability, h.Gate)
	}
	n.Goalie.AllowedDrillIDs = []domain.ID{idOf("shadow")}
	assert.Equal(t, []string{"shadow", "film"}, drillsOf(MakePlan(n)))
	n.Goalie.Availability = domain.Held
	plan = MakePlan(n)
	assert.Empty(t, plan.WorkOns)
	assert.Empty(t, plan.ReadingList)
	require.Len(t, plan.HeldBack, 1)
	assert.Contains(t, plan.HeldBack[0].Why, "film included")
}

// Each case changes a need in which "shots" would be the first drill, so that one gate stops it.
func TestEachGateStopsWhatItIsFor(t *testing.T) {
	for name, c := range map[string]struct {
		gate   Gate
		why    string
		change func(*Need)
	}{
		"level": {GateLevel, "is not for", func(n *Need) { n.Drills[2].Fields.Levels = []domain.Level{"10u"} }},
		"age band": {GateLevel, "14u", func(n *Need) {
			n.Goalie.AgeBand = new(domain.Level("14u"))
			n.Drills[2].Fields.Levels = []domain.Level{"college"}
		}},
		"code of play": {GateLevel, "mens field", func(n *Need) { n.Drills[2].Fields.CodesOfPlay = []domain.CodeOfPlay{"box"} }},
		"dropped":      {GateDropped, "from 6 April to 19 April. Reason: no wall.", func(n *Need) { n.Assignments = []domain.Assignment{dropped(15, 2)} }},
		"dropped twice": {GateDropped, "from 13 April to 26 April. Reason: no wall.", func(n *Need) {
			n.Assignments = []domain.Assignment{dropped(16, 2), dropped(15, 2)}
		}},
		"refused for next week":    {GateDropped, "from 13 April", func(n *Need) { n.Assignments = []domain.Assignment{dropped(16, 1)} }},
		"dropped in its last week": {GateDropped, "to 12 April", func(n *Need) { n.Assignments = []domain.Assignment{dropped(13, 3)} }},
		"sessions before": {GateTriedBefore, "after 2 practices of: shadow; in the last four weeks there were 1", func(n *Need) {
			n.Rules[2].Fields.AfterDrillIDs, n.Rules[2].Fields.AfterSessions = []domain.ID{idOf("shadow")}, 2
		}},
		"blocks before":  {GateTriedBefore, "after 1 finished block", func(n *Need) { n.Rules[2].Fields.AfterBlocks = 1 }},
		"shies":          {GateOneBallDown, "One ball down", func(n *Need) { n.Goalie.ShiesFromBall = true }},
		"step not done":  {GateSoftStep, "film, shadow", func(n *Need) { n.Logs = nil }},
		"step long ago":  {GateSoftStep, "last four weeks", func(n *Need) { n.Logs[0].Fields.PractisedOn = week.Sunday().AddDays(-28) }},
		"no step at all": {GateSoftStep, "has none", func(n *Need) { n.Rules = n.Rules[2:] }},
		"hard, no day": {GateGameDay, "14 April, 16 April, 18 April, 19 April", func(n *Need) {
			n.Drills[2].Fields.Effort = domain.Hard
			n.NextGames = []domain.Game{game(14), game(16), game(18), game(19)}
		}},
		"week's shots":    {GateLiveShots, "takes 20 live shots a week; 19 of 119 are left", func(n *Need) { n.Budget = &Budget{Budget: domain.Budget{Session: 120, Week: 119}, Used: 100} }},
		"overdrawn":       {GateLiveShots, "0 of 50 are left", func(n *Need) { n.Budget = &Budget{Budget: domain.Budget{Session: 120, Week: 50}, Used: 100} }},
		"session's shots": {GateLiveShots, "takes 10 live shots a session; 9 of 9", func(n *Need) { n.Budget.Session = 9 }},
		"half a session": {GateLiveShots, "5 of 11 are left, half of them on the day before a game", func(n *Need) {
			n.Budget.Session = 11
			n.NextGames = []domain.Game{game(14), game(16), game(18), game(19)}
		}},
		"no budget": {GateLiveShots, "No live-shot budget", func(n *Need) { n.Budget = nil }},
	} {
		n := need(domain.Full, 60)
		n.Rates[0].Target.Fields.Name = "Low"
		c.change(&n)
		plan := MakePlan(n)
		assert.NotContains(t, drillsOf(plan), "shots", name)
		if assert.NotEmpty(t, plan.HeldBack, name) {
			assert.Equal(t, c.gate, plan.HeldBack[0].Gate, name)
			assert.Contains(t, plan.HeldBack[0].Why, c.why, name)
			assert.Equal(t, "Low", plan.HeldBack[0].For, name)
		}
	}
}

func TestADayBeforeAGameIsNoted(t *testing.T) {
	n := need(domain.Full, 60)
	n.NextGames = []domain.Game{game(18), game(14)}
	plan := MakePlan(n)
	require.Equal(t, []string{"shots", "shadow"}, drillsOf(plan))
	assert.Equal(t, []string{"Not on the day before a game (14 April, 18 April): no hard drill, half the live shots."}, plan.WorkOns[0].Drills[0].Notes)
	assert.Empty(t, plan.WorkOns[0].Drills[1].Notes)
}

func TestALiveDrillIsSoftWhereTheLevelSaysSo(t *testing.T) {
	n := need(domain.Full, 60)
	n.Goalie.AgeBand = new(domain.Level("10u"))
	n.Drills[2].Fields.SoftLevels = []domain.Level{"10u"}
	n.Logs, n.Budget = []domain.PracticeLog{logged(1, "film", "shadow", "shots")}, &Budget{}
	plan := MakePlan(n)
	require.Equal(t, []string{"shots", "shadow"}, drillsOf(plan), "no budget is asked for")
	assert.Equal(t, domain.BallSoft, plan.WorkOns[0].Drills[0].Ball)
}

func TestOneNewMovementAWeekForChildren(t *testing.T) {
	n := need(domain.Full, 60)
	n.Rules = n.Rules[:2] // film and shadow
	n.Logs = nil
	assert.Equal(t, []string{"shadow", "film"}, drillsOf(MakePlan(n)), "a college goalie learns both")
	n.Goalie.AgeBand = new(domain.Level("14u"))
	plan := MakePlan(n)
	assert.Equal(t, []string{"shadow"}, drillsOf(plan))
	assert.Equal(t, GateNewMovement, heldBy(plan, "film"))
	n.Logs = []domain.PracticeLog{logged(1, "film")}
	assert.Equal(t, []string{"shadow", "film"}, drillsOf(MakePlan(n)))
}

func TestWorkOnsShareTheMinutesInOrder(t *testing.T) {
	n := need(domain.Full, 18)
	n.Rates = append(n.Rates, rate("high", 2, domain.ClearGap, .5), rate("mid", 3, domain.ClearGap, .3), rate("last", 4, domain.ClearGap, .1))
	n.Drills = append(n.Drills, drill("hands", domain.BallSoft, domain.Moderate))
	n.Rules = []domain.Rule{
		rule("a", "low", "film", 10, 4), rule("b", "low", "hands", 20, 5),
		rule("c", "high", "film", 10, 4), rule("d", "high", "shadow", 20, 5), rule("e", "mid", "hands", 10, 5),
	}
	plan := MakePlan(n)
	require.Len(t, plan.WorkOns, MaxWorkOns)
	assert.Equal(t, []string{"film", "shadow"}, drillsOf(plan), "each its first before the first its second")
	assert.Equal(t, GateGiven, heldBy(plan, "film"))
	assert.Equal(t, GateMinutes, heldBy(plan, "hands"))
}

func TestRulesThatDoNotApply(t *testing.T) {
	for name, change := range map[string]func(*Need){
		"inactive rule":     func(n *Need) { n.Rules[2].Fields.Active = false },
		"another target":    func(n *Need) { n.Rules[2].Fields.TargetID = new(idOf("other")) },
		"another state":     func(n *Need) { n.Rules[2].Fields.States = []domain.State{domain.Met} },
		"another level":     func(n *Need) { n.Rules[2].Fields.Levels = []domain.Level{"10u"} },
		"another code":      func(n *Need) { n.Rules[2].Fields.CodesOfPlay = []domain.CodeOfPlay{"box"} },
		"before the season": func(n *Need) { n.InSeason, n.Rules[2].Fields.SeasonPart = true, domain.PreSeason },
		"in the season":     func(n *Need) { n.Rules[2].Fields.SeasonPart = domain.InSeason },
		"another short too": func(n *Need) { n.Rules[2].Fields.AlsoShortIDs = []domain.ID{idOf("set")} },
		"another no clear gap": func(n *Need) {
			n.Rules[2].Fields.NotShortIDs = []domain.ID{idOf("high")}
			n.Rates = append(n.Rates, rate("high", 9, domain.ClearGap, .01))
		},
		"no other short": func(n *Need) {
			n.Rules[2].Fields.OnlyShort = true
			n.Rates = append(n.Rates, rate("high", 9, domain.LeaningBelow, .01))
		},
		"for who shies":      func(n *Need) { n.Rules[2].Fields.ForShy = true },
		"only advice":        func(n *Need) { n.Rules[2].Fields.DrillID = nil },
		"inactive drill":     func(n *Need) { n.Drills[2].Fields.Active = false },
		"drill that is gone": func(n *Need) { n.Drills = n.Drills[:2] },
	} {
		n := need(domain.Full, 60)
		change(&n)
		plan := MakePlan(n)
		assert.Equal(t, []string{"shadow", "film"}, drillsOf(plan), name)
		assert.Empty(t, plan.HeldBack, name)
	}
}

func TestConditionsThatHold(t *testing.T) {
	for name, change := range map[string]func(*Need){
		"before the season": func(n *Need) { n.Rules[2].Fields.SeasonPart = domain.PreSeason },
		"in the season":     func(n *Need) { n.InSeason, n.Rules[2].Fields.SeasonPart = true, domain.InSeason },
		"another short too": func(n *Need) {
			n.Rules[2].Fields.AlsoShortIDs = []domain.ID{idOf("high")}
			n.Rates = append(n.Rates, rate("high", 9, domain.LeaningBelow, .01))
		},
		"only leaning": func(n *Need) {
			n.Rules[2].Fields.NotShortIDs = []domain.ID{idOf("high")}
			n.Rates = append(n.Rates, rate("high", 9, domain.LeaningBelow, .01))
		},
		"no other short": func(n *Need) { n.Rules[2].Fields.OnlyShort = true },
		"any target":     func(n *Need) { n.Rules[2].Fields.TargetID = nil },
		"sessions done": func(n *Need) {
			n.Rules[2].Fields.AfterDrillIDs, n.Rules[2].Fields.AfterSessions = []domain.ID{idOf("shadow")}, 1
		},
		"a block done": func(n *Need) {
			n.Rules[2].Fields.AfterBlocks = 1
			n.Assignments = []domain.Assignment{block(2, 1, "low", "film", domain.Finished)}
		},
		"a rule that is out": func(n *Need) {
			n.Rules = append(n.Rules, rule("z", "low", "film", 1, 4))
			n.Rules[3].Fields.Active = false
		},
	} {
		n := need(domain.Full, 60)
		change(&n)
		assert.Equal(t, "shots", drillsOf(MakePlan(n))[0], name)
	}
}

func TestATargetIsWorkedOnOnce(t *testing.T) {
	box := rate("low", 1, domain.ClearGap, .5)
	box.CodeOfPlay = "box"
	n := need(domain.Full, 60)
	n.Rates = append(n.Rates, box)
	require.Len(t, ChooseWorkOns(n), 1)
	n.Rates[0].State = new(domain.Met)
	n.Assignments = []domain.Assignment{block(14, 3, "low", "film", domain.Assigned)}
	kept := ChooseWorkOns(n)
	require.Len(t, kept, 1)
	assert.EqualValues(t, "box", kept[0].Rate.CodeOfPlay, "it is met in the other")
}

func TestAdviceWithoutADrill(t *testing.T) {
	n := need(domain.Full, 60)
	n.Rates = append(n.Rates, rate("high", 2, domain.TooFew, 0), rate("mid", 2, domain.NoData, 0))
	advice := rule("read", "", "", 60, 0)
	advice.Fields.TargetID, advice.Fields.DrillID, advice.Fields.Dose = nil, nil, domain.Dose{}
	advice.Fields.States, advice.Fields.Advice = []domain.State{domain.TooFew, domain.NoData}, "Read it."
	n.Rules = append(n.Rules, advice)
	// A rule with a drill for such a state gives none.
	n.Rules = append(n.Rules, rule("never", "high", "film", 1, 4))
	n.Rules[4].Fields.States = []domain.State{domain.TooFew}
	plan := MakePlan(n)
	require.Len(t, plan.Advice, 1)
	assert.Len(t, plan.Advice[0].Rates, 2)
	require.Len(t, plan.WorkOns, 1)
	n.Goalie.Availability = domain.Held
	assert.Empty(t, MakePlan(n).Advice)
}

func TestBudget(t *testing.T) {
	team := func(session, week *int) domain.Team {
		return domain.Team{Fields: domain.TeamFields{LiveShotsSession: session, LiveShotsWeek: week}}
	}
	start := budgetOf(nil, "14u")
	require.NotNil(t, start)
	assert.Equal(t, budgetOf([]domain.Team{team(nil, nil)}, "14u"), start)
	own := budgetOf([]domain.Team{team(new(10), new(30)), team(new(20), new(25))}, "14u")
	assert.Equal(t, &Budget{Budget: domain.Budget{Session: 10, Week: 25}, Source: "set by the team"}, own)
	assert.Equal(t, 10, budgetOf([]domain.Team{team(new(10), nil)}, "14u").Session)
	assert.Equal(t, start.Week, budgetOf([]domain.Team{team(new(10), nil)}, "14u").Week)
	assert.Equal(t, 0, budgetOf([]domain.Team{team(nil, new(0))}, "14u").Session, "no session has more than its week")
	assert.Nil(t, budgetOf([]domain.Team{team(new(10), nil)}, ""))
	assert.NotNil(t, budgetOf([]domain.Team{team(new(10), new(10))}, ""))

	shot := func(april int, kind domain.GameKind, outcome domain.Outcome) *domain.CountedShot {
		g := game(april)
		g.Fields.Kind = kind
		return &domain.CountedShot{Game: g, Shot: domain.Shot{Fields: domain.ShotFields{Outcome: outcome}}}
	}
	faced := domain.FacedRecords{Shots: []*domain.CountedShot{
		shot(6, domain.KindGame, domain.Goal), shot(12, domain.KindScrimmage, domain.Save), // two
		shot(5, domain.KindGame, domain.Goal), shot(6, domain.KindPractice, domain.Goal), shot(6, domain.KindGame, domain.Wide),
	}}
	log := logged(12, "shots")
	log.Fields.TeamShots, log.Fields.Done[0].LiveShots = 30, 8
	old := logged(5, "shots")
	old.Fields.TeamShots = 99
	b := BudgetOf(nil, "14u", faced, []domain.PracticeLog{log, old}, week)
	assert.Equal(t, 40, b.Used)
	assert.Equal(t, max(0, b.Week-40), b.Left())
	assert.Nil(t, BudgetOf(nil, "", faced, nil, week))
	assert.EqualValues(t, "12u", LevelOf(domain.GoalieFields{AgeBand: new(domain.Level("12u"))}, []domain.Level{"10u"}))
	assert.EqualValues(t, "14u", LevelOf(domain.GoalieFields{}, []domain.Level{"college", "14u"}))
	assert.Empty(t, LevelOf(domain.GoalieFields{}, nil))
}

func TestInSeason(t *testing.T) {
	on := func(april int, kind domain.GameKind) domain.FacedRecords {
		g := game(april)
		g.Fields.Kind = kind
		return domain.FacedRecords{Stints: []domain.CountedStint{{Game: g}}}
	}
	seasons := []domain.Season{{Fields: domain.SeasonFields{StartsOn: day(t, "2026-04-03"), EndsOn: day(t, "2026-06-01")}}}
	assert.True(t, InSeason(on(3, domain.KindGame), seasons, week))
	assert.False(t, InSeason(on(2, domain.KindGame), seasons, week))
	assert.False(t, InSeason(on(13, domain.KindGame), seasons, week))
	assert.False(t, InSeason(on(4, domain.KindScrimmage), seasons, week))
	assert.True(t, InSeason(on(2, domain.KindGame), nil, week))
}

func TestReadingList(t *testing.T) {
	habit := func(code string, cause int) domain.Habit {
		return domain.Habit{ID: idOf(code), Fields: domain.HabitFields{Code: code, Cause: cause, Active: true, CodesOfPlay: []domain.CodeOfPlay{"mens_field"}}}
	}
	n := need(domain.Full, 60)
	n.Habits = []domain.Habit{habit("a", 1), habit("b", 2), habit("c", 3), habit("set_before_release", 4), habit("x", 5), habit("y", 6)}
	n.Habits[4].Fields.Active = false
	n.Habits[5].Fields.CodesOfPlay = []domain.CodeOfPlay{"box"}
	n.Rates[0].Target.Fields.Hit = []domain.Clause{{Field: "b", Is: "yes"}}
	codes := func(list []ToRead) string {
		var out []string
		for _, t := range list {
			out = append(out, t.Habit.Fields.Code+" "+string(t.Why))
		}
		return strings.Join(out, ", ")
	}
	assert.Equal(t, "set_before_release always, b work_on, c in_turn", codes(MakePlan(n).ReadingList), "15 is odd")
	n.Week.Number = 16
	assert.Equal(t, "set_before_release always, b work_on, a in_turn", codes(MakePlan(n).ReadingList))
	seldom := rate("seldom", 1, domain.NoData, 0)
	seldom.Target.Fields.Hit = []domain.Clause{{Field: "c", Is: "yes"}}
	n.Rates = append(n.Rates, seldom)
	assert.Equal(t, "set_before_release always, b work_on, c too_few", codes(MakePlan(n).ReadingList))

	read := func(gameNo int, answers map[string]domain.Answer) *domain.CountedShot {
		s := &domain.CountedShot{Game: domain.Game{ID: idOf(fmt.Sprint(gameNo)), Fields: domain.GameFields{Kind: domain.KindGame}}}
		s.Competition.CodeOfPlay = "mens_field"
		if answers != nil {
			s.Reading = &domain.Reading{Fields: domain.ReadingFields{Habits: answers}}
		}
		return s
	}
	yes, unseen := map[string]domain.Answer{"set_before_release": domain.Yes}, map[string]domain.Answer{"set_before_release": domain.NotSeen}
	n.Faced.Shots = []*domain.CountedShot{read(1, yes), read(2, yes), read(2, nil), read(3, unseen), read(4, yes), read(4, yes)}
	first := MakePlan(n).ReadingList[0]
	assert.Equal(t, []int{3, 5, 4, 1}, []int{first.Games, first.Shots, first.Read, first.NotSeen}, "of the last three games")
}

func TestWentWell(t *testing.T) {
	with := func(code string, state domain.State, rateIs, aim float64) judgement.Rate {
		r := rate(code, 1, state, 0)
		r.Rate, r.TargetRate = &rateIs, &aim
		return r
	}
	var codes []string
	for _, r := range WentWell([]judgement.Rate{
		with("a", domain.LeaningMet, .6, .5), with("b", domain.Met, .9, .5), with("c", domain.CantTell, .99, .5), with("d", domain.Met, .8, .5),
		rate("unjudged", 1, domain.Met, 0),
	}) {
		codes = append(codes, r.Target.Fields.Code)
	}
	assert.Equal(t, []string{"b", "d"}, codes)
	assert.Empty(t, WentWell(nil))
}

func TestPracticeMinutes(t *testing.T) {
	team := func(minutes int) domain.Team { return domain.Team{Fields: domain.TeamFields{PracticeMinutes: minutes}} }
	assert.Equal(t, 0, PracticeMinutes(domain.GoalieFields{}, nil))
	assert.Equal(t, 40, PracticeMinutes(domain.GoalieFields{}, []domain.Team{team(20), team(40)}))
	own := 0
	assert.Equal(t, 0, PracticeMinutes(domain.GoalieFields{PracticeMinutes: &own}, []domain.Team{team(20)}))
}
