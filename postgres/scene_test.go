package postgres_test

import (
	"testing"
	"time"

	"cagework/domain"

	"github.com/stretchr/testify/require"
)

// scene is a world with a team, a goalie and a game with one shot in it, given to the goalie. There is neither a stint
// nor a roster spell.
type scene struct {
	*world
	competition domain.Competition
	team        domain.Team
	goalie      domain.Goalie
	game        domain.Game
	shot        domain.Shot
	target      domain.Target
	drill       domain.Drill
}

func newScene(t testing.TB) *scene {
	t.Helper()
	s := &scene{world: newWorld(t)}
	st, a := s.stores, s.director
	s.competition = made(t, st.Competitions, a, "competition", fullCompetition())
	s.team = made(t, st.Teams, a, "team", domain.TeamFields{Name: "Varsity", CompetitionID: s.competition.ID, PracticeMinutes: 45})
	s.goalie = made(t, st.Goalies, a, "goalie", goalieCalled("Wren"))
	s.game = made(t, st.Games, a, "game", s.gameOn("2026-04-11"))
	shot := s.shotAt(1, 600, domain.Save)
	shot.GoalieID = &s.goalie.ID
	s.shot = made(t, st.Shots, a, "shot", shot)
	s.target = s.starterTarget(t)
	s.drill = s.starterDrill(t)
	return s
}

// made puts a new record under the id of a name.
func made[F domain.Fields, K any](t testing.TB, store domain.Records[F, K], a domain.Actor, name string, fields F) domain.Record[F, K] {
	t.Helper()
	rec, how, err := store.Put(t.Context(), a, id(name), fields)
	require.NoError(t, err, name)
	require.Equal(t, domain.Created, how, name)
	return rec
}

// goalieCalled is a right-handed goalie of whom nothing else is known.
func goalieCalled(name string) domain.GoalieFields {
	return domain.GoalieFields{Name: name, StickHand: "right", Availability: domain.Full, AllowedDrillIDs: []domain.ID{}}
}

func (s *scene) gameOn(on string) domain.GameFields {
	return domain.GameFields{TeamID: s.team.ID, CompetitionID: s.competition.ID, PlayedOn: day(on), Kind: domain.KindGame}
}

func (s *scene) shotAt(period, clock int, outcome domain.Outcome) domain.ShotFields {
	return domain.ShotFields{GameID: id("game"), Outcome: outcome, Period: &period, ClockS: &clock}
}

// stint is a goalie's time in the scene's game; nobody's without one.
func (s *scene) stint(goalie *domain.ID, startPeriod, startClock, endPeriod, endClock int) domain.StintFields {
	return domain.StintFields{
		GameID: id("game"), GoalieID: goalie,
		StartPeriod: startPeriod, StartClockS: startClock, EndPeriod: endPeriod, EndClockS: endClock,
	}
}

func (s *scene) starterTarget(t testing.TB) domain.Target {
	t.Helper()
	page, err := s.stores.Targets.List(t.Context(), s.director, domain.Query{Limit: 1})
	require.NoError(t, err)
	require.Len(t, page.Items, 1)
	return page.Items[0]
}

func (s *scene) starterDrill(t testing.TB) domain.Drill {
	t.Helper()
	page, err := s.stores.Drills.List(t.Context(), s.director, domain.Query{Limit: 1})
	require.NoError(t, err)
	require.Len(t, page.Items, 1)
	return page.Items[0]
}

func fullCompetition() domain.CompetitionFields {
	return domain.CompetitionFields{
		Name: "High school boys", CodeOfPlay: "mens_field", Level: "high_school", RuleBook: new("Our league, 2026"),
		GoalWidthM: 1.83, GoalHeightM: 1.83, CreaseRadiusM: 2.74, Periods: 4, PeriodS: 720, OvertimeS: 240,
		AverageMinutes: 48, ClearLine: "centre", OwnGoalRule: "any_defender", Unconfirmed: []string{"overtime_s"},
		ArcApexM: new(0.7), ArcHalfStanceM: new(0.25), ShadeNearM: new(-0.1),
	}
}

// starterRule names one of the rules that every program starts with.
func (s *scene) starterRule() *domain.ID { return &domain.Starter(s.program.ID).Rules[0].ID }

