package judgement

import (
	"encoding/json"
	"fmt"

	"cagework/domain"
)

// FitModel is what a stored fit needs to be used again, beside its counts.
type FitModel struct {
	PriorScale   float64     `json:"prior_scale"`
	GoalieSpread float64     `json:"goalie_spread"`
	Effective    float64     `json:"effective_parameters"`
	Names        []string    `json:"names"`
	All          ShotModel   `json:"all"`
	Parts        []ShotModel `json:"parts"`
	Covariance   [][]float64 `json:"covariance"`
}

// Fit makes the difficulty fit and the habit fit beside it.
func (Judge) Fit(f domain.FitFields, shots []*domain.CountedShot, habits []domain.Habit) (domain.FitFound, error) {
	bounds := Defaults()
	d := FitDifficulty(shots, f.CodeOfPlay, f.Level, f.FittedOn, bounds.Difficulty)
	h := FitHabits(shots, habits, d, f.FittedOn, bounds.Habits)
	found := domain.FitFound{
		Shots: d.Shots, Saves: d.Saves, Goalies: d.Goalies, Enough: d.Enough, Reason: d.Reason, PooledRate: d.PooledRate,
	}
	if d.Shots > 0 {
		found.From, found.To = &d.From, &d.To
	}
	if h.Effects == nil {
		h.Effects = []HabitEffect{}
	}
	var err error
	if found.Habits, err = json.Marshal(h.Effects); err != nil {
		return found, fmt.Errorf("keep the habit fit: %w", err)
	}
	if d.Scores == nil {
		return found, nil
	}
	if d.Parts == nil { // one goalie: nobody is left out
		d.Parts = []ShotModel{}
	}
	if d.All.LeftOut == nil {
		d.All.LeftOut = []domain.ID{}
	}
	model, err := json.Marshal(FitModel{d.PriorScale, d.GoalieSpread, d.Effective, d.Names, d.All, d.Parts, d.Covariance})
	if err != nil {
		return found, fmt.Errorf("keep the difficulty fit: %w", err)
	}
	scores, err := json.Marshal(d.Scores)
	if err != nil {
		return found, fmt.Errorf("keep the scores: %w", err)
	}
	found.Model, found.Scores = (*json.RawMessage)(&model), (*json.RawMessage)(&scores)
	return found, nil
}

// Fitted is a stored fit, ready to be used.
type Fitted struct {
	ID         domain.ID
	Difficulty DifficultyFit
	Habits     HabitFit
}

// FitKey is what a fit speaks of.
type FitKey struct {
	CodeOfPlay domain.CodeOfPlay
	Level      domain.Level
}

// ReadFits reads stored fits back, the last of a code of play and level counting. With an error, for a fit that is not in
// the form that this version of the service writes, the others are there all the same.
func ReadFits(records []domain.Fit) (map[FitKey]Fitted, error) {
	fits := make(map[FitKey]Fitted, len(records))
	var failed error
	for _, r := range records {
		one, err := readFit(r)
		if err != nil {
			failed = fmt.Errorf("fit %v: %w", r.ID, err)
			continue
		}
		fits[FitKey{r.Fields.CodeOfPlay, r.Fields.Level}] = one
	}
	return fits, failed
}

func readFit(r domain.Fit) (Fitted, error) {
	f, found := r.Fields, r.Found
	d := DifficultyFit{
		CodeOfPlay: f.CodeOfPlay, Level: f.Level, FittedOn: f.FittedOn, Shots: found.Shots, Saves: found.Saves,
		Goalies: found.Goalies, Enough: found.Enough, Reason: found.Reason, PooledRate: found.PooledRate,
	}
	h := HabitFit{CodeOfPlay: f.CodeOfPlay, Level: f.Level, FittedOn: f.FittedOn, Shots: found.Shots}
	if found.From != nil && found.To != nil {
		d.From, d.To = *found.From, *found.To
	}
	if err := json.Unmarshal(found.Habits, &h.Effects); err != nil {
		return Fitted{}, err
	}
	if found.Model != nil && found.Scores != nil {
		var m FitModel
		if err := json.Unmarshal(*found.Model, &m); err != nil {
			return Fitted{}, err
		}
		if err := json.Unmarshal(*found.Scores, &d.Scores); err != nil {
			return Fitted{}, err
		}
		d.PriorScale, d.GoalieSpread, d.Effective = m.PriorScale, m.GoalieSpread, m.Effective
		d.Names, d.All, d.Parts, d.Covariance = m.Names, m.All, m.Parts, m.Covariance
	}
	return Fitted{r.ID, d, h}, d.usable()
}

// usable gives an error for a model that could not be used without going wrong.
func (f *DifficultyFit) usable() error {
	if !f.Enough {
		return nil
	}
	columns := len(f.Names)
	for _, m := range append([]ShotModel{f.All}, f.Parts...) {
		if len(m.Coefficients) != columns || len(m.Centre) != columns || len(m.Spread) != columns {
			return fmt.Errorf("a model of %d columns has %d coefficients", columns, len(m.Coefficients))
		}
	}
	if len(f.Covariance) != columns+1 {
		return fmt.Errorf("the covariance of %d coefficients has %d rows", columns+1, len(f.Covariance))
	}
	for i, row := range f.Covariance {
		if len(row) != i+1 {
			return fmt.Errorf("row %d of the covariance has %d figures", i, len(row))
		}
	}
	return nil
}
