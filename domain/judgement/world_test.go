package judgement

import (
	"fmt"
	"math/rand/v2"

	"cagework/domain"
	"cagework/domain/stats"
)

// world is an invented program whose true save chances are known.
type world struct {
	goalies, games, shotsAGame int
	effect                     float64 // spread of the goalies on the log-odds
	set                        float64 // what "set before release" adds to the log-odds of a save
	read                       float64 // share of shots that are read from film
	how                        domain.HowRead
	seed                       uint64
}

var field10 = domain.CompetitionFields{CodeOfPlay: "mens_field", Level: "college", GoalWidthM: 1.8288, GoalHeightM: 1.8288}

const setHabit = "set_before_release"

var habitList = []domain.Habit{
	{Fields: domain.HabitFields{Code: setHabit, Name: "Set before release", CodesOfPlay: []domain.CodeOfPlay{"mens_field"}, ReadableOn: []domain.Clause{{Field: "deflected", Is: false}}}},
	{Fields: domain.HabitFields{Code: "on_angle", Name: "On angle", CodesOfPlay: []domain.CodeOfPlay{"mens_field"}, ReadableOn: []domain.Clause{{Field: "deflected", Is: false}}}},
}

func goalieID(n int) domain.ID { return domain.NameID(domain.ID{}, fmt.Sprint("goalie ", n)) }

// trueLogOdds is what nobody but the world knows: far shots are saved more often, low and bouncing ones less.
func trueLogOdds(f domain.ShotFields) float64 {
	odds := 0.2
	if d := distance(&domain.CountedShot{Shot: domain.Shot{Fields: f}}); d == d {
		odds = -1.6 + 0.2*d
	}
	if f.FinishBand != nil && *f.FinishBand == domain.Low {
		odds -= 0.7
	}
	if f.Bounce != nil && *f.Bounce {
		odds -= 0.4
	}
	return odds
}

// effects are the goalies' own effects on the log-odds of a save.
func (w world) effects() []float64 {
	r, effects := rand.New(rand.NewPCG(w.seed, 4)), make([]float64, w.goalies)
	for g := range effects {
		effects[g] = w.effect * r.NormFloat64()
	}
	return effects
}

// play draws the world's shots, with the true chance of a save of each by a goalie of no effect.
func (w world) play() (shots []*domain.CountedShot, truth []float64) {
	r := rand.New(rand.NewPCG(w.seed, 3))
	for g, effect := range w.effects() {
		id := goalieID(g)
		for n := range w.games {
			at := game(1000*g+n, "2026-03-02", domain.KindGame)
			at.Fields.PlayedOn = at.Fields.PlayedOn.AddDays(4 * n)
			for i := range w.shotsAGame {
				s := w.shot(r, at, id)
				s.Shot.ID = domain.NameID(at.ID, fmt.Sprint("shot ", i))
				odds := trueLogOdds(s.Shot.Fields)
				chance := odds + effect + w.set*(number(s.wasSet)-0.5)
				s.Shot.Fields.Outcome = domain.Goal
				if r.Float64() < stats.Sigmoid(chance) {
					s.Shot.Fields.Outcome = domain.Save
				}
				shots, truth = append(shots, s.CountedShot), append(truth, stats.Sigmoid(odds))
			}
		}
	}
	return shots, truth
}

type drawnShot struct {
	*domain.CountedShot
	wasSet bool
}

func (w world) shot(r *rand.Rand, at domain.Game, goalie domain.ID) drawnShot {
	x, y := 6*r.NormFloat64(), 4+8*r.Float64()
	band := domain.Bands[r.IntN(3)]
	s := &domain.CountedShot{Game: at, Competition: field10, Habits: habitList, Shot: domain.Shot{
		Fields: domain.ShotFields{BallXM: &x, BallYM: &y, FinishBand: &band, Bounce: new(r.IntN(3) == 0)},
		Found:  domain.ShotFound{FacedGoalieID: &goalie},
	}}
	if r.IntN(5) == 0 { // charted live, without a place
		s.Shot.Fields.BallXM, s.Shot.Fields.BallYM = nil, nil
		*s.Shot.Fields.FinishBand = domain.Mid
	}
	set := r.IntN(2) == 0
	if r.Float64() < w.read {
		answer := domain.No
		if set {
			answer = domain.Yes
		}
		s.Reading = &domain.Reading{Fields: domain.ReadingFields{HowRead: w.how, Habits: map[string]domain.Answer{setHabit: answer, "on_angle": domain.NotSeen}}}
	}
	return drawnShot{s, set}
}

func today() domain.Date { return domain.Date{Year: 2026, Month: 5, Day: 1} }

func fitOf(shots []*domain.CountedShot) DifficultyFit {
	return FitDifficulty(shots, "mens_field", "college", today(), Defaults().Difficulty)
}
