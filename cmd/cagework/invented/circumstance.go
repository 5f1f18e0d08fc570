package invented

import (
	"math"

	"cagework/domain"
)

// The shares below are plausible, from memory; they only have to give every target some tries.

var (
	settledArrivals = []share[domain.Arrival]{
		{"dodge", .36}, {"feed", .25}, {"cross_feed", .15}, {"feed_from_behind", .14}, {"rebound", .04}, {"ground_ball", .04}, {"restart", .02},
	}
	breakArrivals = []share[domain.Arrival]{{"feed", .42}, {"dodge", .34}, {"cross_feed", .14}, {"ground_ball", .10}}
	strengths     = []share[domain.Strength]{{"even", .82}, {"down", .14}, {"up", .04}}
	levels        = []share[domain.Band]{{domain.High, .55}, {domain.Mid, .28}, {domain.Low, .17}}
	bands         = []share[domain.Band]{{domain.Low, .34}, {domain.Mid, .29}, {domain.High, .37}}
	sides         = []share[domain.Side]{{domain.StickSide, .34}, {domain.Middle, .29}, {domain.OffSide, .37}}
	styles        = map[domain.Band][]share[domain.ReleaseStyle]{
		domain.High: {{"overhand", .8}, {"three_quarter", .2}},
		domain.Mid:  {{"three_quarter", .4}, {"sidearm", .5}, {"backhand", .1}},
		domain.Low:  {{"underhand", .7}, {"sidearm", .3}},
	}
	feet   = []share[domain.Feet]{{"planted", .35}, {"on_the_run", .45}, {"quick_stick", .20}}
	misses = []share[domain.Outcome]{{domain.Wide, .58}, {domain.Blocked, .26}, {domain.Pipe, .16}}
	bounce = map[domain.Band]float64{domain.Low: .48, domain.Mid: .15, domain.High: .02}
)

// phases gives the shares of the phases in a code of play.
func phases(code domain.CodeOfPlay) []share[domain.Phase] {
	switch code {
	case "womens_field":
		return []share[domain.Phase]{{"settled", .60}, {"transition", .20}, {"failed_clear", .05}, {"free_position", .15}}
	case "sixes":
		return []share[domain.Phase]{{"settled", .62}, {"transition", .32}, {"failed_clear", .06}}
	default:
		return []share[domain.Phase]{{"settled", .74}, {"transition", .20}, {"failed_clear", .06}}
	}
}

// circumstances draws a shot up to the moment of its release and, for one on goal, where it finishes. The outcome of a
// shot on goal is settled later: until then it stands as a save.
func (d dice) circumstances(c domain.CompetitionFields, onGoal float64, hand domain.Hand) domain.ShotFields {
	phase := pick(d, phases(c.CodeOfPlay))
	strength, arrival, level := pick(d, strengths), pick(d, settledArrivals), pick(d, levels)
	style, foot := pick(d, styles[level]), pick(d, feet)
	switch phase {
	case "transition", "failed_clear":
		arrival = pick(d, breakArrivals)
	case "free_position":
		arrival = "restart"
	}
	f := domain.ShotFields{
		Outcome: domain.Save, Phase: &phase, Strength: &strength, Arrival: &arrival,
		ReleaseLevel: &level, ReleaseStyle: &style, ShooterFeet: &foot,
		Deflected: arrival != "rebound" && d.chance(.03), GoalieOut: d.chance(.01),
	}
	d.spot(&f, phase, arrival)
	if !d.chance(onGoal) {
		f.Outcome = pick(d, misses)
		return f
	}
	d.finish(&f, c, hand)
	return f
}

// spot draws where the ball was released, in metres from the middle of the goal line.
func (d dice) spot(f *domain.ShotFields, phase domain.Phase, arrival domain.Arrival) {
	inside := .16
	switch {
	case arrival == "rebound":
		inside = 1
	case arrival == "feed_from_behind":
		inside = .75
	case arrival == "cross_feed", arrival == "ground_ball":
		inside = .35
	case phase == "transition":
		inside = .35
	}
	distance := d.between(5.6, 12.5)
	bearing := pick(d, []share[[2]float64]{{[2]float64{0, 29}, .44}, {[2]float64{31, 59}, .42}, {[2]float64{61, 79}, .14}})
	if phase == "free_position" {
		distance = d.between(4.5, 8)
	} else if d.chance(inside) {
		distance, bearing = d.between(2.2, 5.4), [2]float64{0, 72}
	}
	angle := d.between(bearing[0], bearing[1]) * math.Pi / 180
	if d.chance(.5) {
		angle = -angle
	}
	f.BallXM, f.BallYM = tenth(distance*math.Sin(angle)), tenth(distance*math.Cos(angle))
}

// finish draws where the ball crosses the plane of the goal, well within a third each way.
func (d dice) finish(f *domain.ShotFields, c domain.CompetitionFields, hand domain.Hand) {
	band, side := pick(d, bands), pick(d, sides)
	bounced := d.chance(bounce[band])
	f.FinishBand, f.FinishSide, f.Bounce = &band, &side, &bounced
	third := c.GoalHeightM / 3
	up := third * (map[domain.Band]float64{domain.Low: 0, domain.Mid: 1, domain.High: 2}[band] + d.between(.15, .85))
	x := c.GoalWidthM / 3 * (map[domain.Side]float64{domain.OffSide: -1, domain.Middle: 0, domain.StickSide: 1}[side] + d.between(-.35, .35))
	if hand == domain.Left {
		x = -x
	}
	f.FinishXM, f.FinishUpM = hundredth(x), hundredth(up)
}

func tenth(v float64) *float64     { return rounded(v, 10) }
func hundredth(v float64) *float64 { return rounded(v, 100) }

func rounded(v, per float64) *float64 {
	v = math.Round(v*per) / per
	return &v
}
