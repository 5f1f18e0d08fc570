package judgement

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"cagework/domain"
	"cagework/domain/stats"
)

const (
	benchGoalies = 50
	benchTargets = 16
	benchShots   = 500
)

// starters gives sixteen targets of the starter data that are judged in men's college field.
func starters(tb testing.TB) []domain.Target {
	tb.Helper()
	var out []domain.Target
	for _, t := range domain.Starter(id("program")).Targets {
		if t.Fields.RateFor("mens_field", "college") != nil && len(out) < benchTargets {
			out = append(out, t)
		}
	}
	if len(out) != benchTargets {
		tb.Fatalf("%d targets", len(out))
	}
	return out
}

// season gives what a goalie faced in twenty-five games of the last eight weeks, habits read on film.
func season(r *rand.Rand, goalie int) Play {
	habits := domain.Starter(id("program")).Habits
	play := Play{CodeOfPlay: "mens_field", Level: "college"}
	competition := comp
	competition.GoalWidthM, competition.GoalHeightM = 1.83, 1.83
	for i := range benchShots {
		n := i / 20
		day := domain.Week{Year: 2026, Number: 15}.Sunday().AddDays(2*n - 50)
		g := domain.Game{ID: id(fmt.Sprint("game ", goalie, n)), Fields: domain.GameFields{PlayedOn: day, Kind: domain.KindGame}}
		f := domain.ShotFields{
			Outcome: domain.Save, FinishBand: &domain.Bands[r.IntN(3)], FinishSide: &domain.Sides[r.IntN(3)],
			ReleaseLevel: &domain.Bands[r.IntN(3)], Arrival: &domain.Arrivals[r.IntN(len(domain.Arrivals))],
			Phase: &domain.Phases[r.IntN(3)], Strength: &domain.Strengths[r.IntN(3)], Bounce: new(r.IntN(4) == 0),
			BallXM: new(10*r.Float64() - 5), BallYM: new(2 + 9*r.Float64()), FilmMs: new(1000 * i),
		}
		if r.Float64() < .48 {
			f.Outcome = domain.Goal
		}
		reading := domain.Reading{Fields: domain.ReadingFields{HowRead: domain.FilmBlind, Habits: map[string]domain.Answer{}}}
		for _, h := range habits {
			reading.Fields.Habits[h.Fields.Code] = domain.Answers[r.IntN(2)]
		}
		play.Faced.Shots = append(play.Faced.Shots, &domain.CountedShot{
			Game: g, Competition: competition, Shot: domain.Shot{ID: id(fmt.Sprint(goalie, i)), Fields: f},
			Reading: &reading, StickHand: domain.Right, Habits: habits,
		})
	}
	return play
}

// board gives the counts of fifty goalies, and one's play and rates.
func board(tb testing.TB) ([]domain.Target, []Charted, Play) {
	tb.Helper()
	r, targets := rand.New(rand.NewPCG(1, 2)), starters(tb)
	var charted []Charted
	var first Play
	for i := range benchGoalies {
		play := season(r, i)
		c := Charted{Goalie: id(fmt.Sprint("goalie ", i))}
		for _, t := range targets {
			tally := t.Fields.Count(play.Faced.Shots)
			c.Counts = append(c.Counts, stats.Count{Hits: tally.Hits, Tries: tally.Tries})
		}
		charted = append(charted, c)
		if i == 0 {
			first = play
		}
	}
	return targets, charted, first
}

// BenchmarkBoard works out a whole board from counts, then again after one goalie's one new shot, a low save off a feed
// that counts for six targets. The aims are one second of one core, and a tenth of the time again.
func BenchmarkBoard(b *testing.B) {
	targets, charted, _ := board(b)
	var cold, warm time.Duration
	b.ReportAllocs()
	for b.Loop() {
		start := time.Now()
		p := NewPeers("mens_field", "college", targets, charted, Defaults())
		ListBoard(p.Board(), Defaults())
		cold += time.Since(start)

		var counts []NewCount
		for t := range 6 {
			c := charted[7].Counts[t]
			counts = append(counts, NewCount{charted[7].Goalie, targets[t].ID, stats.Count{Hits: c.Hits + 1, Tries: c.Tries + 1}})
		}
		start = time.Now()
		p.Set(counts...)
		ListBoard(p.Board(), Defaults())
		warm += time.Since(start)
	}
	n := float64(b.N)
	b.ReportMetric(cold.Seconds()*1e3/n, "ms/cold")
	b.ReportMetric(cold.Seconds()/n, "of_a_second")
	b.ReportMetric(warm.Seconds()*1e3/n, "ms/new_shot")
	b.ReportMetric(warm.Seconds()/cold.Seconds(), "of_cold")
}

// BenchmarkGoalie judges one goalie's 500 shots with the peers warm: sixteen rates counted and judged, listed, put in
// order, and pairs found for the first three. The yardstick is the counting alone, which is what a week did before it
// leant on peers.
func BenchmarkGoalie(b *testing.B) {
	targets, charted, play := board(b)
	p := NewPeers("mens_field", "college", targets, charted, Defaults())
	var counting, judging time.Duration
	b.ReportAllocs()
	for b.Loop() {
		start := time.Now()
		var rates []Rate
		for _, t := range targets {
			rates = append(rates, RateOf(t, play, week, Defaults()))
		}
		counting += time.Since(start)
		start = time.Now()
		for i := range rates {
			rates[i] = p.Judge(charted[0].Goalie, rates[i])
		}
		ListOwn(rates, Defaults())
		order := Choice{Plays: []Play{play}, Week: week, Value: OnlySaves, Most: 3, Bounds: Defaults(), Rates: rates}.Order()
		for _, g := range order {
			PairsOf(g.Rate, nil)
		}
		judging += time.Since(start)
	}
	n := float64(b.N)
	b.ReportMetric(counting.Seconds()*1e3/n, "ms/counting")
	b.ReportMetric(judging.Seconds()*1e3/n, "ms/judging")
	b.ReportMetric(judging.Seconds()/counting.Seconds(), "of_counting")
}
