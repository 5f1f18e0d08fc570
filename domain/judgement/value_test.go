package judgement

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// setTarget asks how often the goalie was set.
func setTarget() domain.Target {
	t := named("set_rate", []domain.Clause{}...)
	t.Fields.Of, t.Fields.Weeks = []domain.Clause{}, 52
	t.Fields.Hit = []domain.Clause{{Field: setHabit, Is: "yes"}}
	return t
}

func TestWhatAHitIsWorth(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 8, games: 8, shotsAGame: 25, effect: .2, set: .8, read: .6, how: domain.FilmBlind, seed: 11}.play()
	fitted := Fitted{ID: id("fit"), Difficulty: fitOf(shots)}
	fitted.Habits = FitHabits(shots, habitList, fitted.Difficulty, today(), Defaults().Habits)
	require.True(t, fitted.Habits.Effects[0].Enough)
	plays := Plays(domain.FacedRecords{Shots: shots[:200]}) // the first goalie's
	own := RateOf(setTarget(), plays[0], week, Defaults())
	require.Positive(t, own.Tally.Tries)

	value := Values(map[FitKey]Fitted{{"mens_field", "college"}: fitted}, habitList, plays, Defaults())
	save, known := value(rateOf(lowSave(), 9, 22))
	assert.True(t, known && !save.Assumed)
	assert.InDelta(t, 1, save.Goals, 0, "a save is a goal less")
	set, known := value(own)
	assert.True(t, known && !set.Assumed)
	// A habit that adds .8 to the log-odds of a save adds, near even odds, about .8/4 saves a shot.
	assert.InDelta(t, .8/4, set.Goals, .08)
	assert.InDelta(t, fitted.Habits.Effects[0].Error/4, set.SD, .02)

	w := WorthAt(own, &fitted, plays[0], habitList, Defaults())
	require.NotNil(t, w)
	assert.InDelta(t, set.Goals, w.SavesAShot.Mean, .01, "the same as what the order reckons with")
	assert.Nil(t, WorthAt(rateOf(lowSave(), 9, 22), &fitted, plays[0], habitList, Defaults()), "a save is no habit")
	assert.Nil(t, WorthAt(own, nil, plays[0], habitList, Defaults()))

	// Half of her games were scrimmages: a target that asks for games alone has half the shots, in half the games.
	for _, s := range plays[0].Faced.Shots {
		if s.Game.Fields.PlayedOn.Time().YearDay()%8 < 4 {
			s.Game.Fields.Kind = domain.KindScrimmage
		}
	}
	gamesOnly := setTarget()
	gamesOnly.Fields.Kinds = []domain.GameKind{domain.KindGame}
	r := RateOf(gamesOnly, plays[0], week, Defaults())
	require.Equal(t, 4, r.Games)
	half := WorthAt(r, &fitted, plays[0], habitList, Defaults())
	require.NotNil(t, half)
	var played []*domain.CountedShot
	for _, s := range plays[0].Faced.Shots {
		if s.Game.Fields.Kind == domain.KindGame {
			played = append(played, s)
		}
	}
	require.Len(t, played, 100)
	aim := HabitAim{Name: habitList[0].Fields.Name, Target: *r.TargetRate, Games: 4, Rate: r.posterior.Quantile}
	want := fitted.Habits.Effects[0].WorthOf(aim, played, habitList, &fitted.Difficulty, Defaults().Habits)
	assert.Equal(t, want, *half)
	withPractice := setTarget()
	withPractice.Fields.Kinds = append(withPractice.Fields.Kinds, domain.KindPractice)
	both := WorthAt(RateOf(withPractice, plays[0], week, Defaults()), &fitted, plays[0], habitList, Defaults())
	assert.InDelta(t, w.GoalsAGame.Mean, both.GoalsAGame.Mean, 1e-9, "the model does not speak of practice")

	for name, fits := range map[string]map[FitKey]Fitted{
		"no fit": nil, "too few readings": {{"mens_field", "college"}: {Difficulty: fitted.Difficulty}},
	} {
		assumed, known := Values(fits, habitList, plays, Defaults())(own)
		assert.True(t, known && assumed.Assumed, name)
		assert.InDelta(t, Defaults().AssumedWorth, assumed.Goals, 0, name)
	}
	other := own
	other.Level = "12u"
	assumed, _ := value(other)
	assert.True(t, assumed.Assumed, "a fit of another level says nothing")
	assert.Nil(t, FittedIn(map[FitKey]Fitted{{"mens_field", "college"}: fitted}, "box", "college"))
}

// A habit that seems to do harm is worth nothing, never less.
func TestAHarmfulHabitIsWorthNothing(t *testing.T) {
	e := HabitEffect{LogOdds: -1, Error: .1}
	v, known := e.aTry([]float64{0, 1}, .5)
	assert.True(t, known)
	assert.Zero(t, v.Goals)
	assert.Positive(t, v.SD)
	_, known = e.aTry(nil, .5)
	assert.False(t, known)
}

func TestAChartStartsFromThePeers(t *testing.T) {
	r := rateOf(lowSave(), 5, 15)
	assert.InDelta(t, (5+20*.5)/40.0, StartOf(r, Defaults()), 1e-12)
	r.Opinion = &Opinion{PeersMean: .61}
	assert.InDelta(t, .61, StartOf(r, Defaults()), 0)
	r.Opinion, r.TargetRate = nil, nil
	assert.InDelta(t, 5.5/21, StartOf(r, Defaults()), 1e-12)
}
