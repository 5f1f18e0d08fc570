package judgement

import (
	"fmt"
	"math"
	"slices"

	"cagework/domain"
	"cagework/domain/stats"
)

// HabitBounds say when readings are enough to tell what a habit is worth. They are starting values.
type HabitBounds struct {
	// LeastBlind is how many blind readings of a habit there must be, yes and no together, before they alone are used.
	LeastBlind int
	// LeastOfEach is how many of them must be yes, and how many no; it holds for readings that knew the result too.
	LeastOfEach int
	// PriorWidth is the standard deviation, before the data, of a habit's effect on the log-odds of a save. At .5 a habit
	// that takes a save rate of .50 below .27 or above .73 is one in twenty; it draws thin evidence toward no effect.
	PriorWidth float64
	Confidence float64 // of the intervals
}

func defaultHabits() HabitBounds {
	return HabitBounds{LeastBlind: 150, LeastOfEach: 25, PriorWidth: 0.5, Confidence: 0.90}
}

// HabitFit is how saves went with habits, difficulty held equal, in one code of play and level. It is plain data, to be
// kept beside the difficulty fit that it leans on.
type HabitFit struct {
	CodeOfPlay domain.CodeOfPlay `json:"code_of_play"`
	Level      domain.Level      `json:"level"`
	FittedOn   domain.Date       `json:"fitted_on"`
	Shots      int               `json:"shots"`
	Effects    []HabitEffect     `json:"effects"` // one a habit, in the order given
}

// HabitEffect is how the log-odds of a save differ between shots with the habit and shots as hard without it.
type HabitEffect struct {
	Habit   string         `json:"habit"`
	HowRead domain.HowRead `json:"how_read"` // film_blind: blind readings alone; film: all readings from film
	Yes     int            `json:"yes"`      // readings on shots on goal that it stands on
	No      int            `json:"no"`
	Enough  bool           `json:"enough"`
	Reason  string         `json:"reason"`  // why there is no effect; "" when there is
	Warning string         `json:"warning"` // "" when the readings were blind
	LogOdds float64        `json:"log_odds"`
	Error   float64        `json:"error"` // standard error, the prior included
}

// FitHabits finds how saves go with each habit when the others, the difficulty and the goalie are held equal, from blind
// readings where there are enough, else from all film readings with a warning. It uses the scale and spread of the
// difficulty fit; while that is not to be used, difficulty cannot be held equal and there are no effects.
func FitHabits(
	shots []*domain.CountedShot, habits []domain.Habit, difficulty DifficultyFit, on domain.Date, bounds HabitBounds,
) HabitFit {
	out := HabitFit{CodeOfPlay: difficulty.CodeOfPlay, Level: difficulty.Level, FittedOn: on}
	of := DifficultyFit{CodeOfPlay: difficulty.CodeOfPlay, Level: difficulty.Level}
	data := of.gather(shots)
	out.Shots = of.Shots
	blind := fitReadings(data, habits, difficulty, bounds, true)
	film := fitReadings(data, habits, difficulty, bounds, false)
	for h := range habits {
		chosen := blind[h]
		if chosen.Yes+chosen.No < bounds.LeastBlind || min(chosen.Yes, chosen.No) < bounds.LeastOfEach {
			chosen = film[h]
			chosen.Warning = fmt.Sprintf("Readings made with the result known are among these, which may colour this: "+
				"%d were read blind (yes on %d, no on %d); %d would do, with %d of each.",
				blind[h].Yes+blind[h].No, blind[h].Yes, blind[h].No, bounds.LeastBlind, bounds.LeastOfEach)
		}
		out.Effects = append(out.Effects, chosen)
	}
	return out
}

// fitReadings fits every habit's effect at once from readings of one kind. A shot on which a habit was not read, not
// seen or cannot be read stays in: its habit is at the average and a column of its own says so.
func fitReadings(data shotData, habits []domain.Habit, difficulty DifficultyFit, bounds HabitBounds, blind bool) []HabitEffect {
	effects := make([]HabitEffect, len(habits))
	traits := slices.Clip(shotTraits)
	widths := make([]float64, len(shotColumns)+2*len(habits)) // 0: the difficulty's own scale
	for h, habit := range habits {
		effects[h] = HabitEffect{Habit: habit.Fields.Code, HowRead: domain.Film}
		if blind {
			effects[h].HowRead = domain.FilmBlind
		}
		read := habitRead(habit.Fields.Code, blind)
		traits = append(traits, trait{
			[]string{habit.Fields.Code, habit.Fields.Code + "_unread"}, func(s *domain.CountedShot, row []float64) {
				row[0] = read(s)
				row[1] = number(math.IsNaN(row[0]))
			},
		})
		widths[len(shotColumns)+2*h] = bounds.PriorWidth
		effects[h].count(data, read)
		if least := min(effects[h].Yes, effects[h].No); least < bounds.LeastOfEach {
			effects[h].Reason = fmt.Sprintf("read yes on %d and no on %d shots on goal; %d of each are needed",
				effects[h].Yes, effects[h].No, bounds.LeastOfEach)
		}
	}
	reason := "how hard the shots were cannot be held equal yet: " + difficulty.Reason
	if difficulty.Enough {
		data.describe(traits)
		ridge := stats.Ridge{Scale: difficulty.PriorScale, Spread: difficulty.GoalieSpread, Widths: widths}
		fit, err := stats.FitTable(data.Table, ridge, stats.Everything, nil)
		if reason = ""; err != nil {
			reason = "the readings cannot be fitted: " + err.Error()
		}
		for h := range effects {
			effects[h].read(fit, reason, 1+len(shotColumns)+2*h) // after the constant, and two columns a habit
		}
		return effects
	}
	for h := range effects {
		effects[h].Reason = reason
	}
	return effects
}

func (e *HabitEffect) count(data shotData, read func(*domain.CountedShot) float64) {
	for _, s := range data.shots {
		switch read(s) {
		case 1:
			e.Yes++
		case 0:
			e.No++
		}
	}
}

func (e *HabitEffect) read(fit stats.ScaledFit, reason string, at int) {
	if e.Reason == "" {
		e.Reason = reason
	}
	if e.Enough = e.Reason == ""; e.Enough {
		e.LogOdds, e.Error = fit.Coefficients[at], fit.Error(at)
	}
}

// habitRead gives 1 where the counted reading says yes, 0 where it says no, and unknown everywhere else.
func habitRead(code string, blind bool) func(*domain.CountedShot) float64 {
	ask := []domain.Clause{{Field: code, Is: string(domain.Yes)}}
	return func(s *domain.CountedShot) float64 {
		if s.Reading == nil || blind && s.Reading.Fields.HowRead != domain.FilmBlind {
			return unknown
		}
		switch domain.All(ask, s) {
		case domain.True:
			return 1
		case domain.False:
			return 0
		case domain.Unknown:
		}
		return unknown
	}
}
