package summary

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
)

// pooledFit is a fit of too few shots: every shot is saved at one rate.
func pooledFit(level domain.Level, rate float64) domain.Fit {
	return domain.Fit{
		ID: idOf("fit "+string(level), 1), Fields: domain.FitFields{CodeOfPlay: "mens_field", Level: level, FittedOn: date("2026-04-12")},
		Found: domain.FitFound{Shots: 40, Saves: 20, Goalies: 2, Reason: "too few", PooledRate: rate, Habits: json.RawMessage("[]")},
	}
}

// modelFit is a fit whose model knows the distance alone. It has never seen the goalie of the tests in its part, whose
// constant is another.
func modelFit() domain.Fit {
	f := pooledFit("high_school", .5)
	const model = `{"prior_scale":1,"goalie_spread":0.2,"effective_parameters":2,"names":["distance_m"],
		"all":{"left_out":[],"constant":9,"coefficients":[1.2],"centre":[10],"spread":[6]},
		"parts":[{"left_out":[%q],"constant":0.25,"coefficients":[1.5],"centre":[10],"spread":[6]}],
		"covariance":[[0.01],[0,0.04]]}`
	raw, scores := json.RawMessage(fmt.Sprintf(model, idOf("goalie", 1))), json.RawMessage(`{"calibration":[]}`)
	f.Found.Enough, f.Found.Reason, f.Found.Model, f.Found.Scores = true, "", &raw, &scores
	return f
}

func TestExpectedOfAPooledRateByHand(t *testing.T) {
	s := spring(domain.Full)
	fits := fitsOf([]domain.Fit{pooledFit("high_school", .6), pooledFit("10u", .1)})
	line := Lines(s.faced, fits)[0]
	e := line.Expected
	require.NotNil(t, e)
	assert.Equal(t, idOf("fit high_school", 1), e.FitID)
	assert.Equal(t, 55, e.Shots, "without wide shots and the goal that was waved off")
	assert.Equal(t, line.ShotsOnGoal, e.Shots)
	assert.Equal(t, 25, e.Saves)
	assert.InDelta(t, 33, *e.Saved, 1e-9)
	assert.InDelta(t, -8, *e.Above, 1e-9)
	assert.True(t, e.Pooled)

	s.add(s.game("2026-04-12", domain.KindScrimmage, highSchool, 0), highSchool, 3, domain.Save, nil)
	s.add(s.game("2026-04-13", domain.KindGame, highSchool, 0), highSchool, 1, domain.Goal,
		func(c *domain.CountedShot) { c.Shot.Fields.GoalieOut = true })
	line = Lines(s.faced, fits)[0]
	assert.Equal(t, 56, line.ShotsOnGoal)
	assert.Equal(t, 55, line.Expected.Shots, "a scrimmage is in no line; with the goalie out there is nothing to expect")
}

func TestExpectedOfAModelByHand(t *testing.T) {
	s := newSeason(domain.Full)
	g := s.game("2026-04-11", domain.KindGame, highSchool, 2880)
	at := func(y float64) func(*domain.CountedShot) {
		return func(c *domain.CountedShot) { c.Shot.Fields.BallXM, c.Shot.Fields.BallYM = p(0.0), p(y) }
	}
	s.add(g, highSchool, 2, domain.Save, at(4))
	s.add(g, highSchool, 1, domain.Goal, at(16))
	s.add(g, highSchool, 1, domain.Goal, nil)
	e := Lines(s.faced, fitsOf([]domain.Fit{modelFit()}))[0].Expected
	chance := func(odds float64) float64 { return 1 / (1 + math.Exp(-odds)) }
	want := 2*chance(.25-1.5) + chance(.25+1.5) + chance(.25) // by the part that left the goalie out
	assert.InDelta(t, want, *e.Saved, 1e-12)
	assert.InDelta(t, 2-want, *e.Above, 1e-12)
	assert.False(t, e.Pooled)
	assert.Less(t, *e.Low, 0.0, "four shots tell nothing")
	assert.Greater(t, *e.High, 0.0)
}

func TestNothingIsExpectedWithoutAFit(t *testing.T) {
	s := spring(domain.Full)
	broken := pooledFit("high_school", .6)
	broken.Found.Habits = json.RawMessage("{}")
	for name, fits := range map[string][]domain.Fit{
		"none": nil, "of another level": {pooledFit("10u", .6)}, "that cannot be read": {broken},
	} {
		assert.Nil(t, Lines(s.faced, fitsOf(fits))[0].Expected, name)
		r := s.week("2026-W15", 30)
		r.Fits = fits
		v := OfGoalie(r)
		assert.Nil(t, v.Plays[0].LineWeek.Expected, name)
		assert.Nil(t, v.Plays[0].LinesSeason[0].ExpectedSentence, name)
	}
}

// A team's own line, of an empty cage, has nobody of whom saves could be expected.
func TestExpectedOfNoShots(t *testing.T) {
	s := newSeason(domain.Full)
	g := s.game("2026-04-11", domain.KindGame, highSchool, 600)
	s.add(g, highSchool, 1, domain.Goal, func(c *domain.CountedShot) {
		c.Shot.Found.FacedGoalieID, c.Shot.Found.FacedHow = nil, domain.CageEmpty
	})
	r := domain.LineRecords{Faced: s.faced, Goalies: []domain.Goalie{s.goalie}, Fits: []domain.Fit{pooledFit("high_school", .5)}}
	line := TeamLines(r, BySpan)[0]
	require.NotNil(t, line.Own.Line.Expected)
	assert.Equal(t, 1, line.Own.Line.ShotsOnGoal)
	assert.Zero(t, line.Own.Line.Expected.Shots)
	assert.Nil(t, line.Own.Line.Expected.Saved)
	assert.Nil(t, line.Own.Line.Expected.Low)
	assert.Zero(t, line.Expected.Shots)
}

