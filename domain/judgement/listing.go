package judgement

import "cagework/domain/stats"

// ListByCount marks the rates that a list by the counts alone would hold, as an audit beside [ListOwn]: the chance of so
// few hits with the true rate exactly at its target, over all that are judged together, at the bounds' share of wrong ones
// (Benjamini and Hochberg). It takes no rate for likelier than another, so it names seldom what is not there and often
// misses what is.
func ListByCount(rates []Rate, bounds Thresholds) {
	var judged []int
	var p []float64
	for i, r := range rates {
		rates[i].ByCount = false
		if !r.Told() {
			continue
		}
		judged = append(judged, i)
		p = append(p, 1-stats.MidTail(r.Tally.Hits, r.Tally.Tries, bounds.line(*r.TargetRate)))
	}
	for k, share := range stats.BenjaminiHochberg(p) {
		rates[judged[k]].ByCount = share <= bounds.OwnList
	}
}
