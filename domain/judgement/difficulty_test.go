package judgement

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"cagework/domain"
)

func at(x, y float64) *domain.CountedShot {
	return &domain.CountedShot{Competition: field10, Shot: domain.Shot{Fields: domain.ShotFields{BallXM: &x, BallYM: &y}}}
}

// A goal of 1.8288 m seen from straight out at 0.9144 m fills a right angle; from a post's line the angles follow from
// right triangles. From behind no goal shows.
func TestGoalAngle(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ x, y, degrees float64 }{
		{0, .9144, 90}, {0, -.9144, 0}, {5, 0, 0}, {-5, 0, 0}, {.9144, 1.8288, 45}, {-.9144, 1.8288, 45},
		{0, 9.144, 2 * math.Atan(.1) * 180 / math.Pi},
	} {
		assert.InDelta(t, c.degrees, goalAngle(at(c.x, c.y)), 1e-9, "%+v", c)
	}
	assert.InDelta(t, 5, distance(at(3, 4)), 1e-12)
	assert.True(t, math.IsNaN(goalAngle(&domain.CountedShot{Competition: field10})))
}

func TestFeatures(t *testing.T) {
	t.Parallel()
	value := func(s *domain.CountedShot, name string) float64 {
		at := slices.Index(shotColumns, name)
		require.GreaterOrEqual(t, at, 0, name)
		row := make([]float64, len(shotColumns))
		measureShot(shotTraits, s, row)
		return row[at]
	}
	s := at(3, 4)
	f := &s.Shot.Fields
	f.FinishBand, f.ReleaseLevel, f.Arrival = new(domain.Low), new(domain.High), new(domain.Arrival("cross_feed"))
	for name, want := range map[string]float64{
		"place_unknown": 0, "finish_band_low": 1, "finish_band_mid": 0, "finish_band_unknown": 0, "finish_side_unknown": 1,
		"finish_side_middle": 0, "bounce": 0, "bounce_unknown": 1, "change_of_plane_full": 1, "change_of_plane_none": 0,
		"arrival_cross_feed": 1, "arrival_unknown": 0, "phase_unknown": 1, "deflected": 0, "release_level_high": 1,
	} {
		assert.InDelta(t, want, value(s, name), 0, name)
	}
	f.FinishBand, f.FinishXM, f.FinishUpM, f.Outcome, s.StickHand = nil, new(.8), new(.1), domain.Save, domain.Left
	assert.InDelta(t, 1, value(s, "finish_band_low"), 0, "by the finish point")
	assert.InDelta(t, 1, value(s, "finish_side_off_side"), 0)
	assert.InDelta(t, 0, value(s, "finish_side_unknown"), 0)
	assert.InDelta(t, 1, value(&domain.CountedShot{}, "place_unknown"), 0)
	assert.InDelta(t, 1, value(s, "swing_unknown"), 0)
	assert.InDelta(t, 1, value(s, "flight_unknown"), 0)
	f.PassXM, f.PassYM, f.SpeedMS = new(-4.0), new(3.0), new(25.0)
	assert.InDelta(t, 90, value(s, "swing_deg"), 1e-9, "(3, 4) and (-4, 3) stand at right angles")
	assert.InDelta(t, math.Hypot(3-.8, 4)/25, value(s, "flight_time_s"), 1e-9, "to the finish point at 25 m/s")
	assert.InDelta(t, 0, value(s, "swing_unknown")+value(s, "flight_unknown"), 0)
	names := slices.Sorted(slices.Values(shotColumns))
	assert.Len(t, slices.Compact(names), len(shotColumns), "no two have one name")
}

// Where the ball swung far and the flight was short, fewer were saved: a fit finds both, and leaves out what nobody marked.
func TestSwingAndFlightMakeShotsHarder(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 8, games: 10, shotsAGame: 25, seed: 9}.play()
	r := rand.New(rand.NewPCG(9, 1))
	across, slow := [2]float64{-5, 5}, [2]float64{18, 36}
	mark := func(s *domain.CountedShot, side, speed int) {
		f := &s.Shot.Fields
		f.BallXM, f.BallYM, f.PassXM, f.PassYM, f.SpeedMS = new(5.0), new(6.0), new(across[side]), new(6.1), new(slow[speed])
	}
	for i, s := range shots {
		if i%5 == 0 {
			continue // nobody marked this one
		}
		side, speed := r.IntN(2), r.IntN(2)
		mark(s, side, speed)
		s.Shot.Fields.Outcome = domain.Goal
		if r.Float64() < .45+.25*float64(side)-.15*float64(speed) {
			s.Shot.Fields.Outcome = domain.Save
		}
	}
	fit := fitOf(shots)
	require.True(t, fit.Enough, fit.Reason)
	chance := func(side, speed int) float64 {
		s := *shots[1]
		mark(&s, side, speed)
		return fit.SaveChance(&s)
	}
	for side := range 2 {
		assert.InDelta(t, .15, chance(side, 0)-chance(side, 1), .07, "a shot twice as fast")
		assert.InDelta(t, .25, chance(1, side)-chance(0, side), .07, "a ball that did not swing")
	}
}

