package summary

import "cagework/domain"

// The library of the tests: a few habits, targets, drills and rules, so that no test hangs on the starter data.

func codeID(noun, code string) domain.ID { return domain.NameID(program, noun+":"+code) }

func habit(code, name string, cause int) domain.Habit {
	return domain.Habit{ID: codeID("habit", code), Fields: domain.HabitFields{
		Code: code, Name: name, Definition: name + ", as two people would agree.", Cause: cause, Active: true,
		ReadableOn:  []domain.Clause{{Field: "arrival", In: []string{"dodge", "feed", "cross_feed", "feed_from_behind", "ground_ball", "restart"}}},
		CodesOfPlay: domain.CodesOfPlay,
	}}
}

var habits = []domain.Habit{
	habit("set_before_release", "Set before release", 3),
	habit("square_to_ball", "Square to the ball", 2),
	habit("on_angle", "On the angle", 2),
}

func target(code, name, cue string, rate float64, cause, weeks int, of, hit []domain.Clause) domain.Target {
	f := domain.TargetFields{
		Code: code, Name: name, Cue: cue, Of: of, Hit: hit, Weeks: weeks, MinTries: 20, Cause: cause, Active: true,
		Kinds: []domain.GameKind{domain.KindGame, domain.KindScrimmage},
	}
	for _, level := range domain.Levels {
		f.Rates = append(f.Rates, domain.TargetRate{CodeOfPlay: "mens_field", Level: level, Rate: rate, Source: "invented"})
	}
	return domain.Target{ID: codeID("target", code), Fields: f}
}

func band(b string) []domain.Clause {
	return []domain.Clause{{Field: "on_goal", Is: true}, {Field: "waved_off", Is: false}, {Field: "finish_band", Is: b}}
}

var (
	saved   = []domain.Clause{{Field: "outcome", Is: "save"}}
	targets = []domain.Target{
		target("square_to_ball", "Square to the ball", "Chest to the ball", .85, 2, 4,
			[]domain.Clause{}, []domain.Clause{{Field: "square_to_ball", Is: "yes"}}),
		target("set_before_release", "Set before release", "Feet still, then see", .80, 3, 4,
			[]domain.Clause{}, []domain.Clause{{Field: "set_before_release", Is: "yes"}}),
		target("low_save", "Low-shot save rate", "Stick to the ground first", .50, 5, 6, band("low"), saved),
		target("mid_save", "Mid-shot save rate", "Hands to the ball", .60, 5, 6, band("mid"), saved),
		target("high_save", "High-shot save rate", "Top hand leads", .55, 5, 6, band("high"), saved),
	}
)

const (
	warm = "Movement warm-up and easy balls first."
	kit  = "Full kit for any lacrosse ball that somebody else sends."
)

func drill(code, name string, ball domain.Ball, effort domain.Effort, dose domain.Dose, cautions ...string) domain.Drill {
	return domain.Drill{ID: codeID("drill", code), Fields: domain.DrillFields{
		Code: code, Name: name, Purpose: "What it is for.", SetUp: "How it is set up.",
		Levels: domain.Levels, CodesOfPlay: domain.CodesOfPlay, Ball: ball, Effort: effort, Dose: dose,
		SoftLevels: []domain.Level{}, Cautions: append([]string{}, cautions...), NextStep: "Faster.", Active: true,
	}}
}

var drills = []domain.Drill{
	drill("call_and_freeze", "Call and freeze", domain.BallNone, domain.Moderate, domain.Dose{Minutes: 4, Repetitions: 20, TimesAWeek: 3}),
	drill("film_pause", "Stop at the release", domain.BallNone, domain.Easy, domain.Dose{Minutes: 8, Repetitions: 8, TimesAWeek: 1}),
	drill("drop_beat", "Beat the drop", domain.BallNone, domain.Moderate, domain.Dose{Minutes: 3, Repetitions: 15, TimesAWeek: 3}, warm),
	drill("called_low", "Called low and bounce", domain.BallLive, domain.Moderate, domain.Dose{Minutes: 5, Repetitions: 16, TimesAWeek: 2}, kit, warm),
	drill("hands_only", "Hands only", domain.BallSoft, domain.Moderate, domain.Dose{Minutes: 4, Repetitions: 30, TimesAWeek: 2}, kit),
}

func gap(code, target, drill string, priority int) domain.Rule {
	f := domain.RuleFields{
		Name: code, States: []domain.State{domain.ClearGap, domain.LeaningBelow}, Levels: domain.Levels,
		CodesOfPlay: domain.CodesOfPlay, SeasonPart: domain.AnyPart, Priority: priority, Active: true,
		AfterDrillIDs: []domain.ID{}, AlsoShortIDs: []domain.ID{}, NotShortIDs: []domain.ID{},
	}
	if target != "" {
		f.TargetID = p(codeID("target", target))
	}
	for _, d := range drills {
		if d.Fields.Code == drill {
			f.DrillID, f.Dose = &d.ID, d.Fields.Dose
		}
	}
	return domain.Rule{ID: codeID("rule", code), Fields: f}
}

func with(rule domain.Rule, change func(*domain.RuleFields)) domain.Rule {
	change(&rule.Fields)
	return rule
}

var rules = []domain.Rule{
	gap("Set: call and freeze", "set_before_release", "call_and_freeze", 10),
	gap("Set: film", "set_before_release", "film_pause", 20),
	with(gap("Low: beat the drop", "low_save", "drop_beat", 24), func(f *domain.RuleFields) {
		f.Advice = "Head of the stick first, then the knees."
	}),
	with(gap("Low: called", "low_save", "called_low", 34), func(f *domain.RuleFields) {
		f.AfterDrillIDs, f.AfterSessions = []domain.ID{codeID("drill", "drop_beat")}, 3
	}),
	gap("Mid: hands", "mid_save", "hands_only", 24),
	with(gap("Read it first", "", "", 60), func(f *domain.RuleFields) {
		f.States, f.Advice = []domain.State{domain.TooFew}, "No drill yet: ask the recorders to read it on the next games."
	}),
}
