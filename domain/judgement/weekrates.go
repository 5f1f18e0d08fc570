package judgement

import (
	"cmp"
	"slices"
	"sync"

	"cagework/domain"
	"cagework/domain/stats"
)

// ActiveTargets gives the targets in use, in the order of causes.
func ActiveTargets(all []domain.Target) []domain.Target {
	out := slices.DeleteFunc(slices.Clone(all), func(t domain.Target) bool { return !t.Fields.Active })
	slices.SortFunc(out, func(a, b domain.Target) int {
		return cmp.Or(cmp.Compare(a.Fields.Cause, b.Fields.Cause), cmp.Compare(a.Fields.Code, b.Fields.Code))
	})
	return out
}

// AllPeers is the peers of a program in a week, those of each code of play and level apart; each is worked out when a rate
// asks for it. The zero value judges each rate alone.
type AllPeers struct{ plays []playPeers }

type playPeers struct {
	code  domain.CodeOfPlay
	level domain.Level
	peers func() *Peers
}

// PeersOf is what a program's goalies let think of each other by their counts at its active targets.
func PeersOf(targets []domain.Target, counted []domain.PeerCount, bounds Thresholds) AllPeers {
	var all AllPeers
	for _, code := range domain.CodesOfPlay {
		for _, level := range domain.Levels {
			var charted []Charted
			for _, c := range counted {
				if c.CodeOfPlay == code && c.Level == level {
					charted = append(charted, Charted{c.Goalie, countsAt(targets, c)})
				}
			}
			if len(charted) > 0 {
				slices.SortFunc(charted, func(a, b Charted) int { return slices.Compare(a.Goalie[:], b.Goalie[:]) })
				all.plays = append(all.plays, playPeers{code, level, sync.OnceValue(func() *Peers {
					return NewPeers(code, level, targets, charted, bounds)
				})})
			}
		}
	}
	return all
}

// countsAt gives the counts in the order of the targets.
func countsAt(targets []domain.Target, c domain.PeerCount) []stats.Count {
	out := make([]stats.Count, len(targets))
	for _, count := range c.Counts {
		if i := slices.IndexFunc(targets, func(t domain.Target) bool { return t.ID == count.Target }); i >= 0 {
			out[i] = stats.Count{Hits: count.Hits, Tries: count.Tries}
		}
	}
	return out
}

// Judge gives a goalie's rate as the peers of its play let judge it; see [Peers.Judge].
func (a AllPeers) Judge(goalie domain.ID, r Rate) Rate {
	for _, p := range a.plays {
		if p.code == r.CodeOfPlay && p.level == r.Level && r.Tally.Tries > 0 {
			return p.peers().Judge(goalie, r)
		}
	}
	return r
}

// RatesOf gives a goalie's rates at the targets in every play, leaning on the peers, those to believe listed; see
// [ListOwn].
func RatesOf(
	goalie domain.ID, targets []domain.Target, plays []Play, week domain.Week, peers AllPeers, bounds Thresholds,
) []Rate {
	var rates []Rate
	for _, play := range plays {
		for _, t := range targets {
			rates = append(rates, peers.Judge(goalie, RateOf(t, play, week, bounds)))
		}
	}
	ListOwn(rates, bounds)
	ListByCount(rates, bounds)
	return rates
}
