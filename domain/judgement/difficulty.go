package judgement

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"cagework/domain"
	"cagework/domain/stats"
)

// DifficultyBounds say when a fit of difficulty is used. They are starting values.
type DifficultyBounds struct {
	// EachAParameter is how many goals, and how many saves, the data must hold for each effective parameter of the fit:
	// the rule of ten events a variable (Peduzzi and others 1996, Journal of Clinical Epidemiology 49:1373-1379).
	EachAParameter float64
	LeastEach      int // goals, and saves, below which nothing is fitted at all
	// LeastGain is by how many standard errors the fit must foretell better than the pooled rate, by log loss.
	LeastGain float64
	Parts     int // in how many parts goalies are dealt for what is foretold of them without their own shots
}

func defaultDifficulty() DifficultyBounds {
	return DifficultyBounds{EachAParameter: 10, LeastEach: 30, LeastGain: 1.64, Parts: 10}
}

// DifficultyFit is a model of how often a shot like this one is saved by a goalie of average effect, in one code of play
// and level, or the reason why there is none yet and the pooled rate that stands in for it. It is plain data, to be kept
// so that what was said can be traced to the fit that it was said by.
type DifficultyFit struct {
	CodeOfPlay domain.CodeOfPlay `json:"code_of_play"`
	Level      domain.Level      `json:"level"`
	FittedOn   domain.Date       `json:"fitted_on"`
	From       domain.Date       `json:"from"` // first and last day of a game in the data; zero without any
	To         domain.Date       `json:"to"`
	Shots      int               `json:"shots"` // on goal, that the model speaks of
	Saves      int               `json:"saves"`
	Goalies    int               `json:"goalies"`

	Enough     bool    `json:"enough"`
	Reason     string  `json:"reason"`      // why the pooled rate stands in; "" when it does not
	PooledRate float64 `json:"pooled_rate"` // of saves, with half a save and half a goal added

	PriorScale   float64     `json:"prior_scale"`
	GoalieSpread float64     `json:"goalie_spread"` // standard deviation of the goalies' effects on the log-odds of a save
	Effective    float64     `json:"effective_parameters"`
	Names        []string    `json:"names"`
	All          ShotModel   `json:"all"`
	Parts        []ShotModel `json:"parts"` // each without the shots of some goalies, to be used for them
	// Covariance is that of the constant and the coefficients, as the rows of its lower triangle.
	Covariance [][]float64       `json:"covariance"`
	Scores     *DifficultyScores `json:"scores"` // nil without a fit

	memory shotMemory // see [Remembering]; nil remembers nothing
}

// ShotModel is log-odds of a save = Constant + Σ Coefficient · (value − Centre) / Spread.
type ShotModel struct {
	LeftOut      []domain.ID `json:"left_out"` // goalies whose shots it did not see
	Constant     float64     `json:"constant"`
	Coefficients []float64   `json:"coefficients"`
	stats.Scaling
}

// DifficultyScores say how well each shot was foretold without its goalie's shots.
type DifficultyScores struct {
	LogLoss       float64                `json:"log_loss"`
	PooledLogLoss float64                `json:"pooled_log_loss"` // of the rate of all other goalies, for comparison
	GainError     float64                `json:"gain_error"`      // standard error of the difference of the two
	Brier         float64                `json:"brier"`
	AUC           float64                `json:"auc"`
	Intercept     float64                `json:"calibration_intercept"`
	Slope         float64                `json:"calibration_slope"`
	Calibration   []stats.CalibrationBin `json:"calibration"`
}

// inDifficulty tells whether the model speaks of a shot: on goal, allowed, by a known goalie in the cage, not in practice.
func inDifficulty(s *domain.CountedShot) bool {
	f := &s.Shot.Fields
	return f.Outcome.OnGoal() && !f.WavedOff && !f.GoalieOut && s.Shot.Found.FacedGoalieID != nil &&
		s.Game.Fields.Kind != domain.KindPractice
}

