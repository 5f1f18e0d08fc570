package judgement

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"

	"cagework/domain"
	"cagework/domain/stats"
)

// HabitWorth is what one habit is worth to one goalie, as an association: how much less often the ball goes in where the
// habit is there, on shots as hard. It is no proof that the one brings the other.
type HabitWorth struct {
	Habit    string         `json:"habit"`
	HowRead  domain.HowRead `json:"how_read"`
	Readings int            `json:"readings"` // that the effect stands on
	Enough   bool           `json:"enough"`
	Reason   string         `json:"reason"`
	Warning  string         `json:"warning"`
	Shots    int            `json:"shots"` // of this goalie, on goal, on which the habit can be read

	// SavesAShot is the difference between a shot with and without the habit, in saves a shot.
	SavesAShot Interval `json:"saves_a_shot"`
	// GoalsAGame is how many goals a game fewer go with moving the habit from its present rate to the target.
	GoalsAGame Interval `json:"goals_a_game"`
	Sentence   string   `json:"sentence"`
}

// Interval is an expected value with an equal-tailed interval.
type Interval struct {
	Mean float64 `json:"mean"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// HabitAim is where a goalie stands on a habit.
type HabitAim struct {
	Name   string // of the habit, as it is said
	Target float64
	Games  int // that the shots are from
	// Rate gives quantiles of the true present rate, from what is thought of it; see [RateQuantiles].
	Rate func(p float64) float64
}

// RateQuantiles gives the quantiles of a rate that has a beta distribution.
func RateQuantiles(d stats.Beta) func(p float64) float64 {
	return func(p float64) float64 { return mathext.InvRegIncBeta(d.A, d.B, p) }
}

// worthPoints is how finely the effect and the rate are each cut into parts of equal probability.
const worthPoints = 41

// WorthOf gives what an effect is worth to a goalie on these shots. What is not known for certain, the effect and the
// present rate, is cut into parts of equal probability and every pair of them counted; so the answer is the same each
// time.
func (e HabitEffect) WorthOf(
	aim HabitAim, shots []*domain.CountedShot, habits []domain.Habit, difficulty *DifficultyFit, bounds HabitBounds,
) HabitWorth {
	w := HabitWorth{
		Habit: e.Habit, HowRead: e.HowRead, Readings: e.Yes + e.No, Enough: e.Enough, Reason: e.Reason, Warning: e.Warning,
	}
	odds := readableLogOdds(e.Habit, shots, habits, difficulty)
	w.Shots = len(odds)
	if w.Enough && (w.Shots == 0 || aim.Games == 0) {
		w.Enough, w.Reason = false, "no shots on goal on which the habit can be read"
	}
	if !w.Enough {
		w.Sentence = "What this habit is worth cannot be told yet: " + w.Reason + "."
		return w
	}
	rates := make([]float64, worthPoints)
	present, short := 0.0, make([]float64, worthPoints)
	for k := range rates {
		rates[k] = aim.Rate((float64(k) + 0.5) / worthPoints)
		short[k] = math.Max(0, aim.Target-rates[k])
		present += rates[k] / worthPoints
	}
	aShot, aGame := make([]float64, 0, worthPoints), make([]float64, 0, worthPoints*worthPoints)
	for k := range worthPoints {
		effect := e.LogOdds + e.Error*mathext.NormalQuantile((float64(k)+0.5)/worthPoints)
		saves := savesAShot(odds, effect, present)
		aShot = append(aShot, saves)
		for _, gap := range short {
			aGame = append(aGame, saves*gap*float64(w.Shots)/float64(aim.Games))
		}
	}
	w.SavesAShot, w.GoalsAGame = intervalOf(aShot, bounds.Confidence), intervalOf(aGame, bounds.Confidence)
	w.Sentence = w.sentence(aim, present)
	return w
}

// readableLogOdds gives the log-odds of a save of the shots on which the habit can be read.
func readableLogOdds(code string, shots []*domain.CountedShot, habits []domain.Habit, difficulty *DifficultyFit) []float64 {
	habit := domain.HabitNamed(habits, code)
	var odds []float64
	for _, s := range shots {
		if inDifficulty(s) && habit != nil && habit.Readable(s) == domain.True {
			odds = append(odds, stats.Logit(difficulty.SaveChance(s)))
		}
	}
	return odds
}

// savesAShot gives by how much the chance of a save differs with and without the habit, on average over shots whose
// log-odds hold at the present rate of the habit.
func savesAShot(odds []float64, effect, present float64) float64 {
	sum := 0.0
	for _, o := range odds {
		sum += stats.Sigmoid(o+effect*(1-present)) - stats.Sigmoid(o-effect*present)
	}
	return sum / float64(len(odds))
}

// intervalOf summarises values that are all as probable.
func intervalOf(values []float64, confidence float64) Interval {
	slices.Sort(values)
	sum := 0.0
	for _, v := range values {
		sum += v
	}
	tail := (1 - confidence) / 2
	at := func(p float64) float64 { return values[min(int(p*float64(len(values))), len(values)-1)] }
	return Interval{Mean: sum / float64(len(values)), Low: at(tail), High: at(1 - tail)}
}

func (w HabitWorth) sentence(aim HabitAim, present float64) string {
	with := fmt.Sprintf("On shots as hard, %.0f more of 100 were saved where \"%s\" was read (%d readings)",
		100*w.SavesAShot.Mean, aim.Name, w.Readings)
	if w.SavesAShot.Mean < 0 {
		with = fmt.Sprintf("On shots as hard, %.0f fewer of 100 were saved where \"%s\" was read (%d readings)",
			-100*w.SavesAShot.Mean, aim.Name, w.Readings)
	}
	if present >= aim.Target {
		return with + "; this goalie is at the target already. They go together; that proves no cause."
	}
	return with + fmt.Sprintf("; from %.0f %% to %.0f %% goes with %.2f goals a game fewer (%.2f to %.2f). "+
		"They go together; that proves no cause.",
		100*present, 100*aim.Target, w.GoalsAGame.Mean, w.GoalsAGame.Low, w.GoalsAGame.High)
}
