package planning

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"cagework/domain"
	"cagework/domain/judgement"
)

var inventedTargets, inventedDrills = []string{"ta", "tb", "tc", "td", "te"}, []string{"da", "db", "dc", "dd", "de", "df"}

// What is drawn leans to what leads to a recommendation, so that the gates are asked.
var (
	mostlyFull  = []domain.Availability{domain.Full, domain.Full, domain.Full, domain.Limited, domain.Held}
	mostlyShort = append([]domain.State{domain.ClearGap, domain.ClearGap, domain.LeaningBelow, domain.LeaningBelow, domain.ClearGap}, domain.States...)
	mostlyLive  = append([]domain.Ball{domain.BallLive, domain.BallLive}, domain.Balls...)
)

// invented draws a goalie, a week, a budget, a library and a past.
func invented(t *rapid.T) Need {
	n := Need{
		Order: byShortfall, Week: week, PracticeMinutes: 60 * rapid.IntRange(0, 5).Draw(t, "minutes / 60"), InSeason: rapid.Bool().Draw(t, "in season"),
		Goalie: domain.GoalieFields{
			Availability:  rapid.SampledFrom(mostlyFull).Draw(t, "availability"),
			AgeBand:       rapid.Ptr(rapid.SampledFrom(domain.Levels), true).Draw(t, "age band"),
			ShiesFromBall: rapid.Bool().Draw(t, "shies"),
		},
	}
	if rapid.Float64().Draw(t, "has a budget") < .9 {
		n.Budget = &Budget{Budget: domain.Budget{Session: rapid.IntRange(0, 60).Draw(t, "session"), Week: rapid.IntRange(0, 200).Draw(t, "week")}, Used: rapid.IntRange(0, 100).Draw(t, "used")}
	}
	inventRates(t, &n)
	inventLibrary(t, &n)
	inventPast(t, &n)
	return n
}

func inventRates(t *rapid.T, n *Need) {
	code := rapid.SampledFrom(domain.CodesOfPlay)
	level := rapid.SampledFrom(domain.Levels)
	for i, name := range inventedTargets {
		for range rapid.SampledFrom([]int{1, 1, 2, 0}).Draw(t, "plays") {
			r := rate(name, 1+i/2, rapid.SampledFrom(mostlyShort).Draw(t, "state"), rapid.Float64Range(0, 1).Draw(t, "shortfall"))
			r.Listed = rapid.Float64().Draw(t, "listed") < .8
			r.CodeOfPlay, r.Level = code.Draw(t, "code"), level.Draw(t, "level")
			if !slices.ContainsFunc(n.Rates, func(o judgement.Rate) bool { return o.Target.ID == r.Target.ID && judgement.ComparePlays(o, r) == 0 }) {
				n.Rates = append(n.Rates, r)
			}
		}
	}
}

func inventLibrary(t *rapid.T, n *Need) {
	for _, name := range inventedDrills {
		d := drill(name, rapid.SampledFrom(mostlyLive).Draw(t, "ball"), rapid.SampledFrom(domain.Efforts).Draw(t, "effort"))
		d.Fields.Levels = domain.Levels[rapid.SampledFrom([]int{0, 0, 0, 3}).Draw(t, "from level"):]
		if d.Fields.Ball == domain.BallLive && rapid.Bool().Draw(t, "soft") {
			d.Fields.SoftLevels = domain.Levels[:2]
		}
		n.Drills = append(n.Drills, d)
		if rapid.Float64().Draw(t, "allowed") > .8 {
			n.Goalie.AllowedDrillIDs = append(n.Goalie.AllowedDrillIDs, d.ID)
		}
	}
	for i := range rapid.IntRange(6, 20).Draw(t, "rules") {
		r := rule(fmt.Sprint("rule ", i), rapid.SampledFrom(inventedTargets).Draw(t, "of"),
			rapid.SampledFrom(inventedDrills).Draw(t, "gives"), rapid.IntRange(1, 5).Draw(t, "priority"), rapid.IntRange(1, 8).Draw(t, "takes"))
		r.Fields.Repetitions, r.Fields.TimesAWeek = rapid.IntRange(1, 40).Draw(t, "repetitions"), rapid.IntRange(1, 4).Draw(t, "times")
		r.Fields.States = rapid.SampledFrom([][]domain.State{{domain.ClearGap, domain.LeaningBelow}, domain.States}).Draw(t, "states")
		switch rapid.IntRange(0, 6).Draw(t, "sort") {
		case 0:
			r.Fields.TargetID = nil
		case 1:
			r.Fields.DrillID, r.Fields.Dose = nil, domain.Dose{}
		case 2:
			r.Fields.AfterDrillIDs, r.Fields.AfterSessions = []domain.ID{idOf("da")}, 1
		}
		n.Rules = append(n.Rules, r)
	}
}

