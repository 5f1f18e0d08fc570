package judgement

import "cagework/domain/stats"

// ListAlone marks those of one goalie's rates, each judged without peers, that stand out from chance among all that are
// judged together: a goalie with two dozen targets always has some that look low. What is judged is every rate that is
// neither without data nor with too few tries. To be listed a rate must pass twice, each time at the bounds' share of wrong ones:
//
//   - by the chances: of those listed, at most the share is expected to be at the target after all;
//   - by the counts alone, against true rates that lie exactly at their targets: then at most that share of lists names
//     anything at all.
//
// The second is what keeps a goalie who reaches every target from being sent to practice for nothing. The chances alone
// would not: they take each rate without its peers, as if any true rate were as likely as any other.
func ListAlone(rates []Rate, bounds Thresholds) {
	ListOwn(rates, bounds)
	var judged []int
	var p []float64
	for i, r := range rates {
		if !r.Told() {
			continue
		}
		judged = append(judged, i)
		p = append(p, 1-stats.MidTail(r.Tally.Hits, r.Tally.Tries, *r.TargetRate))
	}
	for k, share := range stats.BenjaminiHochberg(p) {
		rates[judged[k]].Listed = rates[judged[k]].Listed && share <= bounds.OwnList
	}
}
