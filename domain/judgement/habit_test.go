package judgement

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
	"cagework/domain/stats"
)

func habitFit(t *testing.T, w world) (HabitEffect, DifficultyFit, []*domain.CountedShot) {
	t.Helper()
	shots, _ := w.play()
	difficulty := fitOf(shots)
	fit := FitHabits(shots, habitList, difficulty, today(), Defaults().Habits)
	require.Len(t, fit.Effects, 2)
	assert.Equal(t, setHabit, fit.Effects[0].Habit)
	assert.False(t, fit.Effects[1].Enough, "on angle was never seen")
	assert.Zero(t, fit.Effects[1].Yes+fit.Effects[1].No, "not seen is never a no")
	return fit.Effects[0], difficulty, shots
}

func TestHabitsAreFoundFromBlindReadings(t *testing.T) {
	t.Parallel()
	e, _, _ := habitFit(t, world{goalies: 8, games: 8, shotsAGame: 25, effect: .2, set: .8, read: .6, how: domain.FilmBlind, seed: 11})
	require.True(t, e.Enough, e.Reason)
	assert.Equal(t, domain.FilmBlind, e.HowRead)
	assert.Empty(t, e.Warning)
	assert.InDelta(t, .8, e.LogOdds, 2.5*e.Error)
	assert.Less(t, e.Error, .2)
}

func TestReadingsThatKnewTheResultAreWarnedOf(t *testing.T) {
	t.Parallel()
	e, _, _ := habitFit(t, world{goalies: 8, games: 8, shotsAGame: 25, effect: .2, set: .8, read: .6, how: domain.Film, seed: 11})
	require.True(t, e.Enough, e.Reason)
	assert.Equal(t, domain.Film, e.HowRead)
	assert.Contains(t, e.Warning, "with the result known")
	assert.Contains(t, e.Warning, "0 were read blind")
}

// Blind readings that are many but nearly all alike tell nothing of the habit: then all readings are taken, and the warning
// says what is lacking.
func TestBlindReadingsMustBeOfBothSorts(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 8, games: 8, shotsAGame: 25, effect: .2, set: .8, read: .6, how: domain.FilmBlind, seed: 11}.play()
	blindNo := 0
	for _, s := range shots {
		if s.Reading == nil || s.Reading.Fields.Habits[setHabit] != domain.No {
			continue
		}
		if blindNo++; blindNo > 10 {
			s.Reading.Fields.HowRead = domain.Film
		}
	}
	e := FitHabits(shots, habitList, fitOf(shots), today(), Defaults().Habits).Effects[0]
	require.True(t, e.Enough, e.Reason)
	assert.Equal(t, domain.Film, e.HowRead)
	assert.Contains(t, e.Warning, "no on 10); 150 would do, with 25 of each")
}

func TestThinEvidenceIsDrawnTowardNothing(t *testing.T) {
	t.Parallel()
	w := world{goalies: 8, games: 8, shotsAGame: 25, effect: .2, set: 2.5, read: .05, how: domain.Film, seed: 12}
	thin, _, _ := habitFit(t, w)
	w.read = .6
	thick, _, _ := habitFit(t, w)
	require.True(t, thin.Enough, thin.Reason)
	require.True(t, thick.Enough, thick.Reason)
	assert.Less(t, thin.LogOdds, thick.LogOdds-.5)
	assert.Greater(t, thin.Error, 1.5*thick.Error)
}

func TestWithoutDifficultyOrReadingsThereIsNoWorth(t *testing.T) {
	t.Parallel()
	few, _, _ := habitFit(t, world{goalies: 2, games: 2, shotsAGame: 10, set: 1, read: 1, how: domain.FilmBlind, seed: 13})
	assert.False(t, few.Enough)
	assert.Contains(t, few.Reason, "cannot be held equal yet")
	unread, difficulty, shots := habitFit(t, world{goalies: 8, games: 6, shotsAGame: 25, read: .005, how: domain.FilmBlind, seed: 14})
	assert.False(t, unread.Enough)
	assert.Contains(t, unread.Reason, "25 of each are needed")
	w := unread.WorthOf(aim(30, 60, .8, 10), shots[:150], habitList, &difficulty, Defaults().Habits)
	assert.False(t, w.Enough)
	assert.Contains(t, w.Sentence, "cannot be told yet")
}