func inventPast(t *rapid.T, n *Need) {
	for i := range rapid.IntRange(0, 8).Draw(t, "logs") {
		l := logged(1, rapid.SampledFrom(inventedDrills).Draw(t, "done"))
		l.ID, l.Fields.PractisedOn = idOf(fmt.Sprint("log ", i)), week.Sunday().AddDays(-rapid.IntRange(0, 60).Draw(t, "ago"))
		n.Logs = append(n.Logs, l)
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "assignments") {
		a := block(rapid.IntRange(12, 16).Draw(t, "starts"), rapid.IntRange(1, 4).Draw(t, "weeks"), rapid.SampledFrom(inventedTargets).Draw(t, "for"),
			rapid.SampledFrom(inventedDrills).Draw(t, "drill"), rapid.SampledFrom(domain.AssignmentStatuses).Draw(t, "status"))
		a.ID = idOf(fmt.Sprint("assignment ", i))
		n.Assignments = append(n.Assignments, a)
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "dropped") { // what some rule gives
		if f := rapid.SampledFrom(n.Rules).Draw(t, "dropped rule").Fields; f.DrillID != nil && f.TargetID != nil {
			a := block(rapid.IntRange(13, 16).Draw(t, "dropped from"), rapid.IntRange(1, 3).Draw(t, "dropped weeks"), "", "", domain.Dropped)
			a.ID = idOf(fmt.Sprint("dropped ", i))
			a.Fields.TargetID, a.Fields.DrillID, a.Fields.Reason = *f.TargetID, *f.DrillID, new("no wall")
			n.Assignments = append(n.Assignments, a)
		}
	}
	if rapid.Float64().Draw(t, "every other day") < .2 { // then no day is free, and live shots are halved
		n.NextGames = []domain.Game{game(14), game(16), game(18), game(20)}
		return
	}
	for range rapid.IntRange(0, 4).Draw(t, "games") {
		n.NextGames = append(n.NextGames, game(rapid.IntRange(13, 19).Draw(t, "game")))
	}
}

// No recommendation ever breaks a gate, whatever the goalie, the week, the budget and the rules.
func TestNoRecommendationBreaksAGate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := invented(t)
		plan := MakePlan(n)
		if len(plan.WorkOns) > MaxWorkOns {
			t.Fatalf("%d work-ons", len(plan.WorkOns))
		}
		if n.Goalie.Availability == domain.Held && len(plan.WorkOns)+len(plan.Advice)+len(plan.ReadingList) > 0 {
			t.Fatalf("a held goalie was recommended something")
		}
		total := load{given: map[domain.ID]bool{}}
		for _, w := range plan.WorkOns {
			if !w.Kept && !w.Rate.Short() || *w.Rate.State == domain.Met {
				t.Fatalf("%s is no work-on at %s", w.Rate.Target.Fields.Code, *w.Rate.State)
			}
			if len(w.Drills) > drillsEach {
				t.Fatalf("%d drills for one work-on", len(w.Drills))
			}
			for _, d := range w.Drills {
				breaksNoGate(t, n, w, d)
				total.add(t, n, w, d)
			}
		}
		total.fits(t, n)
	})
}

// load is what a week's drills take together.
type load struct {
	minutes, live, session, fresh int
	given                         map[domain.ID]bool
}

func (l *load) add(t *rapid.T, n Need, w WorkOn, d Prescription) {
	l.minutes += d.Dose.Minutes * d.Dose.TimesAWeek
	if d.Ball == domain.BallLive {
		l.live, l.session = l.live+d.Dose.Repetitions*d.Dose.TimesAWeek, l.session+d.Dose.Repetitions
	}
	if l.given[d.Drill.ID] {
		t.Fatalf("%s is given twice", d.Drill.Fields.Name)
	}
	l.given[d.Drill.ID] = true
	if youth(n.levelFor(w.Rate)) && n.ever(d.Drill.ID) == 0 {
		l.fresh++
	}
}

