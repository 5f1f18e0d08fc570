package simulation

import (
	"fmt"
	"math"
	"math/rand/v2"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/stats"
)

// The season that the charts are measured on: 300 shots of three kinds, and the same kinds in a hard schedule.
const seasonShots = 300

var (
	usual = []stats.Risk{{Share: .2, Chance: .65}, {Share: .5, Chance: .45}, {Share: .3, Chance: .25}}
	hard  = []stats.Risk{{Share: .45, Chance: .65}, {Share: .40, Chance: .45}, {Share: .15, Chance: .25}}
)

// levels are the probabilities of a false alarm in a season for which limits are set.
var levels = []float64{.10, .05, .02, .005}

// Signal measures the charts. The first part is exact; the second plays seasons of goalies whose own level is not known
// beforehand, so it has an error that 6,000 seasons make small enough.
func Signal(seasons int, seed uint64) []Figure {
	out := exactCharts()
	out = append(out, otherMixes()...)
	out = append(out, wrongFlags()...)
	out = append(out, thumbCharts()...)
	out = append(out, ownBaselines(seasons, seed)...)
	out = append(out, widerEffects(seasons, seed)...)
	out = append(out, asBuilt(seasons, seed)...)
	return append(out, boardAsBuilt(seasons, seed))
}

// cusum is the chart that the service uses.
func cusum(oddsRatio float64) stats.Cusum {
	return stats.Cusum{OddsRatio: oddsRatio, PointsANat: stats.PointsANat}
}

func figure(name string, measured, aim float64) Figure {
	return Figure{Section: "charts:", Name: name, Method: Ours, Measured: measured, Aim: aim}
}

func exactCharts() []Figure {
	var out []Figure
	for _, level := range levels {
		for _, way := range []struct {
			name string
			odds float64
		}{{"worse", 2}, {"better", .5}} {
			limit, chance := stats.CusumLimit(cusum(way.odds).Scores(usual, 1), seasonShots, level)
			out = append(out,
				figure(fmt.Sprintf("false alarms a season at %v, %s", level, way.name), chance, level),
				figure(fmt.Sprintf("the same on a hard schedule at %v, %s", level, way.name),
					stats.SignalChance(cusum(way.odds).Scores(hard, 1), limit, seasonShots), 1.15*level))
		}
		out = append(out, figure(fmt.Sprintf("shots to flag doubled odds at %v, to those of the textbook chart", level),
			toTextbook(usual, level), .95))
	}
	return out
}

// toTextbook gives the shots in which doubled odds are flagged, as a share of those that the textbook's chart takes at the
// same level in a season of these shots.
func toTextbook(risks []stats.Risk, level float64) float64 {
	one := func(trueOdds float64) []stats.Score {
		return cusum(2).ScoresOfOneRisk(average(risks), risks, trueOdds)
	}
	limit, _ := stats.CusumLimit(cusum(2).Scores(risks, 1), seasonShots, level)
	textbook, _ := stats.CusumLimit(one(1), seasonShots, level)
	return stats.RunLength(cusum(2).Scores(risks, 2), limit) / stats.RunLength(one(2), textbook)
}

// otherMixes asks that the chart is nowhere slower than the textbook's; on shots of one difficulty the two are one.
func otherMixes() []Figure {
	var out []Figure
	for _, mix := range []struct {
		name  string
		risks []stats.Risk
	}{
		{"shots of one difficulty", []stats.Risk{{Share: 1, Chance: .43}}},
		{"a hard schedule", hard},
		{"two difficulties a little apart", []stats.Risk{{Share: .5, Chance: .40}, {Share: .5, Chance: .50}}},
		{"easy shots and a few hard ones", []stats.Risk{{Share: .9, Chance: .20}, {Share: .1, Chance: .80}}},
	} {
		for _, level := range []float64{.10, .005} {
			out = append(out, figure(fmt.Sprintf("shots to flag doubled odds at %v on %s, to those of the textbook chart", level, mix.name),
				toTextbook(mix.risks, level), 1))
		}
	}
	return out
}

// wrongFlags reports which share of the flags of worse that a board raises in a season is wrong, when the odds of one goalie
// in twenty double 100 shots before its end: why a board waits longer than a page.
func wrongFlags() []Figure {
	const doubled, left = .05, 100
	var out []Figure
	for _, level := range levels {
		limit, chance := stats.CusumLimit(cusum(2).Scores(usual, 1), seasonShots, level)
		wrong, right := (1-doubled)*chance, doubled*stats.SignalChance(cusum(2).Scores(usual, 2), limit, left)
		out = append(out, figure(fmt.Sprintf("wrong flags of a season at %v, one goalie in twenty doubled", level), wrong/(wrong+right), math.NaN()))
	}
	return out
}

