package stats

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// LogLikelihoodRatio gives what one try says for odds of the event that are oddsRatio times those of its chance, against
// the chance itself. Source: Steiner, Cook, Farewell and Treasure 2000, Biostatistics 1:441-452.
func LogLikelihoodRatio(event bool, chance, oddsRatio float64) float64 {
	llr := -math.Log(1 - chance + oddsRatio*chance)
	if event {
		llr += math.Log(oddsRatio)
	}
	return llr
}

// Cusum is a chart for odds of the event that are OddsRatio times what they were. Its scores are whole points, so many
// to a unit of log-likelihood, which makes it a Markov chain of as many states as its limit: false alarms are counted
// exactly rather than simulated. Fewer points are quicker, but round tries of different risk differently, so that the
// false alarms depend on the mix of tries; see [PointsANat].
type Cusum struct{ OddsRatio, PointsANat float64 }

// PointsANat is fine enough that a schedule much harder than the one a limit was set on has at most a tenth more false
// alarms at any level down to one in 200; at 100 points it would have a sixth more.
const PointsANat = 200

// Score gives the log-likelihood ratio of a try in whole points.
func (c Cusum) Score(event bool, chance float64) int {
	return int(math.Floor(c.PointsANat*LogLikelihoodRatio(event, chance, c.OddsRatio) + 0.5))
}

// CusumNext gives a chart's next value; it never falls below 0.
// Source: Page 1954, Biometrika 41:100-115.
func CusumNext(value, score int) int { return max(0, value+score) }

// Risk is a share of the tries that have one chance of the event.
type Risk struct {
	Share  float64 `json:"share"`
	Chance float64 `json:"chance"`
}

// Score is a score of a chart with its probability.
type Score struct {
	Points int
	Chance float64
}

// Scores gives the scores of the chart when the odds of the event are really trueOdds times those of the risks (1:
// nothing has changed), least points first.
func (c Cusum) Scores(risks []Risk, trueOdds float64) []Score {
	return scoresOf(risks, trueOdds, c.Score)
}

// ScoresOfOneRisk gives the scores of the textbook's chart, which takes every try to have the same chance whatever the
// risks are.
func (c Cusum) ScoresOfOneRisk(chance float64, risks []Risk, trueOdds float64) []Score {
	return scoresOf(risks, trueOdds, func(event bool, _ float64) int { return c.Score(event, chance) })
}

func scoresOf(risks []Risk, trueOdds float64, points func(event bool, chance float64) int) []Score {
	byPoints, least, most := map[int]float64{}, math.MaxInt, math.MinInt
	for _, r := range risks {
		p := trueOdds * r.Chance / (1 - r.Chance + trueOdds*r.Chance)
		for _, event := range []bool{false, true} {
			s, q := points(event, r.Chance), 1-p
			if event {
				q = p
			}
			byPoints[s] += r.Share * q
			least, most = min(least, s), max(most, s)
		}
	}
	var scores []Score
	for s := least; s <= most; s++ { // in order, so that sums come out the same every time
		if q, there := byPoints[s]; there {
			scores = append(scores, Score{s, q})
		}
	}
	return scores
}

// chain is the chart as a Markov chain: the probability of each value from 0 to below its limit.
// Source: Brook and Evans 1972, Biometrika 59:539-549.
type chain struct{ now, next []float64 }

func newChain(limit int) *chain {
	c := &chain{make([]float64, limit), make([]float64, limit)}
	c.now[0] = 1
	return c
}

// step moves the chain by one try and gives the probability that it reaches its limit by it.
func (c *chain) step(scores []Score) (reached float64) {
	clear(c.next)
	limit := len(c.now)
	for _, s := range scores {
		from, to := max(0, -s.Points), min(limit, limit-s.Points)
		c.next[0] += s.Chance * floats.Sum(c.now[:min(from, limit)]) // falls to 0
		reached += s.Chance * floats.Sum(c.now[max(to, 0):])
		if from < to {
			floats.AddScaled(c.next[from+s.Points:to+s.Points], s.Chance, c.now[from:to])
		}
	}
	c.now, c.next = c.next, c.now
	return reached
}

