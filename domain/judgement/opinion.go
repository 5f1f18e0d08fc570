package judgement

import (
	"math"

	"cagework/domain"
	"cagework/domain/stats"
)

// Opinion is what is thought of a true rate beside its count. Rates and chances run from 0 to 1.
type Opinion struct {
	Mean          float64 // the expected true rate: the goalie's own drawn toward the peers'
	Low80, High80 float64 // holds the true rate with a chance of 80 in 100
	Peers         int     // other goalies with tries
	PeersMean     float64 // the expected mean of the true rates of all
	Assumed       bool    // so few peers that how alike they are is more assumed than seen
	Reliability   float64 // how much the own count weighs against the peers': n/(n + M), expected
	Spread        float64 // about the standard deviation of the true rates of all, on the log-odds
	MoreTries     *int    // that would settle it more likely than not; nil when it is settled or would take over 320
	Alike         float64 // φ over games: above 1 when the tries of a game are alike; 1 also when it cannot be told
	AlikeTold     bool    // whether φ could be told
	Worth         float64 // independent tries that all of them are worth
}

// moreTries are the steps in which more tries are asked for.
var moreTries = []int{5, 10, 15, 20, 30, 40, 60, 80, 120, 160, 240, 320}

// Judge gives a goalie's rate as the peers let judge it: the chance below the target, the shortfall and the state anew,
// the opinion beside them, and the interval widened where the tries of a game are alike. A rate that is not judged, has
// no tries, or is of a goalie or target that is not among the peers' stays as it is.
func (p *Peers) Judge(goalie domain.ID, r Rate) Rate {
	target, judged := p.target[r.Target.ID]
	member, known := p.goalie[goalie]
	if !judged || !known || r.TargetRate == nil || r.Tally.Tries == 0 ||
		r.CodeOfPlay != p.CodeOfPlay || r.Level != p.Level {
		return r
	}
	count := stats.Count{Hits: r.Tally.Hits, Tries: r.Tally.Tries}
	posterior := p.model.Posterior(target, member)
	if among := p.model.Count(target, member); among != count {
		posterior = posterior.Without(among).With(count)
	}
	at := p.bounds.line(*r.TargetRate)
	below, shortfall := posterior.Judge(at)
	r.short = below
	if at != *r.TargetRate { // what a gap is worth is reckoned to the target itself
		r.short, shortfall = posterior.Judge(*r.TargetRate)
	}
	state := p.bounds.judge(count.Hits, count.Tries, r.Target.Fields.MinTries, below)
	r.ChanceBelow, r.Shortfall, r.State, r.posterior = &below, shortfall, &state, posterior

	o := Opinion{Mean: posterior.Mean(), Peers: p.others(target, member), PeersMean: p.model.Mean(target)}
	o.Low80, o.High80 = posterior.Interval(Likely)
	o.Assumed = o.Peers < p.bounds.FewPeers
	o.Reliability = p.model.Reliability(target, count.Tries)
	o.Spread = logOddsSpread(o.PeersMean, float64(count.Tries)*(1-o.Reliability)/o.Reliability)
	if below < p.bounds.ClearGap && below >= p.bounds.LeaningMet {
		o.MoreTries = triesToDecide(posterior.Matched(), at, p.bounds)
	}
	o.Alike, o.Worth, o.AlikeTold = clustering(r.Tally)
	low, high := stats.WilsonOf(*r.Rate, o.Worth, p.bounds.Interval)
	r.Low, r.High = &low, &high
	r.Opinion = &o
	return r
}

// logOddsSpread gives about the standard deviation of the log-odds of rates that have a beta distribution with shapes μM and
// (1 − μ)M: that of the rates, √(μ(1−μ)/(M+1)), over μ(1−μ), the slope of the rate against its log-odds.
func logOddsSpread(mu, m float64) float64 { return 1 / math.Sqrt(mu*(1-mu)*(m+1)) }

// triesToDecide gives the first step at which more tries would more likely than not settle the matter.
func triesToDecide(d stats.Beta, target float64, bounds Thresholds) *int {
	for _, m := range moreTries {
		if below, met := d.Decided(m, target, bounds.ClearGap, bounds.LeaningMet); below+met >= 0.5 {
			return &m
		}
	}
	return nil
}

// clustering gives φ of a tally over its games.
func clustering(t domain.Tally) (phi, worth float64, told bool) {
	place := map[domain.ID]int{}
	var hits, tries []int
	add := func(shots []*domain.CountedShot, hit int) {
		for _, s := range shots {
			i, seen := place[s.Game.ID]
			if !seen {
				i = len(tries)
				place[s.Game.ID] = i
				hits, tries = append(hits, 0), append(tries, 0)
			}
			hits[i] += hit
			tries[i]++
		}
	}
	add(t.Made, 1)
	add(t.Missed, 0)
	if len(tries) == 0 {
		return 1, float64(t.Tries), false
	}
	return stats.Clustering(hits, tries)
}
