package judgement

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
	"cagework/domain/stats"
)

var limits Limits

// seasonOf draws tries of one chance of a miss up to a place and another after it, ten a day.
func seasonOf(n, place int, before, after float64, seed uint64) []Try {
	r := rand.New(rand.NewPCG(seed, 5))
	var tries []Try
	for i := range n {
		p := before
		if i >= place {
			p = after
		}
		tries = append(tries, Try{On: today().AddDays(4 * (i / 10)), Chance: .5, Miss: r.Float64() < p})
	}
	return tries
}

func chart() Chart {
	return Chart{Baseline: ByOwnRate, Spread: .5, Start: .5, Level: .10, SeasonTries: 300, From: today()}
}

func watch(tries []Try, c Chart) Signal { return Watch(tries, c, &limits, Defaults().Signal) }

func TestSignalStates(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		tries []Try
		want  SignalState
	}{
		{nil, TooEarly},
		{seasonOf(30, 30, .5, .5, 1), TooEarly},
		{seasonOf(250, 250, .5, .5, 1), Steady},
		{seasonOf(250, 120, .35, .75, 2), Falling},
		{seasonOf(250, 120, .75, .35, 3), Rising},
	} {
		s := watch(c.tries, chart())
		assert.Equal(t, c.want, s.State, "%s", s.Sentence)
		assert.Equal(t, c.want == Falling || c.want == Rising, s.RaisedOn != nil)
		assert.Equal(t, len(c.tries), s.Tries)
		assert.NotEmpty(t, s.Sentence)
		assert.True(t, s.Worse >= 0 && s.Worse < 1 && s.Better >= 0 && s.Better < 1)
	}
	falling := watch(seasonOf(250, 120, .35, .75, 2), chart())
	assert.Equal(t, "Falling since "+falling.RaisedOn.Time().Format("2 January")+": more misses than the season before it led to expect. By the weeks' counts alone, "+
		"chance that it changed this season: more than 99 in 100, most likely after the week of 8 June.", falling.Sentence)
	steady := watch(seasonOf(250, 250, .5, .5, 1), chart())
	assert.Equal(t, "Steady over 250 tries. By the weeks' counts alone, chance that it changed this season: "+
		InHundred(*steady.ChangeChance)+".", steady.Sentence)
	assert.Less(t, *steady.ChangeChance, .5)
	sudden := watch(append(slices.Repeat([]Try{{On: today(), Chance: .5}}, 40),
		slices.Repeat([]Try{{On: today(), Chance: .5, Miss: true}}, 40)...), chart())
	assert.Equal(t, Falling, sudden.State)
	assert.True(t, sudden.ChangeChance == nil && strings.HasSuffix(sudden.Sentence, "led to expect."), "one week: %s", sudden.Sentence)
	assert.Greater(t, *falling.ChangeChance, .9)
	assert.Less(t, *falling.CurrentRate, .35)

	late := chart()
	late.From = today().AddDays(1000)
	over := watch(seasonOf(250, 120, .35, .75, 2), late)
	assert.Equal(t, Steady, over.State, "what was raised long ago is over")
	assert.Nil(t, over.RaisedOn)
}

// A goalie who is far from the rate to start from, but always the same, is no more often called changed than stated.
func TestBeingDifferentIsNotChanging(t *testing.T) {
	t.Parallel()
	raised := 0
	const seasons = 150
	for seed := range uint64(seasons) {
		tries := seasonOf(300, 300, .65, .65, 100+seed) // .6 log-odds off
		s := watch(tries, chart())
		if s.RaisedOn != nil {
			raised++
		}
	}
	assert.LessOrEqual(t, float64(raised)/seasons, .20+3*math.Sqrt(.2*.8/seasons), "two charts at .10 each")
	assert.Positive(t, raised)
}

// The same saves on shots that are known to be harder are no slump.
func TestAHardScheduleIsNotASlump(t *testing.T) {
	t.Parallel()
	slump, schedule := 0, 0
	const seasons = 40
	for seed := range uint64(seasons) {
		tries := seasonOf(240, 120, .4, .6, 500+seed)
		if watch(tries, chart()).State == Falling {
			slump++
		}
		for i := range tries {
			tries[i].Chance = .4
			if i >= 120 {
				tries[i].Chance = .6
			}
		}
		known := chart()
		known.Baseline = ByExpectedSaves
		if watch(tries, known).State == Falling {
			schedule++
		}
	}
	assert.GreaterOrEqual(t, slump, 27, "odds more than doubled, and it is not known why")
	assert.LessOrEqual(t, schedule, 7)
}

