package stats

import "testing"

// BenchmarkLimit sets the limit of one chart of a season of 300 tries and compares it with one walk of the chain at that
// limit: the search must take few of them.
func BenchmarkLimit(b *testing.B) {
	scores := Cusum{2, PointsANat}.Scores([]Risk{{.2, .65}, {.5, .45}, {.3, .25}}, 1)
	limit := 0
	for b.Loop() {
		limit, _ = CusumLimit(scores, 300, .1)
	}
	search := least(func() { CusumLimit(scores, 300, .1) })
	b.ReportMetric(search/least(func() { SignalChance(scores, limit, 300) }), "walks")
}
