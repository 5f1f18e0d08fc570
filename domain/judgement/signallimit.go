package judgement

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"cagework/domain/stats"
)

// mixParts is into how many parts of equal size the tries are cut by their chance for the limits, and mixStep how finely
// each part's chance is told. So few mixes are different, and a limit that was found once serves many charts.
const (
	mixParts = 3
	mixStep  = 0.05
)

// MixOf gives the mix of risks of a goalie's tries: their chances, moved by the goalie's own effect, in three parts.
// Without tries it is one even risk.
func MixOf(tries []Try, spread float64) []stats.Risk {
	if len(tries) == 0 {
		return []stats.Risk{{Share: 1, Chance: 0.5}}
	}
	chances, misses := make([]float64, len(tries)), make([]bool, len(tries))
	for i, t := range tries {
		chances[i], misses[i] = t.Chance, t.Miss
	}
	effect, _ := stats.Effect(chances, misses, spread)
	for i, p := range chances {
		p = min(max(p, 1e-6), 1-1e-6)
		chances[i] = stats.Sigmoid(stats.Logit(p) + effect)
	}
	slices.Sort(chances)
	var mix []stats.Risk
	for k := range mixParts {
		part := chances[k*len(chances)/mixParts : (k+1)*len(chances)/mixParts]
		if len(part) == 0 {
			continue
		}
		sum := 0.0
		for _, p := range part {
			sum += p
		}
		step := min(max(math.Round(sum/float64(len(part))/mixStep), 1), 1/mixStep-1)
		mix = append(mix, stats.Risk{Share: float64(len(part)) / float64(len(chances)), Chance: step * mixStep})
	}
	if len(chances) >= mixParts {
		for k := range mix {
			mix[k].Share = 1.0 / mixParts // so that a try more does not make another mix
		}
	}
	return mix
}

// Limit is where the two charts of a mix of tries signal.
type Limit struct {
	Worse, Better int
	Needed        int // tries in which a change of the size looked for is seen as likely as not, the slower way
}

// cusum is the chart for a change of the odds of a miss.
func cusum(oddsRatio float64) stats.Cusum {
	return stats.Cusum{OddsRatio: oddsRatio, PointsANat: stats.PointsANat}
}

// Limits finds limits and remembers them. It may be used from several goroutines; a limit is the same whoever asks first.
type Limits struct {
	mu    sync.Mutex
	found map[string]Limit
}

// For gives the least limits at which a chart of tries of this mix raises a false alarm in a season with at most the
// probability level, each way, exactly.
func (l *Limits) For(risks []stats.Risk, seasonTries int, level, oddsRatio float64) Limit {
	key := fmt.Sprint(risks, seasonTries, level, oddsRatio)
	l.mu.Lock()
	defer l.mu.Unlock()
	if limit, ok := l.found[key]; ok {
		return limit
	}
	var limit Limit
	limit.Worse, _ = stats.CusumLimit(cusum(oddsRatio).Scores(risks, 1), seasonTries, level)
	limit.Better, _ = stats.CusumLimit(cusum(1/oddsRatio).Scores(risks, 1), seasonTries, level)
	most := 10 * seasonTries
	limit.Needed = max(
		stats.MedianRun(cusum(oddsRatio).Scores(risks, oddsRatio), limit.Worse, most),
		stats.MedianRun(cusum(1/oddsRatio).Scores(risks, 1/oddsRatio), limit.Better, most),
	)
	if l.found == nil {
		l.found = map[string]Limit{}
	}
	l.found[key] = limit
	return limit
}

// sentence says the signal in words. How often it is a false alarm is said once for all charts beside it, not here.
func (s Signal) sentence() string {
	against := "the season before it"
	if s.Baseline == ByExpectedSaves {
		against += " and the difficulty of the shots"
	}
	switch s.State {
	case Falling:
		return fmt.Sprintf("Falling since %s: more misses than %s led to expect.%s", s.RaisedOn.Time().Format("2 January"), against, s.byWeeks())
	case Rising:
		return fmt.Sprintf("Rising since %s: fewer misses than %s led to expect.%s", s.RaisedOn.Time().Format("2 January"), against, s.byWeeks())
	case TooEarly:
		return fmt.Sprintf("Too early to say: %s; a change that doubles the odds of a miss takes about %d tries to show.", spokenTries(s.Tries), s.Needed)
	case Steady:
	}
	return fmt.Sprintf("Steady over %s.", spokenTries(s.Tries))
}

// byWeeks says how likely the weekly counts make a change, as a second opinion beside the chart: they know nothing of how
// hard the shots were. Under four weeks there is none.
func (s Signal) byWeeks() string {
	if s.ChangeChance == nil {
		return ""
	}
	return fmt.Sprintf(" By the weekly counts alone the chance that the rate changed this season is %s.", InHundred(*s.ChangeChance))
}

func spokenTries(n int) string {
	if n == 1 {
		return "1 try"
	}
	return fmt.Sprintf("%d tries", n)
}
