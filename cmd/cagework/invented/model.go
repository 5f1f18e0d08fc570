package invented

import (
	"math/rand/v2"
	"slices"

	"cagework/domain"
)

// Model is what invented programs of one id share: the starter data and, for each competition played, the true rates
// of a goalie who stands exactly at every target.
type Model struct {
	ID      domain.ID
	Starter domain.StarterData
	plays   map[string]*play
}

// play is a competition with what it takes to draw shots in it.
type play struct {
	competition domain.CompetitionFields
	onGoal      float64 // the share of shots that are on goal
	truth       *truth
}

// Competitions are the keys of the starter competitions that a squad may play in.
var Competitions = []string{"mens_field_high_school", "womens_field_14u", "sixes"}

// NewModel prepares programs with an id.
func NewModel(program domain.ID) *Model {
	m := &Model{ID: program, Starter: domain.Starter(program), plays: map[string]*play{}}
	for i, key := range Competitions {
		p := &play{competition: m.competition(key), onGoal: .62}
		if p.competition.CodeOfPlay == "womens_field" {
			p.onGoal = .72
		}
		d := dice{rand.New(rand.NewPCG(uint64(i), 7))} //nolint:gosec // invented data, no secret
		p.truth = m.calibrate(p, d)
		m.plays[key] = p
	}
	return m
}

func (m *Model) starterID(noun domain.Noun, code string) domain.ID {
	return domain.NameID(m.ID, string(noun)+":"+code)
}

func (m *Model) competition(key string) domain.CompetitionFields {
	id := m.starterID(domain.NounCompetition, key)
	i := slices.IndexFunc(m.Starter.Competitions, func(c domain.Competition) bool { return c.ID == id })
	return m.Starter.Competitions[i].Fields
}