// oneRisk is the textbook chart: every shot has the average risk of the usual season.
func oneRisk(risks []stats.Risk, trueOdds float64) []stats.Score {
	return cusum(2).ScoresOfOneRisk(average(usual), risks, trueOdds)
}

func average(risks []stats.Risk) float64 {
	sum := 0.0
	for _, r := range risks {
		sum += r.Share * r.Chance
	}
	return sum
}

// thumbCharts measures rules of thumb against the same aims, at .10 a season.
func thumbCharts() []Figure {
	const level = .10
	one, _ := stats.CusumLimit(oneRisk(usual, 1), seasonShots, level)
	out := []Figure{
		figure("false alarms a season at 0.1, worse", stats.SignalChance(stats.Cusum{OddsRatio: 2, PointsANat: 100}.Scores(usual, 1), 332, seasonShots), level),
		figure("the same on a hard schedule at 0.1, worse", stats.SignalChance(oneRisk(hard, 1), one, seasonShots), 1.15*level),
	}
	out[0].Method, out[1].Method = "limit for 600 shots between false alarms", "textbook chart of one risk"
	return append(out, weeklyChart()...)
}

// weeklyChart is the chart of weekly shares with limits at three standard errors, 20 shots a week.
func weeklyChart() []Figure {
	const week = 20
	p := average(usual)
	upper := upperLimit(p, week)
	above := func(chance float64) float64 {
		chances, sum := make([]float64, week), 0.0
		for i := range chances {
			chances[i] = chance
		}
		for k, q := range stats.PoissonBinomial(chances) {
			if float64(k)/week > upper {
				sum += q
			}
		}
		return sum
	}
	doubled := 0.0
	for _, r := range usual {
		doubled += r.Share * 2 * r.Chance / (1 + r.Chance)
	}
	limit, _ := stats.CusumLimit(cusum(2).Scores(usual, 1), seasonShots, .10)
	ours := stats.RunLength(cusum(2).Scores(usual, 2), limit)
	out := []Figure{
		figure("false alarms a season at 0.1, worse", 1-math.Pow(1-above(p), seasonShots/week), .10),
		figure("the same on a hard schedule at 0.1, worse", 1-math.Pow(1-above(average(hard)), seasonShots/week), .115),
		figure("shots to flag doubled odds, to those of our chart at 0.1", week/above(doubled)/ours, 1),
	}
	for i := range out {
		out[i].Method = "weekly share beyond three standard errors"
	}
	return out
}

// upperLimit is where the chart of shares of so many tries each signals.
func upperLimit(share float64, tries int) float64 {
	return share + 3*math.Sqrt(share*(1-share)/float64(tries))
}

// The seasons of goalies whose own level is not known: the spread of their effects, and the limit of the chart.
const (
	effectSpread = .2
	ownLimit     = 4.5 * stats.PointsANat
	seasonCap    = .005 // largest standard error of a probability that these aims can be told by
)

// ownBaselines plays seasons after some shots of the goalie's own. The baseline that keeps learning is ours; the one
// that is frozen when the season begins is what one would do first.
func ownBaselines(seasons int, seed uint64) []Figure {
	stated := stats.SignalChance(cusum(2).Scores(usual, 1), ownLimit, seasonShots)
	out := []Figure{figure("false alarms a season of a chart that knows the goalie", stated, math.NaN())}
	for _, known := range []int{0, 50, 150, 400} {
		name := fmt.Sprintf("false alarms a season, own level from %d shots", known)
		for _, learning := range []bool{true, false} {
			alarms, caught := 0, 0
			for n := range seasons {
				r := seeded(seed, n)
				if playSeason(r, effectSpread, known, learning, 1) {
					alarms++
				}
				if playSeason(r, effectSpread, known, learning, 2) {
					caught++
				}
			}
			f := figure(name, 0, 1.15*stated)
			f.Measured, f.SE = share(alarms, seasons)
			f.Cap = seasonCap
			power := figure(fmt.Sprintf("doubled odds caught in the season, own level from %d shots", known), 0, math.NaN())
			power.Measured, power.SE = share(caught, seasons)
			if !learning {
				f.Method, power.Method = "frozen own level", "frozen own level"
			}
			out = append(out, f, power)
		}
	}
	return out
}

