package judgement

import (
	"cagework/domain"
	"cagework/domain/stats"
)

// Rate is what one target's look-back says about one goalie in one code of play and level. Rates, chances and the
// shortfall run from 0 to 1.
type Rate struct {
	Target     domain.Target
	CodeOfPlay domain.CodeOfPlay
	Level      domain.Level
	From, To   domain.Date  // the look-back: whole weeks that end with the week asked for
	Games      int          // of the target's kinds, played in the look-back
	Tally      domain.Tally // the counts, and the shots behind them

	Rate        *float64 // nil without tries, as are its interval's ends
	Low, High   *float64
	TargetRate  *float64      // nil when the target is not judged in this play
	ChanceBelow *float64      // that the true rate is below the target, by more than the margin; nil without tries or target rate
	Shortfall   float64       // by how much the true rate is expected to fall short of the target
	State       *domain.State // nil when the target is not judged in this play
	Listed      bool          // whether it is among the gaps to believe; see [ListOwn]
	ByCount     bool          // whether the counts alone would list it; see [ListByCount]
	Opinion     *Opinion      // what the peers add; nil when it was judged alone

	posterior stats.Mixture // what is thought of the true rate; nil without tries or target rate
	short     float64       // chance that the true rate is below the target, be it by less than the margin
}

// RateOf counts a target over its look-back, which ends with the week, and judges the outcome.
func RateOf(target domain.Target, play Play, week domain.Week, bounds Thresholds) Rate {
	to := week.Sunday()
	from := to.AddDays(1 - 7*target.Fields.Weeks)
	faced := Between(play.Faced, from, to)
	r := Rate{
		Target: target, CodeOfPlay: play.CodeOfPlay, Level: play.Level, From: from, To: to,
		Games:      games(faced, target.Fields.Kinds),
		Tally:      target.Fields.Count(faced.Shots),
		TargetRate: target.Fields.RateFor(play.CodeOfPlay, play.Level),
	}
	r.measure(bounds)
	r.judge(bounds)
	return r
}

func (r *Rate) measure(bounds Thresholds) {
	if r.Tally.Tries == 0 {
		return
	}
	rate := float64(r.Tally.Hits) / float64(r.Tally.Tries)
	low, high := stats.Wilson(r.Tally.Hits, r.Tally.Tries, bounds.Interval)
	r.Rate, r.Low, r.High = &rate, &low, &high
}

func (r *Rate) judge(bounds Thresholds) {
	if r.TargetRate == nil {
		return
	}
	chance := 0.0
	if r.Tally.Tries > 0 {
		below := belowTarget(r.Tally, *r.TargetRate, bounds)
		r.ChanceBelow, r.short, r.Shortfall, r.posterior = &below.chance, below.short, below.shortfall, below.posterior
		chance = below.chance
	}
	state := bounds.judge(r.Tally.Hits, r.Tally.Tries, r.Target.Fields.MinTries, chance)
	r.State = &state
}

// Short tells whether the rate falls short: it is below its target, clearly or probably, and stands out from chance
// among the goalie's rates. Only what falls short is worked on.
func (r Rate) Short() bool { return r.Listed && r.Gap() }

// Gap tells whether the rate, taken by itself, is below its target, clearly or probably.
func (r Rate) Gap() bool {
	return r.State != nil && (*r.State == domain.ClearGap || *r.State == domain.LeaningBelow)
}

// Told tells whether there are enough tries to say how the rate stands against its target.
func (r Rate) Told() bool { return told(r.State) }

// TriesAGame gives the target's tries per game played in the look-back.
func (r Rate) TriesAGame() float64 {
	if r.Games == 0 {
		return 0
	}
	return float64(r.Tally.Tries) / float64(r.Games)
}