func aim(yes, n int, target float64, games int) HabitAim {
	return HabitAim{Name: "Set before release", Target: target, Games: games, Rate: RateQuantiles(stats.Jeffreys(yes, n))}
}

// With an even shot, an effect that is known for certain and a rate that is known for certain the worth follows by hand.
func TestWorthByHand(t *testing.T) {
	t.Parallel()
	difficulty := &DifficultyFit{PooledRate: .5}
	shots, _ := world{goalies: 1, games: 2, shotsAGame: 12, seed: 15}.play()
	e := HabitEffect{Habit: setHabit, Enough: true, LogOdds: 1, Yes: 100, No: 100, HowRead: domain.FilmBlind}
	a := HabitAim{Name: "Set before release", Target: .75, Games: 2, Rate: func(float64) float64 { return .5 }}
	w := e.WorthOf(a, shots, habitList, difficulty, Defaults().Habits)
	require.True(t, w.Enough)
	saves := 1/(1+math.Exp(-.5)) - 1/(1+math.Exp(.5)) // half an odds-unit above and below even
	assert.Equal(t, 24, w.Shots)
	assert.InDelta(t, saves, w.SavesAShot.Mean, 1e-12)
	assert.InDelta(t, saves*.25*12, w.GoalsAGame.Mean, 1e-12, "12 shots a game, a quarter of them moved")
	assert.InDelta(t, w.GoalsAGame.Low, w.GoalsAGame.High, 1e-12)
	assert.Contains(t, w.Sentence, "24 more of 100")
	assert.Contains(t, w.Sentence, "proves no cause")

	a.Target = .4
	w = e.WorthOf(a, shots, habitList, difficulty, Defaults().Habits)
	assert.InDelta(t, 0, w.GoalsAGame.Mean, 0, "nothing is gained beyond the target")
	assert.Contains(t, w.Sentence, "at the target already")

	shots[0].Shot.Fields.Deflected = true
	assert.Equal(t, 23, e.WorthOf(a, shots, habitList, difficulty, Defaults().Habits).Shots, "it cannot be read on a deflected shot")
}

func TestWorthProperties(t *testing.T) {
	t.Parallel()
	difficulty := &DifficultyFit{PooledRate: .5}
	shots, _ := world{goalies: 1, games: 2, shotsAGame: 5, seed: 16}.play()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 80).Draw(t, "n")
		yes := rapid.IntRange(0, n).Draw(t, "yes")
		e := HabitEffect{
			Habit: setHabit, Enough: true, LogOdds: rapid.Float64Range(-2, 2).Draw(t, "effect"),
			Error: rapid.Float64Range(0, 1).Draw(t, "error"),
		}
		target := rapid.Float64Range(.05, .95).Draw(t, "target")
		w := e.WorthOf(aim(yes, n, target, 2), shots, habitList, difficulty, Defaults().Habits)
		g := w.GoalsAGame
		if math.IsNaN(g.Mean) || g.Low > g.Mean+1e-9 && g.Low > g.High || math.Abs(g.Mean) > 5 {
			t.Fatalf("%+v", w)
		}
		stronger := e
		stronger.LogOdds += .1
		if better := stronger.WorthOf(aim(yes, n, target, 2), shots, habitList, difficulty, Defaults().Habits); better.GoalsAGame.Mean < g.Mean-1e-9 {
			t.Fatalf("a stronger effect is worth less")
		}
		if yes < n && e.LogOdds > 3*e.Error {
			if nearer := e.WorthOf(aim(yes+1, n, target, 2), shots, habitList, difficulty, Defaults().Habits); nearer.GoalsAGame.Mean > g.Mean*1.05+1e-6 {
				t.Fatalf("nearer to the target there is more to gain: %v and %v", nearer.GoalsAGame, g)
			}
		}
	})
}
