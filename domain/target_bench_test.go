package domain

import (
	"math/rand/v2"
	"testing"
	"time"
)

// BenchmarkCount counts a target with eight clauses about where things were over a season of 10,000 shots of which everything
// was marked. of_anew is the time where each shot remembers its facts, the first working out included, over that where each
// clause has them worked out anew.
func BenchmarkCount(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	shots := make([]*CountedShot, 10_000)
	for i := range shots {
		shots[i] = placed()
		f := &shots[i].Shot.Fields
		f.BallXM, f.BallYM, f.Outcome = new(12*random.Float64()-6), new(2+10*random.Float64()), Save
		shots[i].Game.Fields.Kind = KindGame
	}
	least := new(-1e9)
	target := TargetFields{Kinds: []GameKind{KindGame}, Hit: []Clause{{Field: "off_angle_cm", GT: least}, {Field: "on_angle", Is: "yes"}}}
	for _, name := range []string{"goal_angle_deg", "swing_deg", "travel_m", "flight_time_s", "depth_m", "vertical_angle_deg"} {
		target.Of = append(target.Of, Clause{Field: name, GT: least})
	}
	count := func(remember bool) time.Duration {
		start := time.Now()
		for _, s := range shots {
			s.remembered = nil
			if remember {
				s.Remember()
			}
		}
		if t := target.Count(shots); t.Tries < len(shots)/2 {
			b.Fatalf("%d tries", t.Tries)
		}
		return time.Since(start)
	}
	var remembering, anew time.Duration
	for b.Loop() {
		remembering += count(true)
		anew += count(false)
	}
	each := float64(b.N * len(shots))
	b.ReportMetric(float64(remembering.Nanoseconds())/each, "ns/shot")
	b.ReportMetric(remembering.Seconds()/anew.Seconds(), "of_anew")
}