// FitDifficulty fits the shots of one code of play and level among those given. Fewer than the bounds ask for, or a fit
// that foretells no better than the pooled rate, is said so and the pooled rate stands in. The order of the shots does
// not matter.
func FitDifficulty(
	shots []*domain.CountedShot, code domain.CodeOfPlay, level domain.Level, on domain.Date, bounds DifficultyBounds,
) DifficultyFit {
	fit := DifficultyFit{CodeOfPlay: code, Level: level, FittedOn: on, PooledRate: 0.5}
	data := fit.gather(shots)
	fit.Reason = fit.fit(data, bounds)
	fit.Enough = fit.Reason == ""
	return fit
}

// shotData are shots in the form of a fit's table.
type shotData struct {
	stats.Table
	shots   []*domain.CountedShot
	goalies []domain.ID
}

// gather picks and orders the shots that count, and notes their span.
func (f *DifficultyFit) gather(shots []*domain.CountedShot) shotData {
	var d shotData
	for _, s := range shots {
		if s.Competition.CodeOfPlay == f.CodeOfPlay && s.Competition.Level == f.Level && inDifficulty(s) {
			d.shots = append(d.shots, s)
		}
	}
	slices.SortStableFunc(d.shots, func(a, b *domain.CountedShot) int {
		return cmp.Or(
			bytes.Compare(a.Shot.Found.FacedGoalieID[:], b.Shot.Found.FacedGoalieID[:]),
			bytes.Compare(a.Shot.ID[:], b.Shot.ID[:]),
		)
	})
	for _, s := range d.shots {
		goalie, day := *s.Shot.Found.FacedGoalieID, s.Game.Fields.PlayedOn
		if n := len(d.goalies); n == 0 || d.goalies[n-1] != goalie {
			d.goalies = append(d.goalies, goalie)
		}
		if f.From.IsZero() || day.Before(f.From) {
			f.From = day
		}
		if f.To.Before(day) {
			f.To = day
		}
		saved := s.Shot.Fields.Outcome == domain.Save
		d.Hit, d.Group = append(d.Hit, saved), append(d.Group, len(d.goalies)-1)
		if saved {
			f.Saves++
		}
	}
	d.Groups, f.Shots, f.Goalies = len(d.goalies), len(d.shots), len(d.goalies)
	f.PooledRate = stats.Jeffreys(f.Saves, f.Shots).Mean()
	return d
}

// describe fills the table's columns.
func (d *shotData) describe(traits []trait) {
	n := len(columnsOf(traits))
	d.Columns, d.X = n, make([]float64, len(d.shots)*n)
	for i, s := range d.shots {
		measureShot(traits, s, d.X[i*n:(i+1)*n])
	}
}

// fit fills the model and gives "" or why it is not to be used.
func (f *DifficultyFit) fit(d shotData, bounds DifficultyBounds) (reason string) {
	goals := f.Shots - f.Saves
	if min(f.Saves, goals) < bounds.LeastEach {
		return fmt.Sprintf("%d saves and %d goals charted; %d of each are needed", f.Saves, goals, bounds.LeastEach)
	}
	d.describe(shotTraits)
	fold, parts := stats.Folds(d.Table, bounds.Parts)
	whole, chances, err := f.choose(d, fold, parts)
	if err != nil {
		return "the shots cannot be fitted: " + err.Error()
	}
	f.keep(whole)
	f.score(d, fold, chances)
	needed := int(math.Ceil(bounds.EachAParameter * whole.Effective))
	switch {
	case min(f.Saves, goals) < needed:
		return fmt.Sprintf("%d saves and %d goals charted; what the fit makes of them needs %d of each", f.Saves, goals, needed)
	case f.Scores.PooledLogLoss-f.Scores.LogLoss < bounds.LeastGain*f.Scores.GainError:
		return "what is charted of the shots does not yet foretell saves better than the pooled rate, beyond chance"
	}
	return ""
}

