// Package invented makes up a lacrosse program: teams, goalies, games, shots with readings, clears, blocks and practice
// logs. It is for demos and tests; every name in it is invented. Each goalie's true rates are known, because they are
// set here: a weakness that is planted can be looked for in what the service says.
package invented

import (
	"fmt"
	"math/rand/v2"

	"cagework/domain"
)

// DemoSeed is the seed of the program that the demo shows.
const DemoSeed = 1

// Weeks is how many weeks a program's records span.
const Weeks = 12

// Program is everything that was made up, in the order in which it can be written: what a record names comes before it.
type Program struct {
	LastWeek     domain.Week // the last of its weeks
	Seasons      []domain.Season
	Competitions []domain.Competition
	Teams        []domain.Team
	Goalies      []domain.Goalie
	Spells       []domain.RosterSpell
	Games        []domain.Game // the last ones, of the week after, are not played yet
	Stints       []domain.Stint
	Shots        []domain.Shot
	Readings     []domain.Reading
	Clears       []domain.Clear
	Assignments  []domain.Assignment
	Logs         []domain.PracticeLog
	Planted      map[domain.ID]string // by goalie: the code of the target whose true rate was set well below it
}

// maker is a program in the making.
type maker struct {
	*Model
	dice
	program Program
	first   domain.Date // the Monday of the first week
	people  map[domain.ID]*player
}

// Invent makes up a program from its people and a seed. The same arguments always give the same records. Ids are made
// from the model's program, so that records of two seeds have the same ids.
func (m *Model) Invent(squads []Squad, seed uint64, last domain.Week) *Program {
	k := &maker{
		Model: m, dice: dice{rand.New(rand.NewPCG(seed, 20260315))}, //nolint:gosec // invented data, no secret
		program: Program{LastWeek: last, Planted: map[domain.ID]string{}},
		first:   last.Monday().AddDays(-7 * (Weeks - 1)), people: map[domain.ID]*player{},
	}
	k.program.Seasons = []domain.Season{{ID: k.id("season"), Fields: domain.SeasonFields{
		Name: "This season", StartsOn: k.first, EndsOn: k.first.AddDays(7*(Weeks+4) - 1),
	}}}
	for _, s := range squads {
		k.addSquad(s)
	}
	return &k.program
}

// id makes the id of a record from its name.
func (m *Model) id(format string, args ...any) domain.ID {
	return domain.NameID(m.ID, "invented "+fmt.Sprintf(format, args...))
}

func (k *maker) addSquad(s Squad) {
	play := k.plays[s.Competition]
	competition := domain.Competition{ID: k.starterID(domain.NounCompetition, s.Competition), Fields: play.competition}
	team := domain.Team{ID: k.id("team %s", s.Name), Fields: domain.TeamFields{
		Name: s.Name, CompetitionID: competition.ID, PracticeMinutes: s.PracticeMinutes,
	}}
	k.program.Competitions = append(k.program.Competitions, competition)
	k.program.Teams = append(k.program.Teams, team)
	var players []*player
	for _, person := range s.Goalies {
		players = append(players, k.addPlayer(person, play, team))
	}
	for week := range Weeks {
		k.playWeek(s, play, team, players, week)
	}
	next := k.first.AddDays(7 * Weeks)
	for i, days := range []int{2, 5} {
		k.addGame(team, s.Opponents[(2*Weeks+i)%len(s.Opponents)], next.AddDays(days), domain.KindGame)
	}
	for _, p := range players {
		k.practise(p, play, team)
	}
}

func (k *maker) addPlayer(person Goalie, play *play, team domain.Team) *player {
	p := &player{Goalie: person, id: k.id("goalie %s", person.Name)}
	p.truth = play.truth.of(person, k.dice)
	level := play.competition.Level
	k.program.Goalies = append(k.program.Goalies, domain.Goalie{ID: p.id, Fields: domain.GoalieFields{
		Name: person.Name, StickHand: person.Hand, AgeBand: &level, Availability: person.availability(),
		AllowedDrillIDs: []domain.ID{},
	}})
	k.program.Spells = append(k.program.Spells, domain.RosterSpell{ID: k.id("spell %s", person.Name), Fields: domain.RosterSpellFields{
		TeamID: team.ID, GoalieID: p.id, FromOn: k.first,
	}})
	if person.Weakness != "" {
		k.program.Planted[p.id] = person.Weakness
	}
	k.people[p.id] = p
	return p
}
