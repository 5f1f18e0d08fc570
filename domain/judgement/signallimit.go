package judgement

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat"

	"cagework/domain/stats"
)

// mixStep is how finely a mix of tries is told. So few mixes are different, and a limit that was found once serves many
// charts; the chance of a false alarm hardly depends on more of the mix than its middle and its width.
const mixStep = 0.05

// MixOf gives the mix of risks of a goalie's tries: their chances, moved by the goalie's own effect, as thirds of equal size
// about their mean, as far from it as the outer thirds are on the average. Without tries it is one even risk.
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
	steps := int(math.Round(1 / mixStep))
	inSteps := func(p float64) int { return int(math.Round(p / mixStep)) }
	third := max(1, len(chances)/3)
	middle := min(max(inSteps(stat.Mean(chances, nil)), 1), steps-1)
	apart := inSteps((stat.Mean(chances[len(chances)-third:], nil) - stat.Mean(chances[:third], nil)) / 2)
	apart = min(apart, middle-1, steps-1-middle)
	chance := func(step int) float64 { return float64(step) / float64(steps) }
	if apart == 0 {
		return []stats.Risk{{Share: 1, Chance: chance(middle)}}
	}
	return []stats.Risk{
		{Share: 1.0 / 3, Chance: chance(middle - apart)}, {Share: 1.0 / 3, Chance: chance(middle)},
		{Share: 1.0 / 3, Chance: chance(middle + apart)},
	}
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
	found map[string]oneLimit
}

// oneLimit is that of one chart.
type oneLimit struct{ limit, needed int }

// For gives the least limits at which a chart of tries of this mix raises a false alarm in a season with at most the
// probability level, each way, exactly. Fewer misses are more hits: the chart for better is that for worse of the mix seen
// from the other side.
func (l *Limits) For(risks []stats.Risk, seasonTries int, level, oddsRatio float64) Limit {
	l.mu.Lock()
	defer l.mu.Unlock()
	worse := l.one(risks, seasonTries, level, oddsRatio)
	better := l.one(hitsOf(risks), seasonTries, level, oddsRatio)
	return Limit{Worse: worse.limit, Better: better.limit, Needed: max(worse.needed, better.needed)}
}

// hitsOf gives the mix of chances of a hit instead of a miss.
func hitsOf(risks []stats.Risk) []stats.Risk {
	out := make([]stats.Risk, len(risks))
	for i, r := range risks {
		out[len(risks)-1-i] = stats.Risk{Share: r.Share, Chance: 1 - r.Chance}
	}
	return out
}

func (l *Limits) one(risks []stats.Risk, seasonTries int, level, oddsRatio float64) oneLimit {
	told := slices.Clone(risks)
	for i := range told { // so that a mix and one turned over twice are the same
		told[i].Chance = math.Round(told[i].Chance*1e9) / 1e9
	}
	key := fmt.Sprint(told, seasonTries, level, oddsRatio)
	if one, there := l.found[key]; there {
		return one
	}
	var one oneLimit
	chart := cusum(oddsRatio)
	one.limit, _ = stats.CusumLimit(chart.Scores(told, 1), seasonTries, level)
	one.needed = stats.MedianRun(chart.Scores(told, oddsRatio), one.limit, 10*seasonTries)
	if l.found == nil {
		l.found = map[string]oneLimit{}
	}
	l.found[key] = one
	return one
}

// sentence says the signal in words. How often it is a false alarm is said once for all charts beside it, not here.
func (s Signal) sentence() string {
	against := "the season before it"
	if s.Baseline == ByExpectedSaves {
		against += " and the difficulty of the shots"
	}
	switch s.State {
	case Falling:
		return fmt.Sprintf("Falling since %s: more misses than %s led to expect.%s",
			s.RaisedOn.Time().Format("2 January"), against, s.changeInWords())
	case Rising:
		return fmt.Sprintf("Rising since %s: fewer misses than %s led to expect.%s",
			s.RaisedOn.Time().Format("2 January"), against, s.changeInWords())
	case TooEarly:
		return fmt.Sprintf("Too early to say: %s; a change that doubles the odds of a miss takes about %d tries to show.", spokenTries(s.Tries), s.Needed)
	case Steady:
	}
	return fmt.Sprintf("Steady over %s.%s", spokenTries(s.Tries), s.changeInWords())
}

// changeInWords says how likely the rate changed at all by the counts of the weeks, which know nothing of how hard the
// shots were; "" where there are too few weeks.
func (s Signal) changeInWords() string {
	if s.ChangeChance == nil {
		return ""
	}
	out := fmt.Sprintf(" By the weeks' counts alone, chance that it changed this season: %s", InHundred(*s.ChangeChance))
	if *s.ChangeChance >= 0.5 {
		out += fmt.Sprintf(", most likely after the week of %s", s.ChangeAfter.Monday().Time().Format("2 January"))
	}
	return out + "."
}

func spokenTries(n int) string {
	if n == 1 {
		return "1 try"
	}
	return fmt.Sprintf("%d tries", n)
}