// kinds gives every store of records with two contents that stand on the scene and get in nobody's way.
func (s *scene) kinds() []kind {
	st := s.stores
	bareCompetition := fullCompetition()
	bareCompetition.RuleBook, bareCompetition.PeriodS = nil, 900
	bareCompetition.ArcApexM, bareCompetition.ArcHalfStanceM, bareCompetition.ShadeNearM = nil, nil, nil
	tokens := kindOf("Tokens", "tokens", domain.NounToken, st.Tokens,
		domain.TokenFields{MemberID: s.director.MemberID, Label: "phone", ExpiresAt: noon.Add(90 * 24 * time.Hour)},
		domain.TokenFields{MemberID: s.director.MemberID, Label: "tablet", ExpiresAt: noon.Add(time.Microsecond)})
	tokens.fixed = true
	return []kind{
		tokens,
		kindOf("Members", "members", domain.NounMember, st.Members,
			domain.MemberFields{Name: "Ode", Role: domain.Coach, TeamIDs: []domain.ID{s.team.ID}, GoalieIDs: []domain.ID{s.goalie.ID}},
			domain.MemberFields{Name: "Ode", Role: domain.Viewer, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{}}),
		kindOf("Seasons", "seasons", domain.NounSeason, st.Seasons,
			domain.SeasonFields{Name: "Spring", StartsOn: day("2026-02-01"), EndsOn: day("2026-06-30")},
			domain.SeasonFields{Name: "A day", StartsOn: day("1900-01-01"), EndsOn: day("1900-01-01")}),
		kindOf("Competitions", "competitions", domain.NounCompetition, st.Competitions, fullCompetition(), bareCompetition),
		kindOf("Teams", "teams", domain.NounTeam, st.Teams,
			domain.TeamFields{Name: "Zweite Mannschaft é 守門員", CompetitionID: s.competition.ID, PracticeMinutes: 1200,
				LiveShotsSession: new(0), LiveShotsWeek: new(5000)},
			domain.TeamFields{Name: "B", CompetitionID: s.competition.ID}),
		kindOf("Goalies", "goalies", domain.NounGoalie, st.Goalies,
			domain.GoalieFields{Name: "Juno", StickHand: "left", AgeBand: new(domain.Level("14u")), Availability: domain.Held,
				PracticeMinutes: new(0), AllowedDrillIDs: []domain.ID{s.drill.ID}, ShiesFromBall: true},
			domain.GoalieFields{Name: "Juno", StickHand: "right", Availability: domain.Limited, AllowedDrillIDs: []domain.ID{}}),
		kindOf("RosterSpells", "roster_spells", domain.NounRosterSpell, st.RosterSpells,
			domain.RosterSpellFields{TeamID: s.team.ID, GoalieID: s.goalie.ID, FromOn: day("2026-02-01"), ToOn: new(day("2026-06-30"))},
			domain.RosterSpellFields{TeamID: s.team.ID, GoalieID: s.goalie.ID, FromOn: day("2200-12-31")}),
		kindOf("Games", "games", domain.NounGame, st.Games, s.fullGame(), s.gameOn("2024-02-29")),
		kindOf("Stints", "stints", domain.NounStint, st.Stints, s.fullStint(), s.stint(nil, 2, 720, 2, 0)),
		kindOf("Shots", "shots", domain.NounShot, st.Shots, s.fullShot(), domain.ShotFields{GameID: s.game.ID, Outcome: domain.Wide, FilmMs: new(0)}),
		kindOf("Readings", "readings", domain.NounReading, st.Readings,
			domain.ReadingFields{ShotID: s.shot.ID, HowRead: domain.FilmBlind, Habits: allHabits()},
			domain.ReadingFields{ShotID: s.shot.ID, HowRead: domain.Live, Habits: map[string]domain.Answer{"saw_release": domain.No}}),
		kindOf("Clears", "clears", domain.NounClear, st.Clears,
			domain.ClearFields{GameID: s.game.ID, ShotID: &s.shot.ID, GoalieID: &s.goalie.ID, Result: domain.Cleared,
				Period: new(1), ClockS: new(590), FilmMs: new(7)},
			domain.ClearFields{GameID: s.game.ID, Result: domain.NotTried, FilmMs: new(0)}),
		kindOf("Views", "views", domain.NounView, st.Views, s.fullView(), s.bareView()),
		kindOf("Habits", "habits", domain.NounHabit, st.Habits,
			domain.HabitFields{Code: "deep_breath", Name: "Deep breath", Definition: "breathes out before the release",
				EdgeCases: "a sigh is none", ReadableOn: []domain.Clause{{Field: "deflected", Is: false}},
				CodesOfPlay: domain.CodesOfPlay, Cause: 100, Active: true},
			domain.HabitFields{Code: "deep_breath", Name: "B", Definition: "b", ReadableOn: []domain.Clause{},
				CodesOfPlay: []domain.CodeOfPlay{"box"}, Cause: 1}),
		kindOf("Assignments", "assignments", domain.NounAssignment, st.Assignments,
			domain.AssignmentFields{GoalieID: s.goalie.ID, TargetID: s.target.ID, DrillID: s.drill.ID,
				Dose: domain.Dose{Minutes: 60, Repetitions: 500, TimesAWeek: 7}, StartsOn: day("2026-04-06"), Weeks: 12,
				Status: domain.Dropped, Reason: new("another drill serves it better"), RuleID: s.starterRule()},
			domain.AssignmentFields{GoalieID: s.goalie.ID, TargetID: s.target.ID, DrillID: s.drill.ID,
				Dose: domain.Dose{Minutes: 1, Repetitions: 1, TimesAWeek: 1}, StartsOn: day("2026-04-13"), Weeks: 1,
				Status: domain.Assigned}),
		kindOf("PracticeLogs", "practice_logs", domain.NounPracticeLog, st.PracticeLogs,
			domain.PracticeLogFields{GoalieID: s.goalie.ID, TeamID: s.team.ID, PractisedOn: day("2026-04-08"),
				Done:      []domain.PracticeDone{{DrillID: s.drill.ID, Minutes: 240, Repetitions: 1000, LiveShots: 1000}},
				TeamShots: 1000},
			domain.PracticeLogFields{GoalieID: s.goalie.ID, TeamID: s.team.ID, PractisedOn: day("2026-04-09"),
				Done: []domain.PracticeDone{}}),
		kindOf("Targets", "targets", domain.NounTarget, st.Targets, fullTarget(), bareTarget()),
		kindOf("Drills", "drills", domain.NounDrill, st.Drills, fullDrill(), bareDrill()),
		kindOf("Rules", "rules", domain.NounRule, st.Rules, s.fullRule(), s.bareRule()),
	}
}