func TestTooFewShotsFallBackToThePooledRate(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 2, games: 2, shotsAGame: 10, seed: 1}.play()
	fit := fitOf(shots)
	saves := 0
	for _, s := range shots {
		if s.Shot.Fields.Outcome == domain.Save {
			saves++
		}
	}
	assert.False(t, fit.Enough)
	assert.Contains(t, fit.Reason, "30 of each are needed")
	assert.InDelta(t, (float64(saves)+.5)/41, fit.PooledRate, 1e-12)
	e := fit.Expect(shots[:10], .95)
	assert.True(t, e.Pooled)
	want := 10 * fit.PooledRate
	assert.InDelta(t, want, *e.Expected, 1e-12)
	assert.InDelta(t, float64(e.Saves)-10*fit.PooledRate, *e.Above, 1e-12)

	none := fitOf(nil)
	assert.False(t, none.Enough)
	assert.InDelta(t, .5, none.PooledRate, 0)
	e = none.Expect(nil, .95)
	assert.Nil(t, e.Expected)
	assert.Nil(t, e.Low)
}

// Shots that are all alike but for chance: nothing is there to foretell, and the fit must not pretend.
func TestAFitThatForetellsNothingIsNotUsed(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 6, games: 5, shotsAGame: 20, seed: 4}.play()
	r := rand.New(rand.NewPCG(1, 1))
	for _, s := range shots {
		s.Shot.Fields.Outcome = domain.Outcomes[r.IntN(2)]
	}
	fit := fitOf(shots)
	assert.False(t, fit.Enough)
	assert.NotEmpty(t, fit.Reason)
}

func TestDifficultyFindsWhatTheWorldKnows(t *testing.T) {
	t.Parallel()
	w := world{goalies: 12, games: 10, shotsAGame: 20, effect: .25, seed: 2}
	shots, truth := w.play()
	fit := fitOf(shots)
	require.True(t, fit.Enough, fit.Reason)
	assert.Equal(t, len(shots), fit.Shots)
	assert.Equal(t, "2026-03-02", fit.From.String())
	assert.Equal(t, "2026-04-07", fit.To.String())
	assert.Less(t, fit.Scores.LogLoss, fit.Scores.PooledLogLoss)
	assert.InDelta(t, 1, fit.Scores.Slope, .25)
	assert.Len(t, fit.Scores.Calibration, 10)
	assert.InDelta(t, stat.StdDev(w.effects(), nil), fit.GoalieSpread, .12, "what was drawn, not what it was drawn from")
	square, pooled := 0.0, 0.0
	for i, s := range shots {
		square += (fit.SaveChance(s) - truth[i]) * (fit.SaveChance(s) - truth[i])
		pooled += (fit.PooledRate - truth[i]) * (fit.PooledRate - truth[i])
	}
	assert.Less(t, square, pooled/4, "most of what differs between shots is found")
}

func TestAGoalieIsJudgedByTheOthersShots(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 8, games: 8, shotsAGame: 25, effect: .25, seed: 5}.play()
	before := fitOf(shots)
	require.True(t, before.Enough, before.Reason)
	hers := shots[:200]
	want := make([]float64, len(hers))
	for i, s := range hers {
		want[i] = before.SaveChance(s)
	}
	model := before.modelFor(hers[0])
	require.Contains(t, model.LeftOut, goalieID(0))
	after := before
	after.Parts = nil
	moved := 0.0
	for i, s := range hers {
		moved = math.Max(moved, math.Abs(after.SaveChance(s)-want[i]))
	}
	assert.Positive(t, moved, "the fit of all shots is another")
}

