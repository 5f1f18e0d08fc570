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
	data.describe(shotTraits)
	start := time.Now()
	if _, err := stats.FitTable(data.Table, stats.Ridge{Scale: .5, Spread: .2}, stats.Everything, nil); err != nil {
		b.Fatal(err)
	}
	return time.Since(start).Seconds()
}

// BenchmarkDifficultyOfASeason reads a stored fit back and compares one goalie's 250 shots with it, as a week does twice
// for each goalie.
func BenchmarkDifficultyOfASeason(b *testing.B) {
	shots, _ := world{goalies: 16, games: 10, shotsAGame: 25, effect: .2, seed: 3}.play()
	found, err := Judge{}.Fit(domain.FitFields{CodeOfPlay: "mens_field", Level: "college", FittedOn: today()}, shots, habitList)
	if err != nil || !found.Enough {
		b.Fatal(err, found.Reason)
	}
	stored := []domain.Fit{{Fields: domain.FitFields{CodeOfPlay: "mens_field", Level: "college"}, Found: found}}
	var reading, comparing time.Duration
	b.ReportAllocs()
	for b.Loop() {
		start := time.Now()
		fits, err := ReadFits(stored)
		if err != nil {
			b.Fatal(err)
		}
		reading += time.Since(start)
		fit := fits[FitKey{"mens_field", "college"}]
		start = time.Now()
		fit.Difficulty.Expect(shots[:250], .95)
		comparing += time.Since(start)
	}
	n := float64(b.N)
	b.ReportMetric(reading.Seconds()*1e3/n, "ms/reading")
	b.ReportMetric(comparing.Seconds()*1e3/n, "ms/comparing")
	b.ReportMetric(float64(len(*found.Model)), "bytes/model")
}