func TestBoardLevel(t *testing.T) {
	t.Parallel()
	b := Defaults().Signal
	assert.InDelta(t, .002, BoardLevel(50, 16, b), 0, "4 in 1,600 are .0025 each")
	assert.InDelta(t, .005, BoardLevel(50, 8, b), 0)
	assert.InDelta(t, .10, BoardLevel(1, 1, b), 0, "never looser than a page's")
	assert.InDelta(t, .0005, BoardLevel(10000, 16, b), 0)
	assert.InDelta(t, .10, BoardLevel(0, 0, b), 0)
	assert.InDelta(t, .05, PageLevel(24, b), 0, "2.5 in 48 are .052 each")
	assert.InDelta(t, .10, PageLevel(2, b), 0, "never looser than the loosest")
	assert.InDelta(t, .05, BoardLevel(1, 24, b), 0, "never looser than a page's: 4 in 48 are .083")
}

func TestSeasonTries(t *testing.T) {
	t.Parallel()
	b := Defaults().Signal
	assert.Equal(t, 50, SeasonTries(0, 0, 15, b))
	assert.Equal(t, 75, SeasonTries(20, 5, 15, b), "60 are foreseen")
	assert.Equal(t, 75, SeasonTries(21, 5, 15, b))
	assert.Equal(t, 112, SeasonTries(80, 20, 15, b), "more games than a season has")
}

func TestTriesOfATarget(t *testing.T) {
	t.Parallel()
	target := lowSave()
	faced := append(shots(game(1, "2026-04-11", domain.KindGame), 1, 1), shots(game(2, "2026-04-18", domain.KindGame), 0, 1)...)
	faced = append(faced, shots(game(3, "2026-04-18", domain.KindPractice), 5, 5)...)
	high := shots(game(2, "2026-04-18", domain.KindGame), 1, 0)[0]
	high.Shot.Fields.FinishBand = new(domain.High)
	faced = append(faced, high)
	tries := RateTries(target.Fields, faced, .55)
	require.Len(t, tries, 3)
	for i, miss := range []bool{false, true, true} {
		assert.Equal(t, miss, tries[i].Miss)
		assert.InDelta(t, .45, tries[i].Chance, 1e-12)
	}
	saves := SaveTries(target.Fields, faced, &DifficultyFit{PooledRate: .6})
	assert.InDelta(t, .4, saves[0].Chance, 1e-12)
	assert.True(t, HitIsASave(target.Fields))
	target.Fields.Hit = []domain.Clause{{Field: setHabit, Is: "yes"}}
	assert.False(t, HitIsASave(target.Fields))
}

func TestSignalOfATarget(t *testing.T) {
	t.Parallel()
	all, _ := world{goalies: 8, games: 8, shotsAGame: 25, effect: .25, seed: 5}.play()
	fit := fitOf(all)
	require.True(t, fit.Enough, fit.Reason)
	target := lowSave().Fields
	target.Of = target.Of[:1] // every shot on goal
	season := Season{
		Shots: all[:200], Difficulty: &fit, Start: .5, GamesPlayed: 8, SeasonGames: 15, Level: .10,
		Week: domain.WeekOf(all[199].Game.Fields.PlayedOn),
	}
	s := SignalOf(target, season, &limits, Defaults().Signal)
	assert.Equal(t, ByExpectedSaves, s.Baseline)
	assert.Equal(t, 200, s.Tries)
	assert.Equal(t, 378, s.SeasonTries, "375 are foreseen: 50 and half as much again until it is enough")
	assert.Greater(t, len(s.Risks), 1)
	season.Difficulty = nil
	s = SignalOf(target, season, &limits, Defaults().Signal)
	assert.Equal(t, ByOwnRate, s.Baseline)
	target.Hit = []domain.Clause{{Field: setHabit, Is: "yes"}}
	season.Difficulty = &fit
	assert.Equal(t, TooEarly, SignalOf(target, season, &limits, Defaults().Signal).State, "no habit was read")
}

func TestMixOf(t *testing.T) {
	t.Parallel()
	assert.Equal(t, []stats.Risk{{Share: 1, Chance: .5}}, MixOf(nil, .3))
	var tries []Try
	for i := range 300 {
		tries = append(tries, Try{Chance: []float64{.25, .45, .65}[i%3], Miss: i%20 < 9})
	}
	mix := MixOf(tries, .3)
	require.Len(t, mix, 3)
	for k, want := range []float64{.25, .45, .65} {
		assert.InDelta(t, want, mix[k].Chance, 1e-9)
		assert.InDelta(t, 1.0/3, mix[k].Share, 1e-12)
	}
	for i := range tries {
		tries[i].Chance = .45
	}
	assert.Equal(t, []stats.Risk{{Share: 1, Chance: .45}}, MixOf(tries, .3))
	assert.Len(t, MixOf(tries[:1], .3), 1)
}

