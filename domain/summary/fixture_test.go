package summary

import (
	"fmt"

	"cagework/domain"
)

// season is an invented season of one invented goalie, built up shot by shot.
type season struct {
	goalie domain.Goalie
	faced  domain.FacedRecords
	games  int
	shots  int
	clears int
}

var program = domain.NameID(domain.ID{}, "the program of the tests")

func idOf(kind string, n int) domain.ID { return domain.NameID(program, fmt.Sprintf("%s:%d", kind, n)) }

func date(s string) domain.Date {
	d, err := domain.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func p[T any](v T) *T { return &v }

func newSeason(a domain.Availability) *season {
	return &season{goalie: domain.Goalie{ID: idOf("goalie", 1), Fields: domain.GoalieFields{
		Name: "Robin Ashgrove", StickHand: "right", Availability: a,
	}}}
}

var highSchool = domain.CompetitionFields{
	Name: "High school, men's field", CodeOfPlay: "mens_field", Level: "high_school",
	Periods: 4, PeriodS: 720, OvertimeS: 240, AverageMinutes: 48,
}

// game begins a game with a stint of some seconds (none when 0).
func (s *season) game(day string, kind domain.GameKind, comp domain.CompetitionFields, seconds int) domain.Game {
	s.games++
	g := domain.Game{ID: idOf("game", s.games), Fields: domain.GameFields{
		Opponent: p(fmt.Sprintf("Opponent %d", s.games)), PlayedOn: date(day), Kind: kind,
	}}
	if seconds > 0 {
		s.stint(g, comp, seconds, &s.goalie.ID)
	}
	return g
}

func (s *season) stint(g domain.Game, comp domain.CompetitionFields, seconds int, goalie *domain.ID) {
	s.faced.Stints = append(s.faced.Stints, domain.CountedStint{
		Game: g, Competition: comp,
		Stint: domain.Stint{
			Fields: domain.StintFields{GameID: g.ID, GoalieID: goalie},
			Found:  domain.StintFound{StartElapsedS: 100, EndElapsedS: 100 + seconds},
		},
	})
}

// add adds shots that end alike. change, where given, alters each.
func (s *season) add(
	g domain.Game, comp domain.CompetitionFields, n int, outcome domain.Outcome, change func(*domain.CountedShot),
) {
	for range n {
		s.shots++
		c := &domain.CountedShot{Game: g, Competition: comp, Habits: habits, Shot: domain.Shot{
			ID: idOf("shot", s.shots),
			Fields: domain.ShotFields{
				GameID: g.ID, Outcome: outcome,
				Period: p(1 + s.shots%4), ClockS: p(700 - s.shots%600), FilmMs: p(1000 * s.shots),
			},
			Found: domain.ShotFound{FacedGoalieID: &s.goalie.ID, FacedHow: domain.CageOnlyGoalie},
		}}
		if change != nil {
			change(c)
		}
		s.faced.Shots = append(s.faced.Shots, c)
	}
}

// clear adds clears that end alike.
func (s *season) clear(g domain.Game, comp domain.CompetitionFields, n int, result domain.ClearResult, afterSave bool) {
	for range n {
		s.clears++
		s.faced.Clears = append(s.faced.Clears, domain.CountedClear{
			Game: g, Competition: comp, AfterSave: afterSave,
			Clear: domain.Clear{
				ID: idOf("clear", s.clears), Fields: domain.ClearFields{GameID: g.ID, Result: result},
				Found: domain.ClearFound{CageGoalieID: &s.goalie.ID, CageHow: domain.CageOnlyGoalie},
			},
		})
	}
}

func low(c *domain.CountedShot)  { c.Shot.Fields.FinishBand = p(domain.Low) }
func high(c *domain.CountedShot) { c.Shot.Fields.FinishBand = p(domain.High) }

func read(answer domain.Answer) func(*domain.CountedShot) {
	return func(c *domain.CountedShot) {
		c.Reading = &domain.Reading{Fields: domain.ReadingFields{
			HowRead: domain.FilmBlind, Habits: map[string]domain.Answer{"set_before_release": answer},
		}}
	}
}

// week puts the records of a week together with the library of the tests.
func (s *season) week(week string, teamMinutes int) domain.WeekRecords {
	w, err := domain.ParseWeek(week)
	if err != nil {
		panic(err)
	}
	return domain.WeekRecords{
		Goalie: s.goalie, Week: w, Faced: s.faced,
		Teams:   []domain.Team{{ID: idOf("team", 1), Fields: domain.TeamFields{PracticeMinutes: teamMinutes}}},
		Seasons: []domain.Season{{ID: idOf("season", 1), Fields: domain.SeasonFields{Name: "Spring 2026", StartsOn: date("2026-02-01"), EndsOn: date("2026-06-15")}}},
		Habits:  habits, Targets: targets, Drills: drills, Rules: rules,
		Peers: append(domain.CountPeers(targets, w, s.faced.Shots), peers()...),
	}
}

// peers are three more goalies of the program, far apart from each other.
func peers() []domain.PeerCount {
	var out []domain.PeerCount
	for i := range 3 {
		c := domain.PeerCount{Goalie: idOf("peer", i), CodeOfPlay: "mens_field", Level: "high_school"}
		for _, t := range targets {
			c.Counts = append(c.Counts, domain.TargetCount{Target: t.ID, Hits: 12 + 10*i, Tries: 40})
		}
		out = append(out, c)
	}
	return out
}

// spring is four games in which low shots get by: 9 saved of 31; 12 of 16 clears are made, 8 of 8 of those after a save.
func spring(a domain.Availability) *season {
	s := newSeason(a)
	for i, day := range []string{"2026-03-14", "2026-03-21", "2026-03-28", "2026-04-11"} {
		g := s.game(day, domain.KindGame, highSchool, 2880)
		s.add(g, highSchool, 2, domain.Save, low)
		s.add(g, highSchool, 5, domain.Goal, low)
		s.add(g, highSchool, 4, domain.Save, high)
		s.add(g, highSchool, 2, domain.Goal, high)
		s.add(g, highSchool, 3, domain.Wide, nil)
		s.clear(g, highSchool, 2, domain.Cleared, true)
		s.clear(g, highSchool, 1, domain.Cleared, false)
		s.clear(g, highSchool, 1, domain.ClearFailed, false)
		s.clear(g, highSchool, 1, domain.NotTried, true)
		if i == 3 {
			s.add(g, highSchool, 1, domain.Save, low)
			s.add(g, highSchool, 2, domain.Goal, low)
			s.add(g, highSchool, 1, domain.Goal, func(c *domain.CountedShot) { low(c); c.Shot.Fields.WavedOff = true })
		}
	}
	return s
}
