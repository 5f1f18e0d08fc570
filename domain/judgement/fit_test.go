package judgement

import (
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

var college = domain.FitFields{CodeOfPlay: "mens_field", Level: "college", FittedOn: today()}

// kept makes a fit as a store does and reads it back through JSON.
func kept(t *testing.T, fields domain.FitFields, shots []*domain.CountedShot) (domain.Fit, Fitted) {
	t.Helper()
	found, err := Judge{}.Fit(fields, shots, habitList)
	require.NoError(t, err)
	raw, err := json.Marshal(found)
	require.NoError(t, err)
	rec := domain.Fit{ID: id("fit"), Fields: fields}
	require.NoError(t, json.Unmarshal(raw, &rec.Found))
	fits, err := ReadFits([]domain.Fit{rec})
	require.NoError(t, err)
	require.Len(t, fits, 1)
	return rec, fits[FitKey{fields.CodeOfPlay, fields.Level}]
}

func TestAStoredFitSaysWhatTheFitSaid(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 8, games: 8, shotsAGame: 25, effect: .25, set: .8, read: 1, how: domain.FilmBlind, seed: 5}.play()
	rec, got := kept(t, college, shots)
	want := fitOf(shots)
	require.True(t, want.Enough, want.Reason)
	assert.Equal(t, id("fit"), got.ID)
	for _, s := range shots {
		require.InDelta(t, want.SaveChance(s), got.Difficulty.SaveChance(s), 1e-15)
	}
	hers := shots[:200]
	assert.Equal(t, want.Expect(hers, .95), got.Difficulty.Expect(hers, .95))
	assert.Equal(t, want.Scores.Calibration[0].Hits, got.Difficulty.Scores.Calibration[0].Hits)
	assert.Equal(t, FitHabits(shots, habitList, want, today(), Defaults().Habits), got.Habits)
	assert.True(t, got.Habits.Effects[0].Enough, got.Habits.Effects[0].Reason)
	assert.Equal(t, want.From, *rec.Found.From)
	assert.Equal(t, want.To, *rec.Found.To)
}

func TestAFitOfTooLittleSaysSo(t *testing.T) {
	t.Parallel()
	for name, games := range map[string]int{"none": 0, "few": 2} {
		shots, _ := world{goalies: 2, games: games, shotsAGame: 10, seed: 1}.play()
		rec, got := kept(t, college, shots)
		assert.False(t, rec.Found.Enough, name)
		assert.Contains(t, rec.Found.Reason, "30 of each are needed", name)
		assert.Nil(t, rec.Found.Model, name)
		assert.Nil(t, rec.Found.Scores, name)
		assert.Len(t, got.Habits.Effects, len(habitList), name)
		assert.Equal(t, games == 0, rec.Found.From == nil, name)
		e := got.Difficulty.Expect(shots, .95)
		assert.Equal(t, len(shots), e.Shots, name)
		assert.True(t, e.Pooled, name)
	}
}

// One goalie alone is left out of nothing, and shots of another level are not hers.
func TestAFitOfOneGoalieAndOfAnotherLevel(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 1, games: 30, shotsAGame: 25, seed: 8}.play()
	rec, got := kept(t, college, shots)
	require.NotNil(t, rec.Found.Model)
	assert.Empty(t, got.Difficulty.Parts)
	assert.NotContains(t, string(*rec.Found.Model), "null")
	other := college
	other.Level = "10u"
	rec, _ = kept(t, other, shots)
	assert.Zero(t, rec.Found.Shots)
}

// A fit that cannot be used without going wrong is refused; the others are there all the same.
func TestABrokenFitIsNotUsed(t *testing.T) {
	t.Parallel()
	shots, _ := world{goalies: 8, games: 8, shotsAGame: 25, effect: .25, seed: 5}.play()
	good, _ := kept(t, college, shots)
	require.True(t, good.Found.Enough)
	for name, change := range map[string]func(string) string{
		"no JSON":           func(m string) string { return m[:len(m)/2] },
		"a name too many":   func(m string) string { return strings.Replace(m, `"names":[`, `"names":["more",`, 1) },
		"rows gone":         func(m string) string { return m[:strings.Index(m, `"covariance"`)] + `"covariance":[]}` },
		"a row that is off": func(m string) string { return strings.Replace(m, `"covariance":[[`, `"covariance":[[1,`, 1) },
	} {
		bad := good
		bad.Fields.Level = "10u"
		model := json.RawMessage(change(string(*good.Found.Model)))
		bad.Found.Model = &model
		fits, err := ReadFits([]domain.Fit{bad, good})
		require.Error(t, err, name)
		assert.Len(t, fits, 1, name)
		assert.Contains(t, fits, FitKey{"mens_field", "college"}, name)
	}
	bad := good
	bad.Found.Habits = json.RawMessage(`{}`)
	_, err := ReadFits([]domain.Fit{bad})
	require.Error(t, err)
}
