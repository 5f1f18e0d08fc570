package postgres_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// seasoned is a scene with three more games over a year, a shot of the goalie in each, a season, and a coach of the
// team beside one of another.
type seasoned struct {
	*scene
	season         domain.Season
	coach, another domain.Actor
}

// played are the days of the games whose shots are the goalie's, the scene's own among them.
var played = []string{"2025-10-05", "2026-03-01", "2026-04-11", "2026-04-12"}

func newSeasoned(t *testing.T) *seasoned {
	t.Helper()
	s := &seasoned{scene: newScene(t)}
	st, a := s.stores, s.director
	for _, on := range played {
		if on == "2026-04-11" {
			continue
		}
		game := made(t, st.Games, a, "game "+on, s.gameOn(on))
		shot := s.shotAt(2, 300, domain.Goal)
		shot.GameID, shot.GoalieID = game.ID, &s.goalie.ID
		made(t, st.Shots, a, "shot "+on, shot)
	}
	s.season = made(t, st.Seasons, a, "season", domain.SeasonFields{Name: "Spring", StartsOn: day("2026-03-01"), EndsOn: day("2026-04-11")})
	made(t, st.RosterSpells, a, "spell", domain.RosterSpellFields{TeamID: s.team.ID, GoalieID: s.goalie.ID, FromOn: day("2026-03-01"), ToOn: new(day("2026-04-06"))})
	other := made(t, st.Teams, a, "other team", domain.TeamFields{Name: "B", CompetitionID: s.competition.ID})
	s.coach = domain.Actor{ProgramID: s.program.ID, MemberID: id("coach"), Role: domain.Coach, TeamIDs: []domain.ID{s.team.ID}}
	s.another = domain.Actor{ProgramID: s.program.ID, MemberID: id("another"), Role: domain.Coach, TeamIDs: []domain.ID{other.ID}}
	return s
}

// days gives on which days the shots were.
func days(faced domain.FacedRecords) []string {
	on := []string{}
	for _, s := range faced.Shots {
		on = append(on, s.Game.Fields.PlayedOn.String())
	}
	return on
}

func TestALineIsOfASpan(t *testing.T) {
	t.Parallel()
	s := newSeasoned(t)
	for name, c := range map[string]struct {
		span   domain.Span
		season *domain.ID
		want   []string
	}{
		"everything":          {domain.Span{}, nil, played},
		"from":                {domain.Span{From: day("2026-04-11")}, nil, played[2:]},
		"to":                  {domain.Span{To: day("2026-03-01")}, nil, played[:2]},
		"one day":             {domain.Span{From: day("2026-04-12"), To: day("2026-04-12")}, nil, played[3:]},
		"nothing":             {domain.Span{From: day("2026-04-13")}, nil, []string{}},
		"season":              {domain.Span{}, &s.season.ID, played[1:3]},
		"season narrowed":     {domain.Span{From: day("2026-03-02"), To: day("2027-01-01")}, &s.season.ID, played[2:3]},
		"season without span": {domain.Span{To: day("2025-12-31")}, &s.season.ID, []string{}},
	} {
		faced, err := s.stores.Lines.Goalie(t.Context(), s.coach, s.goalie.ID, c.span, c.season)
		require.NoError(t, err, name)
		require.Equal(t, c.want, days(faced.Faced), name)
		if c.season == nil {
			got := domain.Span{From: faced.Faced.From, To: faced.Faced.To}
			require.Equal(t, c.span, got, name)
		}
	}
}

func TestWhoMayReadAGoaliesSummaries(t *testing.T) {
	t.Parallel()
	s := newSeasoned(t)
	week := domain.WeekOf(day("2026-04-11"))
	as := func(role domain.Role) domain.Actor {
		return domain.Actor{ProgramID: s.program.ID, MemberID: id("somebody"), Role: role, TeamIDs: []domain.ID{s.team.ID}, GoalieIDs: []domain.ID{s.goalie.ID}}
	}
	read := func(a domain.Actor, goalie domain.ID) (error, error) {
		_, line := s.stores.Lines.Goalie(t.Context(), a, goalie, domain.Span{}, nil)
		_, summary := s.stores.Weeks.Goalie(t.Context(), a, goalie, week)
		return line, summary
	}
	for name, c := range map[string]struct {
		actor domain.Actor
		want  domain.Code
	}{
		"director": {s.director, ""}, "coach": {s.coach, ""}, "another team's coach": {s.another, domain.Forbidden},
		"recorder": {as(domain.Recorder), domain.Forbidden}, "viewer": {as(domain.Viewer), domain.Forbidden},
	} {
		line, summary := read(c.actor, s.goalie.ID)
		for _, err := range []error{line, summary} {
			if c.want == "" {
				require.NoError(t, err, name)
			} else {
				refused(t, c.want, err)
			}
		}
	}
	line, summary := read(s.director, id("nobody"))
	refused(t, domain.NotFound, line)
	refused(t, domain.NotFound, summary)
	_, err := s.stores.Lines.Goalie(t.Context(), s.director, s.goalie.ID, domain.Span{}, new(id("no season")))
	require.Equal(t, "season_id", refused(t, domain.Invalid, err).Fields[0].Pointer)
}

