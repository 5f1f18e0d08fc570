package postgres_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// BenchmarkFacts works out what follows from every shot of a season, of which all was marked, beside the reading of these
// shots' rows from Postgres, in turn. of_reading is the time of the one over that of the other; no readings, clears or games
// are read, so that it is the most that facts can add to any request that has them worked out once. Not one memory allocation
// is allowed. What a million shots cost without a database, [field.Ground.Derive]'s own benchmark says.
func BenchmarkFacts(b *testing.B) {
	s := newScene(b)
	s.season(b)
	s.exec(b, `UPDATE shots SET arrival = 'feed', ball_x_m = 12 * random() - 6, ball_y_m = 2 + 10 * random(),
		pass_x_m = 12 * random() - 6, pass_y_m = 2 + 10 * random(), catch_to_release_s = 0.5, release_up_m = 1.5, speed_ms = 30,
		goalie_x_m = random() - 0.5, goalie_y_m = random(), ball_uncertain_m = 0.05, goalie_uncertain_m = 0.05,
		finish_x_m = random() - 0.5, finish_up_m = random(), bounce = false, film_ms = clock_s
		WHERE program_id = $1`, s.program.ID)
	s.exec(b, `VACUUM ANALYZE shots`)
	read := func() []domain.Shot {
		shots, err := s.stores.ShotsOf(b.Context(), s.director, s.goalie.ID)
		require.NoError(b, err)
		return shots
	}
	shots := read()
	counted := make([]domain.CountedShot, len(shots))
	for i := range shots {
		counted[i] = domain.CountedShot{Shot: shots[i], Competition: s.competition.Fields}
	}
	derive := func() (known int) {
		for i := range counted {
			if facts, ok := counted[i].Facts(); ok && facts.TravelSpeedKnown && facts.StanceKnown && facts.FlightKnown {
				known++
			}
		}
		return known
	}
	known := derive()
	require.Greater(b, known, 9*len(shots)/10, "nearly all have all that can follow")
	require.Zero(b, testing.AllocsPerRun(1, func() { derive() }), "a shot's facts leave nothing for the collector")
	var reading, deriving time.Duration
	for b.Loop() {
		start := time.Now()
		read()
		mid := time.Now()
		derive()
		reading, deriving = reading+mid.Sub(start), deriving+time.Since(mid)
	}
	each := float64(b.N * len(shots))
	b.ReportMetric(float64(reading.Nanoseconds())/each, "ns/read")
	b.ReportMetric(float64(deriving.Nanoseconds())/each, "ns/shot")
	b.ReportMetric(float64(deriving)/float64(reading), "of_reading")
}
