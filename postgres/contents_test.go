package postgres_test

import (
	"math"

	"cagework/domain"
)

// The longer contents of the kinds: in a full one every optional member is there, in a bare one none.

func (s *scene) fullGame() domain.GameFields {
	f := s.gameOn("2026-04-18")
	f.Opponent, f.Kind = new("Millbrook"), domain.KindScrimmage
	f.EndedPeriod, f.EndedClockS = new(5), new(0)
	return f
}

func (s *scene) fullStint() domain.StintFields {
	f := s.stint(&s.goalie.ID, 1, 720, 4, 0)
	f.StartFilmMs, f.EndFilmMs = new(0), new(domain.MaxFilm)
	return f
}

func (s *scene) fullShot() domain.ShotFields {
	return domain.ShotFields{
		GameID: s.game.ID, GoalieID: &s.goalie.ID, Outcome: domain.Save, Deflected: true, GoalieOut: true,
		Period: new(1), ClockS: new(719), FilmMs: new(domain.MaxFilm),
		Phase: new(domain.Phase("settled")), Strength: new(domain.Strength("down")), Arrival: new(domain.Arrival("feed")),
		ReleaseStyle: new(domain.ReleaseStyle("sidearm")), ReleaseLevel: new(domain.High), ShooterFeet: new(domain.Feet("planted")),
		BallXM: new(-math.Pi), BallYM: new(0.1 + 0.2),
		PassXM: new(5.1), PassYM: new(-3.0), CatchToReleaseS: new(0.7), ReleaseUpM: new(1.9), SpeedMS: new(100.0 / 3),
		GoalieXM: new(-0.7), GoalieYM: new(0.1), GoalieFacingDeg: new(-80.0), BallUncertainM: new(0.3), GoalieUncertainM: new(0.2),
		FinishBand: new(domain.Low), FinishSide: new(domain.StickSide), FinishXM: new(1.0 / 3), FinishUpM: new(5e-324),
		Bounce: new(false), SaveBy: new(domain.SaveBy("leg")), Rebound: new(domain.Rebound("held")), Outlet: new(domain.Outlet("carried")),
		FinishUncertainM: new(0.05),
	}
}

func allHabits() map[string]domain.Answer {
	habits := map[string]domain.Answer{}
	for i, h := range domain.Starter(domain.ID{}).Habits {
		habits[h.Fields.Code] = domain.Answers[i%len(domain.Answers)]
	}
	return habits
}

func fullTarget() domain.TargetFields {
	return domain.TargetFields{
		Code: "from_far", Name: "From far", Cue: "Feet first, then hands",
		Of: []domain.Clause{
			{Field: "deflected", Is: false},
			{Field: "arrival", In: []string{"dodge", "feed"}},
			{Field: "distance_m", LT: new(1e300)}, {Field: "distance_m", LTE: new(30.1)},
			{Field: "distance_m", GT: new(-2.5)}, {Field: "distance_m", GTE: new(1e-300)},
			{Field: "saw_release", Is: "yes"},
		},
		Hit:   []domain.Clause{{Field: "outcome", Is: "save"}},
		Kinds: domain.GameKinds, Weeks: 52, MinTries: 1000, Cause: 100,
		Rates: []domain.TargetRate{
			{CodeOfPlay: "box", Level: "12u", Rate: 0.01, Source: "invented"},
			{CodeOfPlay: "sixes", Level: "college", Rate: 0.99, Source: "invented \"too\" \\ \u00a0"},
		},
		Active: true,
	}
}

func bareTarget() domain.TargetFields {
	return domain.TargetFields{
		Code: "from_near", Name: "From near", Of: []domain.Clause{}, Hit: []domain.Clause{{Field: "on_goal", Is: true}},
		Kinds: []domain.GameKind{domain.KindPractice}, Weeks: 1, MinTries: 1, Cause: 1, Rates: []domain.TargetRate{},
	}
}

func fullDrill() domain.DrillFields {
	return domain.DrillFields{
		Code: "wall_count", Name: "Wall count", Purpose: "Soft hands.", SetUp: "A wall, three metres off.\nCount\u2028aloud.",
		Levels: domain.Levels, CodesOfPlay: domain.CodesOfPlay, Kit: "A ball, a \"soft\" wall",
		Ball: domain.BallLive, Effort: domain.Easy, Dose: domain.Dose{Minutes: 60, Repetitions: 500, TimesAWeek: 7},
		SoftLevels: domain.Levels[:2], Team: true,
		Cautions: []string{"Helmet on, {always}", "NULL"}, NextStep: "Two walls.", Active: true,
	}
}

func bareDrill() domain.DrillFields {
	return domain.DrillFields{
		Code: "shadow_step", Name: "Shadow step", Purpose: "Feet.", SetUp: "No ball.",
		Levels: domain.Levels[:1], CodesOfPlay: domain.CodesOfPlay[:1],
		Ball: domain.BallNone, Effort: domain.Hard, Dose: domain.Dose{Minutes: 1, Repetitions: 1, TimesAWeek: 1},
		SoftLevels: []domain.Level{}, Cautions: []string{},
	}
}

func (s *scene) fullRule() domain.RuleFields {
	return domain.RuleFields{
		Name: "Far shots", TargetID: &s.target.ID, States: domain.States, Levels: domain.Levels, CodesOfPlay: domain.CodesOfPlay,
		SeasonPart: domain.InSeason, DrillID: &s.drill.ID, Dose: domain.Dose{Minutes: 10, Repetitions: 30, TimesAWeek: 2},
		Advice: "Once a week at most.", Priority: 1000, AfterDrillIDs: []domain.ID{s.drill.ID}, AfterSessions: 50, AfterBlocks: 10,
		AlsoShortIDs: []domain.ID{s.target.ID}, NotShortIDs: []domain.ID{s.target.ID}, OnlyShort: true, ForShy: true, Active: true,
	}
}

func (s *scene) bareRule() domain.RuleFields {
	return domain.RuleFields{
		Name: "Far shots", States: domain.States[:1], Levels: domain.Levels[:1], CodesOfPlay: domain.CodesOfPlay[:1],
		SeasonPart: domain.AnyPart, Advice: "Wait.", Priority: 1,
		AfterDrillIDs: []domain.ID{}, AlsoShortIDs: []domain.ID{}, NotShortIDs: []domain.ID{},
	}
}