// TestAWeekHoldsWhatItIsWorkedOutFrom reads two weeks: one in which the goalie is on the roster, the next one not.
func TestAWeekHoldsWhatItIsWorkedOutFrom(t *testing.T) {
	t.Parallel()
	s := newSeasoned(t)
	retired := fullTarget()
	retired.Active, retired.Weeks = false, 52
	made(t, s.stores.Targets, s.director, "retired", retired)
	rule := s.bareRule()
	rule.Active = false
	made(t, s.stores.Rules, s.director, "retired rule", rule)

	year := made(t, s.stores.Seasons, s.director, "year", domain.SeasonFields{Name: "Year", StartsOn: day("2026-01-05"), EndsOn: day("2026-04-11")})
	got, err := s.stores.Weeks.Goalie(t.Context(), s.coach, s.goalie.ID, domain.WeekOf(day("2026-04-06")))
	require.NoError(t, err)
	require.Equal(t, s.program, got.Program)
	require.Equal(t, s.goalie, got.Goalie)
	require.Equal(t, domain.Week{Year: 2026, Number: 15}, got.Week)
	require.Equal(t, []domain.Team{s.team}, got.Teams, "the spell ends on the week's Monday")
	require.ElementsMatch(t, []domain.Season{s.season, year}, got.Seasons, "they end on the week's Saturday")
	starter := domain.Starter(s.program.ID)
	targets := slices.DeleteFunc(starter.Targets, func(r domain.Target) bool { return !r.Fields.Active })
	rules := slices.DeleteFunc(starter.Rules, func(r domain.Rule) bool { return !r.Fields.Active })
	require.Len(t, got.Targets, len(targets), "active ones only")
	require.Len(t, got.Rules, len(rules), "active ones only")
	require.Len(t, got.Drills, len(starter.Drills))
	require.Equal(t, day("2026-01-05"), got.Faced.From, "a season began before the longest look-back")
	require.Equal(t, day("2026-04-12"), got.Faced.To)
	require.Equal(t, played[1:], days(got.Faced))
	require.IsNonDecreasing(t, causes(got.Targets))
	require.IsNonDecreasing(t, priorities(got.Rules))

	got, err = s.stores.Weeks.Goalie(t.Context(), s.director, s.goalie.ID, domain.WeekOf(day("2026-04-13")))
	require.NoError(t, err)
	require.Empty(t, got.Teams)
	require.Empty(t, got.Seasons)
	require.Equal(t, day("2026-04-19").AddDays(1-7*domain.RecallWeeks), got.Faced.From, "no season says when it began")

	long := bareTarget()
	long.Weeks, long.Active = 20, true
	target := made(t, s.stores.Targets, s.director, "long", long)
	block := domain.AssignmentFields{
		GoalieID: s.goalie.ID, TargetID: target.ID, DrillID: starter.Drills[0].ID,
		Dose: domain.Dose{Minutes: 5, Repetitions: 10, TimesAWeek: 2}, StartsOn: day("2026-03-02"), Weeks: 3, Status: domain.Assigned,
	}
	made(t, s.stores.Assignments, s.director, "block", block)
	block.StartsOn, block.Status, block.Reason = day("2026-02-23"), domain.Dropped, new("no wall")
	made(t, s.stores.Assignments, s.director, "dropped block", block)
	block.StartsOn = day("2026-04-20")
	next := made(t, s.stores.Assignments, s.director, "refused", block)
	block.StartsOn = day("2026-04-27")
	made(t, s.stores.Assignments, s.director, "later", block)
	got, err = s.stores.Weeks.Goalie(t.Context(), s.director, s.goalie.ID, domain.WeekOf(day("2026-04-13")))
	require.NoError(t, err)
	require.Equal(t, day("2026-03-02").AddDays(-7*20), got.Faced.From, "what counted before the block that is shown is whole")
	require.Len(t, got.Assignments, 3)
	require.Equal(t, next, got.Assignments[2], "for the week that is planned")
	require.Empty(t, got.Logs)

	block.StartsOn, block.Weeks = day("2025-10-20"), 12
	made(t, s.stores.Assignments, s.director, "long block", block)
	for _, on := range []string{"2025-10-20", "2025-10-19"} {
		made(t, s.stores.PracticeLogs, s.director, "log "+on, domain.PracticeLogFields{
			GoalieID: s.goalie.ID, TeamID: s.team.ID, PractisedOn: day(on), TeamShots: 1, Done: []domain.PracticeDone{}})
	}
	got, err = s.stores.Weeks.Goalie(t.Context(), s.director, s.goalie.ID, domain.WeekOf(day("2026-04-13")))
	require.NoError(t, err)
	require.Len(t, got.Logs, 1, "all practices of the block's weeks")
}