// What is left out of the mix hardly matters: whatever the chances of a season's tries are, the chart of their mix raises
// about as many false alarms as is stated.
func TestFalseAlarmsHardlyDependOnTheShapeOfTheMix(t *testing.T) {
	t.Parallel()
	const season, level = 150, .05
	var limits Limits
	r := rand.New(rand.NewPCG(1, 2))
	var squares float64
	const mixes = 40
	for range mixes {
		middle, width, skew := .7*r.NormFloat64(), 1.2*r.Float64(), r.Float64()
		tries, truth := make([]Try, 120), make([]stats.Risk, 120)
		for i := range tries {
			z := r.NormFloat64()
			if r.Float64() < skew/2 {
				z = 1.5 * math.Abs(z)
			}
			tries[i].Chance = stats.Sigmoid(middle + width*z)
			truth[i] = stats.Risk{Share: 1.0 / 120, Chance: tries[i].Chance}
		}
		limit := limits.For(MixOf(tries, 1e-6), season, level, 2)
		for chart, at := range map[stats.Cusum]int{cusum(2): limit.Worse, cusum(.5): limit.Better} {
			off := stats.SignalChance(chart.Scores(truth, 1), at, season)/level - 1
			squares += off * off
			assert.InDelta(t, 0, off, .30)
		}
	}
	assert.Less(t, math.Sqrt(squares/(2*mixes)), .12)
}

func TestLimitsKeepTheirLevel(t *testing.T) {
	t.Parallel()
	var fresh Limits
	mix := []stats.Risk{{Share: 1.0 / 3, Chance: .3}, {Share: 1.0 / 3, Chance: .45}, {Share: 1.0 / 3, Chance: .6}}
	l := fresh.For(mix, 300, .10, 2)
	assert.LessOrEqual(t, stats.SignalChance(cusum(2).Scores(mix, 1), l.Worse, 300), .10)
	assert.LessOrEqual(t, stats.SignalChance(cusum(.5).Scores(mix, 1), l.Better, 300), .10)
	assert.Equal(t, l, fresh.For(mix, 300, .10, 2))
	other := fresh.For(hitsOf(mix), 300, .10, 2)
	assert.Equal(t, Limit{l.Better, l.Worse, l.Needed}, other, "what is a miss for one is a hit for the other")
	better, _ := stats.CusumLimit(cusum(.5).Scores(mix, 1), 300, .10)
	assert.Equal(t, better, l.Better, "the chart for fewer misses itself")
	board := fresh.For(mix, 300, .005, 2)
	assert.Greater(t, board.Worse, l.Worse)
	assert.Greater(t, board.Needed, l.Needed)
}

func TestSignalProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 150).Draw(t, "n")
		var tries []Try
		for i := range n {
			tries = append(tries, Try{
				On: today().AddDays(i / 5), Chance: rapid.Float64Range(0, 1).Draw(t, "chance"), Miss: rapid.Bool().Draw(t, "miss"),
			})
		}
		s := watch(tries, chart())
		if math.IsNaN(s.Worse) || math.IsNaN(s.Better) || s.Needed < 1 || s.ChangeChance != nil && math.IsNaN(*s.ChangeChance) {
			t.Fatalf("%+v", s)
		}
		share := 0.0
		for _, r := range s.Risks {
			share += r.Share
		}
		if math.Abs(share-1) > 1e-9 {
			t.Fatalf("%+v", s.Risks)
		}
	})
}

// Who was always far from the peers has not changed: the first tries only teach the chart who this is.
func TestBeingUnlikeThePeersIsNoChange(t *testing.T) {
	t.Parallel()
	called, season := 0, 300
	for seed := range uint64(200) {
		c := chart()
		c.Spread = Defaults().Signal.RateSpread
		s := watch(seasonOf(season, season, .85, .85, 1000+seed), c) // the peers miss half
		if s.RaisedOn != nil {
			called++
		}
	}
	t.Logf("%d of 200 goalies who always missed .85 are called changed at some time", called)
	// The two charts announce a tenth each; 1.15 times that is the aim while the baseline is learnt, and three standard errors.
	const share = 1.15 * .20
	assert.LessOrEqual(t, float64(called), 200*share+3*math.Sqrt(200*share*(1-share)))

	b := Defaults().Signal
	first := slices.Repeat([]Try{{On: today(), Chance: .5, Miss: true}}, b.LearnTries)
	s := watch(first, chart())
	assert.Zero(t, s.Worse, "nothing is charted while the record is learnt")
	assert.Positive(t, watch(append(first, first[0]), chart()).Worse)
}

func TestTheSpreadOfThePeersOnTheLogOdds(t *testing.T) {
	// The variance of a beta distribution with shapes 12 and 12 is 1/100; the slope of its log-odds at the middle is 4.
	assert.InDelta(t, 4*.1, logOddsSpread(.5, 24), 1e-12)
	alike := peersOf(named("low_save"), stats.Count{Hits: 50, Tries: 100}, stats.Count{Hits: 51, Tries: 100}, stats.Count{Hits: 49, Tries: 100}, stats.Count{Hits: 50, Tries: 100})
	apart := peersOf(named("low_save"), stats.Count{Hits: 50, Tries: 100}, stats.Count{Hits: 81, Tries: 100}, stats.Count{Hits: 19, Tries: 100}, stats.Count{Hits: 50, Tries: 100})
	r := rateOf(named("low_save"), 50, 50)
	assert.Less(t, alike.Judge(id("0"), r).Opinion.Spread, .3)
	assert.Greater(t, apart.Judge(id("0"), r).Opinion.Spread, .7)
}