// widerEffects reports the same when goalies differ twice as much as the chart takes for granted.
func widerEffects(seasons int, seed uint64) []Figure {
	var out []Figure
	for _, known := range []int{0, 50, 150, 400} {
		for _, learning := range []bool{true, false} {
			alarms := 0
			for n := range seasons {
				if playSeason(seeded(seed+2, n), 2*effectSpread, known, learning, 1) {
					alarms++
				}
			}
			f := figure(fmt.Sprintf("false alarms a season, goalies twice as different as assumed, own level from %d shots", known), 0, math.NaN())
			f.Measured, f.SE = share(alarms, seasons)
			if !learning {
				f.Method = "frozen own level"
			}
			out = append(out, f)
		}
	}
	return out
}

// playSeason tells whether the chart for worse signals in a season whose odds are times those of the shots before it, of a
// goalie drawn with a spread of effects; the chart takes effectSpread for granted.
func playSeason(r *rand.Rand, spread float64, known int, learning bool, times float64) bool {
	own := spread * r.NormFloat64()
	baseline, value := stats.NewBaseline(0, effectSpread), 0
	for range known {
		p := drawShot(r, usual)
		baseline.Learn(p, r.Float64() < stats.Sigmoid(stats.Logit(p)+own))
	}
	frozen, _ := baseline.Effect()
	for range seasonShots {
		p := drawShot(r, usual)
		miss := r.Float64() < stats.Sigmoid(stats.Logit(p)+own+math.Log(times))
		chance := stats.Sigmoid(stats.Logit(p) + frozen)
		if learning {
			chance = baseline.Learn(p, miss)
		}
		if value = stats.CusumNext(value, cusum(2).Score(miss, chance)); value >= ownLimit {
			return true
		}
	}
	return false
}

func drawShot(r *rand.Rand, risks []stats.Risk) float64 {
	u := r.Float64()
	for _, risk := range risks {
		if u -= risk.Share; u < 0 {
			return risk.Chance
		}
	}
	return risks[len(risks)-1].Chance
}

// asBuilt plays whole seasons through what a page shows: both charts, limits from the goalie's own mix of shots, no shot
// of the goalie known beforehand.
func asBuilt(seasons int, seed uint64) []Figure {
	var limits judgement.Limits
	var out []Figure
	for _, schedule := range []struct {
		name      string
		turnsHard bool
	}{{"usual schedule", false}, {"schedule that turns hard halfway", true}} {
		alarms := 0
		for n := range seasons {
			if raised(seeded(seed+1, n), schedule.turnsHard, .10, &limits) {
				alarms++
			}
		}
		f := figure("either chart of the page raised in a season at 0.1 each, "+schedule.name, 0, 1.15*.20)
		f.Measured, f.SE = share(alarms, seasons)
		f.Cap = .006
		out = append(out, f)
	}
	return out
}

// boardAsBuilt plays the same seasons at the level of a board, of which the director is told how many false alarms a season
// to bear. Few seasons raise one, so there are four times as many.
func boardAsBuilt(seasons int, seed uint64) Figure {
	const goalies, watched = 50, 16
	var limits judgement.Limits
	bounds := judgement.Defaults().Signal
	level := judgement.BoardLevel(goalies, watched, bounds)
	alarms := 0
	for n := range 4 * seasons {
		if raised(seeded(seed+3, n), false, level, &limits) {
			alarms++
		}
	}
	f := figure("false alarms a season on a board of 50 goalies and 16 targets", 0, bounds.BoardAlarms)
	f.Measured, f.SE = share(alarms, 4*seasons)
	f.Measured, f.SE, f.Cap = f.Measured*goalies*watched, f.SE*goalies*watched, .4
	return f
}

// raised plays one season of a goalie who does not change through a page's charts, and tells whether one was raised.
func raised(r *rand.Rand, turnsHard bool, level float64, limits *judgement.Limits) bool {
	bounds := judgement.Defaults().Signal
	tries := make([]judgement.Try, seasonShots)
	own := bounds.SaveSpread * r.NormFloat64()
	for i := range tries {
		risks := usual
		if turnsHard && i >= seasonShots/2 {
			risks = hard
		}
		p := drawShot(r, risks)
		tries[i] = judgement.Try{On: day(i), Chance: p, Miss: r.Float64() < stats.Sigmoid(stats.Logit(p)+own)}
	}
	chart := judgement.Chart{
		Baseline: judgement.ByExpectedSaves, Spread: bounds.SaveSpread, Start: .57, Level: level, SeasonTries: seasonShots,
	}
	return judgement.Watch(tries, chart, limits, bounds).RaisedOn != nil
}

// day gives the day of a try: 20 a week.
func day(i int) domain.Date { return domain.Date{Year: 2026, Month: 2, Day: 2}.AddDays(7 * (i / 20)) }