func causes(targets []domain.Target) []int {
	order := []int{}
	for _, t := range targets {
		order = append(order, t.Fields.Cause)
	}
	return order
}

func priorities(rules []domain.Rule) []int {
	order := []int{}
	for _, r := range rules {
		order = append(order, r.Fields.Priority)
	}
	return order
}

// TestFacedShotsAreInOrder puts shots in the wrong order and on both kinds of time: the clock comes before the film.
func TestFacedShotsAreInOrder(t *testing.T) {
	t.Parallel()
	c := newCage(t)
	wren := &c.goalie.ID
	for name, f := range map[string]domain.ShotFields{
		"6 film late": {FilmMs: new(9_000)}, "5 film early": {FilmMs: new(10)},
		"4 third": {Period: new(3), ClockS: new(1)}, "2 second": {Period: new(2), ClockS: new(720), FilmMs: new(99_000)},
		"3 same second": {Period: new(2), ClockS: new(720), FilmMs: new(99_001)},
		"1 first":       {Period: new(1), ClockS: new(601)},
	} {
		f.GameID, f.GoalieID, f.Outcome = c.game.ID, wren, domain.Save
		made(t, c.stores.Shots, c.director, name, f)
	}
	faced, err := c.stores.Lines.Goalie(t.Context(), c.director, *wren, domain.Span{}, nil)
	require.NoError(t, err)
	var order []domain.ID
	for _, s := range faced.Faced.Shots {
		order = append(order, s.Shot.ID)
		require.Equal(t, c.game, s.Game)
		require.Equal(t, c.competition.Fields, s.Competition)
	}
	var want []domain.ID
	for _, name := range []string{"1 first", "shot", "2 second", "3 same second", "4 third", "5 film early", "6 film late"} {
		want = append(want, id(name))
	}
	require.Equal(t, want, order)

	stint := made(t, c.stores.Stints, c.director, "stint", c.stint(wren, 1, 720, 2, 0))
	made(t, c.stores.Stints, c.director, "other's", c.stint(&c.other.ID, 2, 0, 4, 0))
	faced, err = c.stores.Lines.Goalie(t.Context(), c.director, *wren, domain.Span{}, nil)
	require.NoError(t, err)
	require.Len(t, faced.Faced.Stints, 1)
	require.Equal(t, stint, faced.Faced.Stints[0].Stint)
	require.Equal(t, c.game, faced.Faced.Stints[0].Game)
	idle, err := c.stores.Lines.Goalie(t.Context(), c.director, c.other.ID, domain.Span{From: day("2026-04-12")}, nil)
	require.NoError(t, err)
	require.Equal(t, []*domain.CountedShot{}, idle.Faced.Shots, "an empty list, not none")
	require.Equal(t, []domain.CountedStint{}, idle.Faced.Stints)
}

// TestTheCountedReadingIsChosen reads one shot four times, each reader on their own.
func TestTheCountedReadingIsChosen(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	counted := func() *domain.Reading {
		faced, err := s.stores.Lines.Goalie(t.Context(), s.director, s.goalie.ID, domain.Span{}, nil)
		require.NoError(t, err)
		require.Len(t, faced.Faced.Shots, 1)
		return faced.Faced.Shots[0].Reading
	}
	require.Nil(t, counted())
	for i, c := range []struct {
		how  domain.HowRead
		want int // which reading counts now; 0 for none
	}{{domain.Live, 0}, {domain.Film, 2}, {domain.Film, 2}, {domain.FilmBlind, 4}, {domain.FilmBlind, 4}} {
		reader := made(t, s.stores.Members, s.director, fmt.Sprint("reader ", i+1), domain.MemberFields{
			Name: "Ode", Role: domain.Recorder, TeamIDs: []domain.ID{s.team.ID}, GoalieIDs: []domain.ID{},
		})
		a := domain.Actor{ProgramID: s.program.ID, MemberID: reader.ID, Role: domain.Recorder, TeamIDs: reader.Fields.TeamIDs}
		made(t, s.stores.Readings, a, fmt.Sprint("reading ", i+1), domain.ReadingFields{ShotID: s.shot.ID, HowRead: c.how, Habits: allHabits()})
		if c.want == 0 {
			require.Nil(t, counted())
			continue
		}
		require.Equal(t, id(fmt.Sprint("reading ", c.want)), counted().ID)
		require.Equal(t, id(fmt.Sprint("reader ", c.want)), counted().Found.MemberID)
	}
}
