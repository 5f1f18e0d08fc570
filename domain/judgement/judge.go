package judgement

import (
	"cagework/domain"
	"cagework/domain/stats"
)

// Judge is what stores are given of this package. Fits are made by bounds that no program sets.
type Judge struct{}

var _ domain.Judge = Judge{}

// Baselines gives what the week of the records knows of a target, as [Freeze] keeps it; see domain.Judge. The rates are
// those that the week itself shows, judged by the program's bounds as they stand.
func (Judge) Baselines(r domain.WeekRecords, t domain.Target) []domain.BlockBaseline {
	out, bounds := []domain.BlockBaseline{}, BoundsOf(r.Program.Fields.Judgement)
	peers := PeersOf(ActiveTargets(r.Targets), r.Peers, bounds)
	for _, play := range Plays(r.Faced) {
		rate := peers.Judge(r.Goalie.ID, RateOf(t, play, r.Week, bounds))
		frozen := Freeze(rate, bounds)
		if frozen == nil {
			continue
		}
		out = append(out, domain.BlockBaseline{
			CodeOfPlay: rate.CodeOfPlay, Level: rate.Level, From: rate.From, To: rate.To,
			Hits: rate.Tally.Hits, Tries: rate.Tally.Tries, Unseen: rate.Tally.Unseen,
			TargetRate: *rate.TargetRate, ChanceBelow: *rate.ChanceBelow, Frozen: frozen.keep(),
		})
	}
	return out
}

// keep gives the baseline as it is stored.
func (b Baseline) keep() domain.FrozenRate {
	out := domain.FrozenRate{
		Hits: b.Hits, Tries: b.Tries, Peers: b.Peers, Plain: b.Plain, Level: b.Level, Method: b.Method,
		Prior: make([]domain.BetaPart, len(b.Prior)),
	}
	for i, c := range b.Prior {
		out.Prior[i] = domain.BetaPart(c)
	}
	return out
}

// Kept gives the baseline that was stored with a block.
func Kept(f domain.FrozenRate) Baseline {
	out := Baseline{
		Hits: f.Hits, Tries: f.Tries, Peers: f.Peers, Plain: f.Plain, Level: f.Level, Method: f.Method,
		Prior: make(stats.Mixture, len(f.Prior)),
	}
	for i, c := range f.Prior {
		out.Prior[i] = stats.Component(c)
	}
	return out
}
