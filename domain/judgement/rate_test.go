package judgement

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
)

var comp = domain.CompetitionFields{CodeOfPlay: "mens_field", Level: "college"}

// lowSave is a target with 20 tries at least over six weeks, to reach .50 in men's college field.
func lowSave() domain.Target {
	return domain.Target{Fields: domain.TargetFields{
		Code: "low_save", Weeks: 6, MinTries: 20,
		Of:    []domain.Clause{{Field: "on_goal", Is: true}, {Field: "finish_band", Is: "low"}},
		Hit:   []domain.Clause{{Field: "outcome", Is: "save"}},
		Kinds: []domain.GameKind{domain.KindGame, domain.KindScrimmage},
		Rates: []domain.TargetRate{{CodeOfPlay: "mens_field", Level: "college", Rate: .50}},
	}}
}

func game(n int, day string, kind domain.GameKind) domain.Game {
	d, err := domain.ParseDate(day)
	if err != nil {
		panic(err)
	}
	return domain.Game{ID: domain.NameID(domain.ID{}, fmt.Sprint("game ", n)), Fields: domain.GameFields{PlayedOn: d, Kind: kind}}
}

func shots(g domain.Game, saves, goals int) []*domain.CountedShot {
	var out []*domain.CountedShot
	for i := range saves + goals {
		f := domain.ShotFields{Outcome: domain.Save, FinishBand: new(domain.Low)}
		if i >= saves {
			f.Outcome = domain.Goal
		}
		out = append(out, &domain.CountedShot{Game: g, Competition: comp, Shot: domain.Shot{Fields: f}})
	}
	return out
}

var week = domain.Week{Year: 2026, Number: 15}

func rateOf(target domain.Target, saves, goals int) Rate {
	faced := domain.FacedRecords{Shots: shots(game(1, "2026-04-11", domain.KindGame), saves, goals)}
	return RateOf(target, Play{"mens_field", "college", faced}, week, Defaults())
}

func TestStates(t *testing.T) {
	for _, c := range []struct {
		saves, goals int
		want         domain.State
	}{
		{0, 0, domain.NoData},
		{0, 1, domain.TooFew},
		{9, 10, domain.TooFew}, // 19 tries
		{9, 22, domain.ClearGap},
		{9, 13, domain.LeaningBelow},
		{11, 11, domain.CantTell},
		{13, 9, domain.LeaningMet},
		{22, 9, domain.Met},
	} {
		r := rateOf(lowSave(), c.saves, c.goals)
		require.NotNil(t, r.State)
		assert.Equal(t, c.want, *r.State, "%d of %d", c.saves, c.saves+c.goals)
		assert.Equal(t, c.want == domain.ClearGap || c.want == domain.LeaningBelow, r.Gap())
		assert.False(t, r.Short(), "nobody listed it")
	}
}

func TestBoundsBelongToTheStateAbove(t *testing.T) {
	b := Defaults()
	for chance, want := range map[float64]domain.State{
		1: domain.ClearGap, .90: domain.ClearGap, .8999: domain.LeaningBelow, .75: domain.LeaningBelow,
		.7499: domain.CantTell, .25: domain.CantTell, .2499: domain.LeaningMet, .10: domain.LeaningMet,
		.0999: domain.Met, 0: domain.Met,
	} {
		assert.Equal(t, want, b.stateOf(chance), "%v", chance)
	}
}

func TestAWideIntervalIsTooFewWhateverTheTargetAsks(t *testing.T) {
	target := lowSave()
	target.Fields.MinTries = 1
	assert.Equal(t, domain.TooFew, *rateOf(target, 8, 8).State, "80 % interval of 8 of 16: .305 wide")
	assert.Equal(t, domain.CantTell, *rateOf(target, 9, 8).State, "of 9 of 17: .296")
}

func TestWithoutTriesThereIsNoRate(t *testing.T) {
	r := rateOf(lowSave(), 0, 0)
	assert.Nil(t, r.Rate)
	assert.Nil(t, r.Low)
	assert.Nil(t, r.High)
	assert.Nil(t, r.ChanceBelow)
	assert.Zero(t, r.TriesAGame())
}

func TestATargetWithoutARateHereIsNotJudged(t *testing.T) {
	target := lowSave()
	target.Fields.Rates = nil
	r := rateOf(target, 9, 22)
	assert.Nil(t, r.State)
	assert.Nil(t, r.TargetRate)
	assert.Nil(t, r.ChanceBelow)
	assert.InDelta(t, 9.0/31, *r.Rate, 1e-12, "but it is counted")
	assert.False(t, r.Short())
}

func TestTheLookBackEndsWithTheWeek(t *testing.T) {
	var faced domain.FacedRecords
	for i, day := range []string{"2026-03-01", "2026-03-02", "2026-04-12", "2026-04-13"} {
		faced.Shots = append(faced.Shots, shots(game(i, day, domain.KindGame), 1, 1)...)
	}
	faced.Shots = append(faced.Shots, shots(game(9, "2026-04-12", domain.KindPractice), 5, 5)...)
	faced.Stints = []domain.CountedStint{{Game: game(8, "2026-04-01", domain.KindScrimmage), Competition: comp}}
	r := RateOf(lowSave(), Play{"mens_field", "college", faced}, week, Defaults())
	assert.Equal(t, "2026-03-02", r.From.String())
	assert.Equal(t, "2026-04-12", r.To.String())
	assert.Equal(t, 4, r.Tally.Tries)
	assert.Equal(t, 3, r.Games, "two with shots, one with a stint; practice is not of the target's kinds")
	assert.InDelta(t, 4.0/3, r.TriesAGame(), 1e-12)
}

func TestPlaysAreApart(t *testing.T) {
	box := comp
	box.CodeOfPlay = "box"
	faced := domain.FacedRecords{Shots: shots(game(1, "2026-04-11", domain.KindGame), 2, 2)}
	faced.Stints = []domain.CountedStint{{Competition: box}}
	plays := Plays(faced)
	require.Len(t, plays, 2)
	assert.EqualValues(t, "mens_field", plays[0].CodeOfPlay)
	assert.Len(t, plays[0].Faced.Shots, 4)
	assert.Empty(t, plays[1].Faced.Shots)
	assert.Len(t, plays[1].Faced.Stints, 1)
}

func TestRateProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		saves, goals := rapid.IntRange(0, 60).Draw(t, "saves"), rapid.IntRange(0, 60).Draw(t, "goals")
		if saves+goals == 0 {
			return
		}
		r, better := rateOf(lowSave(), saves, goals), rateOf(lowSave(), saves+1, goals)
		if *r.Low > *r.Rate || *r.High < *r.Rate {
			t.Fatalf("the interval does not hold the rate")
		}
		if *better.ChanceBelow > *r.ChanceBelow || better.Shortfall > r.Shortfall {
			t.Fatalf("a save more makes it worse")
		}
		if r.Tally.Tries != len(r.Tally.Made)+len(r.Tally.Missed) {
			t.Fatalf("the shots behind the count are not its shots")
		}
	})
}
