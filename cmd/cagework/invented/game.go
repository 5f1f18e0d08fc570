package invented

import (
	"math"
	"slices"

	"cagework/domain"
)

// player is a goalie with the truth behind what will be charted.
type player struct {
	Goalie
	id    domain.ID
	truth *truth
}

// heldFrom is the week, counted from 0, from which a held goalie neither plays nor practises.
const heldFrom = 9

func (p *player) plays(week int) bool { return p.availability() != domain.Held || week < heldFrom }

// slump gives what a week takes from the chance of a save, on the logit scale.
func (p *player) slump(week int) float64 {
	if p.SlumpFrom > 0 && week >= p.SlumpFrom {
		return -math.Ln2
	}
	return 0
}

// spell is a time in the cage: from one period to another, both included.
type spell struct {
	player   *player
	from, to int
}

// match is a game as it is being charted.
type match struct {
	game   domain.Game
	play   *play
	spells []spell
	film   bool
	read   domain.HowRead  // "" when nobody reads it
	habits map[string]bool // those read in this game, by code
}

// filmStartMs is where on the film a game begins.
const filmStartMs = 95_000

// filmMs gives the moment on the film of an elapsed second of play: the film goes on while the clock stands.
func filmMs(elapsedS int) int { return filmStartMs + elapsedS*1400 }

// playWeek charts a team's week: two games, now and then a scrimmage or a check set in practice.
func (k *maker) playWeek(s Squad, play *play, team domain.Team, players []*player, week int) {
	monday := k.first.AddDays(7 * week)
	var regulars, little []*player
	for _, p := range players {
		switch {
		case p.Little:
			little = append(little, p)
		case p.plays(week):
			regulars = append(regulars, p)
		}
	}
	for i, day := range []int{1, 5} {
		number := 2*week + i
		m := match{play: play, spells: lineUp(regulars, number, play.competition.Periods)}
		if len(little) > 0 && i == 1 && week%5 == 2 {
			m.spells = relieve(m.spells, little[0])
		}
		m.game = k.addGame(team, s.Opponents[number%len(s.Opponents)], monday.AddDays(day), domain.KindGame)
		k.chart(m, k.about(s.Shots))
	}
	switch week % 4 {
	case 1:
		m := match{play: play, spells: lineUp(regulars, week, play.competition.Periods)}
		m.game = k.addGame(team, "", monday.AddDays(3), domain.KindScrimmage)
		k.chart(m, k.about(s.Shots/2))
	case 3:
		m := match{play: play, spells: lineUp(regulars, week, play.competition.Periods)}
		m.game = k.addGame(team, "", monday.AddDays(3), domain.KindPractice)
		k.chart(m, 10)
	}
}

// lineUp shares a game between two goalies, in turn from game to game.
func lineUp(regulars []*player, number, periods int) []spell {
	n := len(regulars)
	first := number * max(1, n-1)
	return []spell{
		{regulars[first%n], 1, periods / 2},
		{regulars[(first+1)%n], periods/2 + 1, periods},
	}
}

// relieve gives the last period to another goalie.
func relieve(spells []spell, p *player) []spell {
	last := spells[len(spells)-1]
	out := slices.Clone(spells)
	out[len(out)-1].to--
	return append(out, spell{p, last.to, last.to})
}

func (k *maker) addGame(team domain.Team, opponent string, on domain.Date, kind domain.GameKind) domain.Game {
	f := domain.GameFields{TeamID: team.ID, CompetitionID: team.Fields.CompetitionID, PlayedOn: on, Kind: kind}
	if opponent != "" {
		f.Opponent = &opponent
	}
	g := domain.Game{ID: k.id("game %s %s", team.Fields.Name, on), Fields: f}
	k.program.Games = append(k.program.Games, g)
	return g
}

// chart charts a game: its end, its stints and its shots.
func (k *maker) chart(m match, shots int) {
	c := m.play.competition
	end := 0
	at := &k.program.Games[len(k.program.Games)-1].Fields
	at.EndedPeriod, at.EndedClockS = &c.Periods, &end
	m.film = k.chance(.88)
	switch {
	case m.film && k.chance(.75):
		m.read = domain.FilmBlind
	case m.film:
		m.read = domain.Film
	case k.chance(.5):
		m.read = domain.Live
	}
	m.habits = k.toRead(m)
	for i, s := range m.spells {
		k.addStint(m, i, s)
	}
	k.addShots(m, shots)
}

func (k *maker) addStint(m match, number int, s spell) {
	c := m.play.competition
	f := domain.StintFields{
		GameID: m.game.ID, GoalieID: &s.player.id,
		StartPeriod: s.from, StartClockS: c.PeriodS, EndPeriod: s.to, EndClockS: 0,
	}
	if m.film {
		start, end := filmMs((s.from-1)*c.PeriodS), filmMs(s.to*c.PeriodS)
		f.StartFilmMs, f.EndFilmMs = &start, &end
	}
	found, _ := f.Find(c)
	k.program.Stints = append(k.program.Stints, domain.Stint{ID: k.id("stint %s %d", m.game.ID, number), Fields: f, Found: found})
}

// toRead draws which habits the recorders read in a game: set before release, those of the weaknesses that are worked
// on, and some of the others.
func (k *maker) toRead(m match) map[string]bool {
	out := map[string]bool{"set_before_release": true}
	for _, h := range k.Starter.Habits {
		if k.chance(.45) {
			out[h.Fields.Code] = true
		}
	}
	for _, s := range m.spells {
		out[s.player.Weakness] = true
	}
	return out
}