// SignalChance gives the probability that a chart that begins at 0 reaches its limit within some tries.
func SignalChance(scores []Score, limit, tries int) float64 {
	c, sum := newChain(limit), 0.0
	for range tries {
		sum += c.step(scores)
	}
	return min(1, sum)
}

// RunLength gives the mean number of tries until a chart that begins at 0 reaches its limit. The chain is stepped until
// less than 1e-12 is left that has not, or what is left shrinks by one factor a try and is added as a geometric tail. A
// chart that practically never gets there has an infinite mean.
func RunLength(scores []Score, limit int) float64 {
	const mostTries = 1_000_000
	c, left, mean := newChain(limit), 1.0, 0.0
	for n := 1; ; n++ {
		mean += left
		before := left
		left -= c.step(scores)
		settled := n > 20*limit && n%1000 == 0
		if left >= 1e-12 && !settled && n < mostTries {
			continue
		}
		if left >= before {
			return math.Inf(1)
		}
		return mean + max(left, 0)/(1-left/before)
	}
}

// MedianRun gives the number of tries in which a chart that begins at 0 reaches its limit as likely as not, or most when
// that takes more.
func MedianRun(scores []Score, limit, most int) int {
	c, left := newChain(limit), 1.0
	for n := 1; n < most; n++ {
		if left -= c.step(scores); left <= 0.5 {
			return n
		}
	}
	return most
}

// CusumLimit gives the least limit at which a chart raises a false alarm within some tries with at most the probability
// level, and that probability. The scores are those of tries that have not changed.
func CusumLimit(scores []Score, tries int, level float64) (limit int, chance float64) {
	low, high := 0, 0 // the chance at low is above the level, at high at or below it; no such limit is known while high is 0
	at := point{firstLimit, SignalChance(scores, firstLimit, tries)}
	slope := -steeper * decay(scores)
	for tried := 1; ; tried++ {
		if at.chance > level {
			low = at.limit
		} else {
			high, chance = at.limit, at.chance
		}
		if high-low == 1 {
			return high, chance
		}
		next, is := at.crossing(level, slope)
		switch {
		case high == 0 && (!is || next <= low || next > 4*(low+1)):
			next = 2 * (low + 1)
		case high > 0 && (!is || tried > straightTries):
			next = (low + high) / 2
		case high > 0:
			next = min(max(next, low+1), high-1)
		}
		before := at
		at = point{next, SignalChance(scores, next, tries)}
		if s := (at.rate() - before.rate()) / float64(at.limit-before.limit); s < 0 && !math.IsInf(s, 0) {
			slope = s
		}
	}
}

const (
	firstLimit    = 512 // where the search for a limit begins
	straightTries = 10  // after so many chances the search halves, whatever the line says
	// steeper is by how much more the rate falls than far from 0 in a season without end; seen, so that fewer limits are tried.
	steeper = 1.08
)

// point is the chance of a false alarm at a limit.
type point struct {
	limit  int
	chance float64
}

// rate gives the log of how often alarms come if they come evenly, which falls almost in a straight line with the limit.
func (p point) rate() float64 { return math.Log(-math.Log1p(-p.chance)) }

// crossing gives the limit at which the rate, falling with the slope, would reach that of the level; false when the point
// tells no line.
func (p point) crossing(level, slope float64) (limit int, is bool) {
	at := float64(p.limit) + (point{chance: level}.rate()-p.rate())/slope
	if math.IsNaN(at) || math.Abs(at) > 1e9 {
		return 0, false
	}
	return int(math.Ceil(at)), true
}

// decay gives by how much the log of the rate of false alarms falls a point, far from 0: the θ above 0 at which the mean of
// exp(θ·score) is 1, by Newton's steps from far above. Source: Siegmund 1985, Sequential Analysis, chapter 8; from memory.
func decay(scores []Score) float64 {
	most := 1
	for _, s := range scores {
		most = max(most, s.Points)
	}
	theta := 50 / float64(most)
	for range 100 {
		mean, slope := -1.0, 0.0
		for _, s := range scores {
			term := s.Chance * math.Exp(theta*float64(s.Points))
			mean, slope = mean+term, slope+term*float64(s.Points)
		}
		step := mean / slope
		if !(slope > 0) || math.Abs(step) < 1e-9*theta {
			break
		}
		theta -= step
	}
	return theta
}