// choose settles the spread of the goalies and the prior scale, and makes the fits.
func (f *DifficultyFit) choose(d shotData, fold []int, parts int) (whole stats.ScaledFit, chances []float64, err error) {
	const first = 0.5 // the spread hardly depends on the scale that it is looked for with
	if f.GoalieSpread, err = stats.GroupSpread(d.Table, first); err != nil {
		return whole, nil, err
	}
	if f.PriorScale, err = stats.ChooseScale(d.Table, f.GoalieSpread, fold, parts); err != nil {
		return whole, nil, err
	}
	ridge := stats.Ridge{Scale: f.PriorScale, Spread: f.GoalieSpread}
	if whole, err = stats.FitTable(d.Table, ridge, stats.Everything, nil); err != nil {
		return whole, nil, err
	}
	fits, chances, err := stats.CrossFit(d.Table, ridge, fold, parts, nil)
	if err != nil {
		return whole, nil, err
	}
	if len(d.goalies) > 1 { // one goalie alone was dealt shot by shot, which leaves nobody out
		for p, part := range fits {
			f.Parts = append(f.Parts, shotModel(part, leftOut(d, fold, p)))
		}
	}
	return whole, chances, nil
}

func leftOut(d shotData, fold []int, part int) []domain.ID {
	var ids []domain.ID
	for i, p := range fold {
		if id := d.goalies[d.Group[i]]; p == part && !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	return ids
}

func shotModel(fit stats.ScaledFit, without []domain.ID) ShotModel {
	return ShotModel{
		LeftOut: without, Constant: fit.Coefficients[0], Coefficients: fit.Coefficients[1:], Scaling: fit.Scaling,
	}
}

// keep stores the fit of all shots.
func (f *DifficultyFit) keep(whole stats.ScaledFit) {
	f.Names = slices.Clone(shotColumns)
	f.All, f.Effective = shotModel(whole, nil), whole.Effective
	for i := range whole.Coefficients {
		row := make([]float64, i+1)
		for j := range row {
			row[j] = whole.Covariance.At(i, j)
		}
		f.Covariance = append(f.Covariance, row)
	}
}

func (f *DifficultyFit) score(d shotData, fold []int, chances []float64) {
	pooled := ratesOfOthers(d, fold)
	s := DifficultyScores{
		LogLoss: stats.LogLoss(chances, d.Hit), PooledLogLoss: stats.LogLoss(pooled, d.Hit),
		Brier: stats.Brier(chances, d.Hit), Calibration: stats.CalibrationTable(chances, d.Hit, 10),
	}
	s.GainError = gainError(chances, pooled, d.Hit)
	s.AUC, _ = stats.AUC(chances, d.Hit)
	// Chances that are all alike have no slope; the log loss then keeps the fit from being used.
	s.Intercept, s.Slope, _ = stats.Calibrate(chances, d.Hit)
	f.Scores = &s
}

// gainError gives the standard error of the mean difference of two log losses, shot by shot.
func gainError(chances, pooled []float64, hit []bool) float64 {
	gains := make([]float64, len(hit))
	for i := range gains {
		one := hit[i : i+1]
		gains[i] = stats.LogLoss(pooled[i:i+1], one) - stats.LogLoss(chances[i:i+1], one)
	}
	return stat.StdErr(stat.StdDev(gains, nil), float64(len(gains)))
}

// ratesOfOthers gives for each shot the rate of saves of the parts that it is not in.
func ratesOfOthers(d shotData, fold []int) []float64 {
	saves, shots := map[int]int{}, map[int]int{}
	allSaves := 0
	for i, p := range fold {
		shots[p]++
		if d.Hit[i] {
			saves[p]++
			allSaves++
		}
	}
	rates := make([]float64, len(fold))
	for i, p := range fold {
		rates[i] = stats.Jeffreys(allSaves-saves[p], len(fold)-shots[p]).Mean()
	}
	return rates
}