func (l *load) fits(t *rapid.T, n Need) {
	if l.minutes > n.PracticeMinutes {
		t.Fatalf("%d minutes of %d", l.minutes, n.PracticeMinutes)
	}
	if l.live > 0 && (n.Budget == nil || l.live > n.Budget.Week-n.Budget.Used || l.session > n.Budget.Session) {
		t.Fatalf("%d live shots a week and %d a session of %+v", l.live, l.session, n.Budget)
	}
	if free, _ := comingDays(n); l.live > 0 && !free && 2*l.session > n.Budget.Session {
		t.Fatalf("%d live shots a session of %d with every day the one before a game", l.session, n.Budget.Session)
	}
	if l.fresh > 1 {
		t.Fatalf("%d new movements for a child", l.fresh)
	}
}

func breaksNoGate(t *rapid.T, n Need, w WorkOn, d Prescription) {
	f, level := d.Drill.Fields, n.levelFor(w.Rate)
	if n.Goalie.Availability == domain.Limited && (f.Ball != domain.BallNone || f.Effort != domain.Easy) &&
		!slices.Contains(n.Goalie.AllowedDrillIDs, d.Drill.ID) {
		t.Fatalf("a limited goalie was given %+v", f)
	}
	if !slices.Contains(f.Levels, level) || !slices.Contains(f.CodesOfPlay, w.Rate.CodeOfPlay) || d.Ball != f.BallAt(level) {
		t.Fatalf("the drill does not fit")
	}
	if free, _ := comingDays(n); f.Effort == domain.Hard && !free {
		t.Fatalf("a hard drill with no day for it")
	}
	breaksNoRule(t, n, w, d)
	if d.Ball == domain.BallLive && (!stepped(n, w) || n.Goalie.ShiesFromBall) {
		t.Fatalf("live before its step")
	}
}

func breaksNoRule(t *rapid.T, n Need, w WorkOn, d Prescription) {
	if s := *w.Rate.State; d.Rule != nil && (s == domain.NoData || s == domain.TooFew) {
		t.Fatalf("a rule gave a drill at %s", s)
	}
	if d.Rule != nil && slices.ContainsFunc(n.Assignments, func(a domain.Assignment) bool {
		f, days := a.Fields, int(week.Monday().Time().Sub(a.Fields.StartsOn.Time()).Hours()/24)
		return f.Status == domain.Dropped && f.DrillID == d.Drill.ID && f.TargetID == w.Rate.Target.ID && days >= -7 && days < 7*f.Weeks
	}) {
		t.Fatalf("%s was dropped for it", d.Drill.Fields.Name)
	}
	if d.Rule != nil && d.Rule.Fields.AfterSessions > n.recently(d.Rule.Fields.AfterDrillIDs...) {
		t.Fatalf("what comes before was not done")
	}
}

// stepped tells whether a drill without a live ball of a rule for the same target was practised lately.
func stepped(n Need, w WorkOn) bool {
	return slices.ContainsFunc(n.Rules, func(r domain.Rule) bool {
		if r.Fields.TargetID == nil || *r.Fields.TargetID != w.Rate.Target.ID || r.Fields.DrillID == nil {
			return false
		}
		step, _ := n.drill(*r.Fields.DrillID)
		return step.Fields.BallAt(n.levelFor(w.Rate)) != domain.BallLive && n.recently(step.ID) > 0
	})
}

func TestThePlanDoesNotHangOnTheOrderOfRecords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := invented(t)
		want := MakePlan(n)
		assert.Equal(t, want, MakePlan(n))
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		m := n
		m.Rules, m.Drills, m.Logs = slices.Clone(n.Rules), slices.Clone(n.Drills), slices.Clone(n.Logs)
		m.Assignments, m.NextGames = slices.Clone(n.Assignments), slices.Clone(n.NextGames)
		r.Shuffle(len(m.Rules), func(i, j int) { m.Rules[i], m.Rules[j] = m.Rules[j], m.Rules[i] })
		r.Shuffle(len(m.Drills), func(i, j int) { m.Drills[i], m.Drills[j] = m.Drills[j], m.Drills[i] })
		r.Shuffle(len(m.Logs), func(i, j int) { m.Logs[i], m.Logs[j] = m.Logs[j], m.Logs[i] })
		r.Shuffle(len(m.Assignments), func(i, j int) { m.Assignments[i], m.Assignments[j] = m.Assignments[j], m.Assignments[i] })
		r.Shuffle(len(m.NextGames), func(i, j int) { m.NextGames[i], m.NextGames[j] = m.NextGames[j], m.NextGames[i] })
		assert.Equal(t, want, MakePlan(m))
	})
}
