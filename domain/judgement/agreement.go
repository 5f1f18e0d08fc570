package judgement

import (
	"math"
	"slices"

	"cagework/domain"
	"cagework/domain/stats"
)

// TwiceRead is one shot as two recorders have it.
type TwiceRead struct{ First, Second *domain.CountedShot }

// FewForKappa is the number of shots below which kappa is not given: its error is too large to say anything.
const FewForKappa = 20

// Agreed is how far two recorders agree on one habit or one field of the same shots.
type Agreed struct {
	Name  string   `json:"name"`
	Codes []string `json:"codes"` // what could be said, in the order of the table
	Table [][]int  `json:"table"` // the first recorder's code is the row, the second's the column
	N     int      `json:"n"`     // shots on which both said something
	// OnlyFirst and OnlySecond are shots on which one alone did: saw the habit, or filled the field.
	OnlyFirst  int `json:"only_first"`
	OnlySecond int `json:"only_second"`

	Percent       *float64  `json:"percent"` // share alike, 0 to 1; nil without shots, as is all that follows
	Positive      *float64  `json:"positive"`
	Negative      *float64  `json:"negative"`       // of yes and of no: of what either said, the share that both did
	AC1           *Estimate `json:"ac1"`            // the headline
	Kappa         *Estimate `json:"kappa"`          // nil under FewForKappa shots, and when only one code was ever used
	WeightedKappa *Estimate `json:"weighted_kappa"` // of codes that have an order: a near miss counts in part
	PABAK         *Estimate `json:"pabak"`
}

// Estimate is a value with its standard error.
type Estimate struct {
	Value float64 `json:"value"`
	Error float64 `json:"error"`
}

// AgreeOnHabits compares the two readings of each shot, habit by habit. Not seen is no answer: it counts as one alone
// having seen.
func AgreeOnHabits(pairs []TwiceRead, habits []domain.Habit) []Agreed {
	answers := []string{string(domain.Yes), string(domain.No)}
	out := make([]Agreed, 0, len(habits))
	for _, h := range habits {
		out = append(out, agree(h.Fields.Code, answers, false, pairs, func(s *domain.CountedShot) string {
			if s.Reading == nil {
				return ""
			}
			return string(s.Reading.Fields.Habits[h.Fields.Code])
		}))
	}
	return out
}

// inOrder are the fields whose codes have an order.
var inOrder = []string{"release_level", "finish_band", "change_of_plane"}

// notCharted are the fields of codes that say nothing of how a shot itself was charted.
var notCharted = []string{"on_goal", "clear_result"}

// AgreeOnCodes compares what the two charted of each shot, field by field; what follows from a tapped place, such as the
// area, is compared by its code.
func AgreeOnCodes(pairs []TwiceRead) []Agreed {
	var out []Agreed
	for _, field := range domain.ShotFieldList {
		codes := field.Codes
		switch {
		case slices.Contains(notCharted, field.Name):
			continue
		case field.Type == domain.FlagField:
			codes = []string{string(domain.Yes), string(domain.No)}
		case field.Type != domain.CodeField:
			continue
		}
		out = append(out, agree(field.Name, codes, slices.Contains(inOrder, field.Name), pairs,
			func(s *domain.CountedShot) string { return codeIn(field, s) }))
	}
	return out
}

func codeIn(field domain.ShotField, s *domain.CountedShot) string {
	switch v := field.Value(s).(type) {
	case string:
		return v
	case bool:
		if v {
			return string(domain.Yes)
		}
		return string(domain.No)
	}
	return ""
}

func agree(name string, codes []string, ordered bool, pairs []TwiceRead, said func(*domain.CountedShot) string) Agreed {
	a := Agreed{Name: name, Codes: codes, Table: make([][]int, len(codes))}
	for i := range a.Table {
		a.Table[i] = make([]int, len(codes))
	}
	for _, p := range pairs {
		first, second := slices.Index(codes, said(p.First)), slices.Index(codes, said(p.Second))
		switch {
		case first >= 0 && second >= 0:
			a.Table[first][second]++
			a.N++
		case first >= 0:
			a.OnlyFirst++
		case second >= 0:
			a.OnlySecond++
		}
	}
	if a.N > 0 {
		a.measure(ordered)
	}
	return a
}

func (a *Agreed) measure(ordered bool) {
	m := stats.Agree(a.Table)
	a.Percent = known(m.Percent)
	a.AC1, a.PABAK = estimate(m.AC1, m.AC1Error), estimate(m.PABAK, m.PABAKError)
	if len(a.Codes) == 2 {
		a.Positive, a.Negative = known(m.Specific[0]), known(m.Specific[1])
	}
	if a.N < FewForKappa {
		return
	}
	a.Kappa = estimate(m.Kappa, m.KappaError)
	if ordered {
		_, kappa, se, _ := stats.WeightedKappa(a.Table, stats.QuadraticWeights(len(a.Codes)))
		a.WeightedKappa = estimate(kappa, se)
	}
}

func known(v float64) *float64 {
	if math.IsNaN(v) {
		return nil
	}
	return &v
}

func estimate(v, se float64) *Estimate {
	if math.IsNaN(v) {
		return nil
	}
	return &Estimate{v, se}
}