// expectedSum adds up what lines expect.
type expectedSum struct {
	shots, saves int
	saved        float64
}

func (s expectedSum) plus(e *Expected) expectedSum {
	if e == nil || e.Saved == nil {
		return s
	}
	return expectedSum{s.shots + e.Shots, s.saves + e.Saves, s.saved + *e.Saved}
}

func (s expectedSum) near(o expectedSum) bool {
	return s.shots == o.shots && s.saves == o.saves && math.Abs(s.saved-o.saved) < 1e-9
}

// sensible tells whether a line's comparison can be right by itself.
func sensible(l Line) bool {
	e := l.Expected
	if e == nil || e.Saved == nil {
		return e == nil || e.Shots == 0
	}
	inside := *e.Low <= *e.Above+1e-9 && *e.Above <= *e.High+1e-9
	return inside && e.Shots <= l.ShotsOnGoal && e.Saves <= l.Saves && *e.Saved <= float64(e.Shots) &&
		math.Abs(float64(e.Saves)-*e.Saved-*e.Above) < 1e-9
}

func TestExpectedAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := scene(t)
		r.Fits = []domain.Fit{modelFit(), pooledFit("college", .5)}
		totals := map[LinesBy]expectedSum{}
		for _, by := range []LinesBy{BySpan, BySeason, ByGame} {
			for _, line := range TeamLines(r, by) {
				parts := expectedSum{}.plus(line.Own.Line.Expected)
				for _, g := range line.Goalies {
					parts = parts.plus(g.Line.Expected)
				}
				assert.True(t, parts.near(expectedSum{}.plus(line.Expected)), "the goalies' and the team's own: %v", parts)
				assert.True(t, sensible(line.Line), "%+v", line.Expected)
				totals[by] = totals[by].plus(line.Expected)
			}
		}
		assert.True(t, totals[BySpan].near(totals[ByGame]), "games add up to the span: %v", totals)
		assert.True(t, totals[BySpan].near(totals[BySeason]), "%v", totals)
	})
}

func TestExpectedInASentence(t *testing.T) {
	line := func(games int, above, low, high float64, shots int, pooled bool) Line {
		return Line{Games: games, Expected: &Expected{Shots: shots, Saved: &high, Above: &above, Low: &low, High: &high, Pooled: pooled}}
	}
	for want, l := range map[string]Line{
		"2.3 saves above expected, on 84 shots on goal (95 % interval 3 below to 8 above): in keeping with an average goalie of the program.":               line(8, 2.31, -3.2, 7.9, 84, false),
		"9.0 saves above expected, on 140 shots on goal (95 % interval 2 above to 16 above): more than chance would give an average goalie of the program.": line(8, 9, 1.5, 16, 140, false),
		"12.0 saves below expected, on 140 shots on goal (95 % interval 20 below to 4 below): fewer than chance would leave an average goalie of the program. " +
			"All shots count as equally hard: too few are charted to tell them apart.": line(8, -12, -20, -4, 140, true),
		"0.5 saves above expected, on 1 shot on goal (95 % interval 1 below to 1 above): in keeping with an average goalie of the program.": line(2, .5, -.6, .6, 1, false),
	} {
		got := expectedSentence(l)
		if assert.NotNil(t, got, want) {
			assert.Equal(t, want, *got)
		}
	}
	assert.Nil(t, expectedSentence(line(1, -6, -9, -1, 20, false)), "one game is no ground for a verdict")
	assert.Nil(t, expectedSentence(Line{Games: 9, Expected: &Expected{}}), "nothing was faced")
	assert.Nil(t, expectedSentence(Line{Games: 9}))
}

func TestAWeekSaysSavesAboveExpected(t *testing.T) {
	s := spring(domain.Full)
	r := s.week("2026-W15", 30)
	r.Fits = []domain.Fit{pooledFit("high_school", .6)}
	v := OfGoalie(r)
	season := v.Plays[0].LinesSeason[0]
	assert.Equal(t, 16, v.Plays[0].LineWeek.Expected.Shots)
	assert.Equal(t, 55, season.Line.Expected.Shots)
	require.NotNil(t, season.ExpectedSentence)
	assert.Contains(t, *season.ExpectedSentence, "8.0 saves below expected, on 55 shots on goal")
	assert.Contains(t, v.Method.Text, "Saves expected")
	require.Len(t, v.Method.Fits, 1)
	assert.Equal(t, season.Line.Expected.FitID, v.Method.Fits[0].ID)
	assert.NotContains(t, OfGoalie(s.week("2026-W15", 30)).Method.Text, "Saves expected")

	group := domain.GroupRecords{Week: r.Week, Weeks: []domain.WeekRecords{r}, Cage: domain.LineRecords{
		Faced: s.faced, Goalies: []domain.Goalie{s.goalie}, Seasons: r.Seasons, Fits: r.Fits}}
	_, whole := groupWeekOf(group)
	assert.Equal(t, v.Plays[0].LinesSeason, whole[0].Plays[0].LinesSeason)
	lines := OfTeam(group).LinesSeason
	i := slices.IndexFunc(lines, func(l TeamLine) bool { return l.Level == "high_school" })
	require.GreaterOrEqual(t, i, 0)
	assert.Equal(t, season.Line.Expected, lines[i].Expected, "one goalie's season is the team's")
}