func TestFitsAreTheSameHoweverTheShotsAreOrderedAndKept(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 5, games: 6, shotsAGame: 20, effect: .25, seed: 6}.play()
	fit := fitOf(shots)
	require.True(t, fit.Enough, fit.Reason)
	shuffled := append([]*domain.CountedShot{}, shots...)
	rand.New(rand.NewPCG(1, 2)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	assert.Equal(t, fit, fitOf(shuffled))

	raw, err := json.Marshal(fit)
	require.NoError(t, err)
	var back DifficultyFit
	require.NoError(t, json.Unmarshal(raw, &back))
	for _, s := range shots[:50] {
		assert.InDelta(t, fit.SaveChance(s), back.SaveChance(s), 1e-15)
	}
	assert.Equal(t, fit.Expect(shots[:50], .9), back.Expect(shots[:50], .9))
}

func TestOneGoalieAloneIsFitted(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 1, games: 30, shotsAGame: 30, seed: 7}.play()
	fit := fitOf(shots)
	require.True(t, fit.Enough, fit.Reason)
	assert.Empty(t, fit.Parts, "there is nobody else to foretell from")
	assert.Positive(t, fit.SaveChance(shots[0]))
}

func TestWhatTheModelSpeaksOf(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 1, games: 1, shotsAGame: 1, seed: 1}.play()
	s := shots[0]
	s.Shot.Fields.Outcome = domain.Goal
	assert.True(t, inDifficulty(s))
	for _, spoil := range []func(*domain.CountedShot){
		func(s *domain.CountedShot) { s.Shot.Fields.Outcome = domain.Wide },
		func(s *domain.CountedShot) { s.Shot.Fields.WavedOff = true },
		func(s *domain.CountedShot) { s.Shot.Fields.GoalieOut = true },
		func(s *domain.CountedShot) { s.Shot.Found.FacedGoalieID = nil },
		func(s *domain.CountedShot) { s.Game.Fields.Kind = domain.KindPractice },
	} {
		other := *s
		spoil(&other)
		assert.False(t, inDifficulty(&other))
	}
	box := fitOf(shots)
	box.CodeOfPlay = "box"
	assert.Empty(t, box.gather(shots).shots, "field shots never enter a box fit")
}

func TestGamesAddUpToTheSeason(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 6, games: 8, shotsAGame: 25, effect: .25, seed: 8}.play()
	fit := fitOf(shots)
	require.True(t, fit.Enough, fit.Reason)
	hers := shots[:200]
	season, expected, saves := fit.Expect(hers, .9), 0.0, 0
	games := fit.ExpectByGame(hers, .9)
	require.Len(t, games, 8)
	for _, g := range games {
		expected, saves = expected+*g.Expected.Expected, saves+g.Saves
		assert.LessOrEqual(t, *g.Low, *g.Above)
		assert.GreaterOrEqual(t, *g.High, *g.Above)
	}
	assert.InDelta(t, *season.Expected, expected, 1e-9)
	assert.Equal(t, season.Saves, saves)
	assert.False(t, season.Pooled)

	// Over the exact limit the normal range takes over; both must tell about the same.
	exactLow, exactHigh := savesRange(make300(fit, shots), .05, .9)
	normalLow, normalHigh := savesRange(append(make300(fit, shots), fit.SaveChance(shots[0])), .05, .9)
	assert.InDelta(t, exactLow, normalLow, 2)
	assert.InDelta(t, exactHigh, normalHigh, 2)
}

func make300(fit DifficultyFit, shots []*domain.CountedShot) []float64 {
	var chances []float64
	for _, s := range shots[:mostExact] {
		chances = append(chances, fit.SaveChance(s))
	}
	return chances
}

// Over many goalies of no effect the interval must hold nothing-above as often as it says.
func TestTheIntervalHoldsAnAverageGoalieAsOftenAsItSays(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 300, games: 1, shotsAGame: 30, seed: 9}.play()
	fit := fitOf(shots[:2400])
	require.True(t, fit.Enough, fit.Reason)
	inside := 0
	for g := 100; g < 300; g++ {
		e := fit.Expect(shots[30*g:30*(g+1)], .9)
		if *e.Low <= 0 && *e.High >= 0 {
			inside++
		}
	}
	assert.GreaterOrEqual(t, inside, 172, "90 %% of 200 less two standard errors")
	assert.Less(t, inside, 200, "but not always")
}
