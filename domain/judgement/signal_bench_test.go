package judgement

import (
	"testing"
	"time"

	"cagework/domain"
	"cagework/domain/stats"
)

// BenchmarkWatch runs one target's charts over 500 tries when the limit of the mix is known already, and compares the
// first run, which has to find it ("cold").
func BenchmarkWatch(b *testing.B) {
	tries := seasonOf(500, 500, .5, .5, 1)
	var limits Limits
	start := time.Now()
	Watch(tries, chart(), &limits, Defaults().Signal)
	cold := time.Since(start).Seconds()
	b.ReportAllocs()
	for b.Loop() {
		Watch(tries, chart(), &limits, Defaults().Signal)
	}
	b.ReportMetric(cold/(b.Elapsed().Seconds()/float64(b.N)), "cold")
}

// BenchmarkFitDifficulty makes the whole fit that is stored, the choice of its scale and spread and the fits without each
// part of the goalies included, and compares it with the fit of all shots once.
func BenchmarkFitDifficulty(b *testing.B) {
	shots, _ := world{goalies: 16, games: 10, shotsAGame: 25, effect: .2, seed: 3}.play()
	b.ReportAllocs()
	for b.Loop() {
		if fit := fitOf(shots); !fit.Enough {
			b.Fatal(fit.Reason)
		}
	}
	whole := b.Elapsed().Seconds() / float64(b.N)
	b.ReportMetric(whole/fitOnce(b, shots), "fits")
}

func fitOnce(b *testing.B, shots []*domain.CountedShot) float64 {
	b.Helper()
	of := DifficultyFit{CodeOfPlay: "mens_field", Level: "college"}
	data := of.gather(shots)
	data.describe(shotFeatures)
	start := time.Now()
	if _, err := stats.FitTable(data.Table, stats.Ridge{Scale: .5, Spread: .2}, stats.Everything, nil); err != nil {
		b.Fatal(err)
	}
	return time.Since(start).Seconds()
}
