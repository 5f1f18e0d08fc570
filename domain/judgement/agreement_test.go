package judgement

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// readAs is a shot with one habit read; "" is no reading at all.
func readAs(answer domain.Answer) *domain.CountedShot {
	s := &domain.CountedShot{}
	if answer != "" {
		s.Reading = &domain.Reading{Fields: domain.ReadingFields{Habits: map[string]domain.Answer{setHabit: answer}}}
	}
	return s
}

func pairs(n int, first, second domain.Answer) []TwiceRead {
	var out []TwiceRead
	for range n {
		out = append(out, TwiceRead{readAs(first), readAs(second)})
	}
	return out
}

// The counts are those of the skewed table of testdata/stats/agreement.json.
func TestAgreementOnAHabit(t *testing.T) {
	type tableCase struct {
		Name, Source string
		Table        [][]int
		Computed     map[string]float64
	}
	var file struct {
		Tolerance float64
		Cases     []tableCase
	}
	published(t, "agreement.json", &file)
	at := slices.IndexFunc(file.Cases, func(c tableCase) bool { return c.Name == "skewed" })
	require.GreaterOrEqual(t, at, 0)
	want := file.Cases[at]
	all := pairs(want.Table[0][0], domain.Yes, domain.Yes)
	all = append(all, pairs(want.Table[0][1], domain.Yes, domain.No)...)
	all = append(all, pairs(want.Table[1][0], domain.No, domain.Yes)...)
	all = append(all, pairs(want.Table[1][1], domain.No, domain.No)...)
	all = append(all, pairs(3, domain.NotSeen, domain.Yes)...)
	all = append(all, pairs(2, domain.No, "")...)
	all = append(all, pairs(4, domain.NotSeen, domain.NotSeen)...)
	a := AgreeOnHabits(all, habitList)[0]
	assert.Equal(t, setHabit, a.Name)
	assert.Equal(t, 100, a.N)
	assert.Equal(t, want.Table, a.Table)
	assert.Equal(t, 2, a.OnlyFirst)
	assert.Equal(t, 3, a.OnlySecond)
	for name, got := range map[string]float64{
		"percent": *a.Percent, "ac1": a.AC1.Value, "ac1_error": a.AC1.Error, "kappa": a.Kappa.Value, "kappa_error": a.Kappa.Error,
		"pabak": a.PABAK.Value, "pabak_error": a.PABAK.Error, "positive": *a.Positive, "negative": *a.Negative,
	} {
		require.Contains(t, want.Computed, name)
		assert.InDelta(t, want.Computed[name], got, file.Tolerance, "%s, %s", name, want.Source)
	}
	assert.Nil(t, a.WeightedKappa)
}

func TestFewShotsHaveNoKappa(t *testing.T) {
	a := AgreeOnHabits(pairs(19, domain.Yes, domain.Yes), habitList)
	assert.Nil(t, a[0].Kappa)
	assert.InDelta(t, 1, a[0].AC1.Value, 0)
	assert.Nil(t, a[0].Negative, "neither ever said no")
	assert.Zero(t, a[1].N)
	assert.Nil(t, a[1].Percent)
	assert.Nil(t, AgreeOnHabits(pairs(30, domain.Yes, domain.Yes), habitList)[0].Kappa, "0/0 is not 0")
}

func TestAgreementOnCodes(t *testing.T) {
	shot := func(o domain.Outcome, band *domain.Band, bounce *bool) *domain.CountedShot {
		return &domain.CountedShot{Shot: domain.Shot{Fields: domain.ShotFields{Outcome: o, FinishBand: band, Bounce: bounce}}}
	}
	var all []TwiceRead
	for i := range 24 {
		all = append(all, TwiceRead{shot(domain.Save, &domain.Bands[i%3], new(true)), shot(domain.Save, &domain.Bands[i%2], nil)})
	}
	found := map[string]Agreed{}
	for _, a := range AgreeOnCodes(all) {
		found[a.Name] = a
	}
	require.Contains(t, found, "outcome")
	assert.NotContains(t, found, "on_goal")
	assert.NotContains(t, found, "clear_result")
	assert.NotContains(t, found, "distance_m")
	assert.Equal(t, 24, found["outcome"].N)
	assert.InDelta(t, 1, *found["outcome"].Percent, 0)
	assert.Equal(t, 24, found["bounce"].OnlyFirst)
	band := found["finish_band"]
	// i mod 3 and i mod 2 run through six pairs four times each; low-low and mid-mid are two of them.
	assert.Equal(t, [][]int{{4, 4, 0}, {4, 4, 0}, {4, 4, 0}}, band.Table)
	assert.InDelta(t, 1.0/3, *band.Percent, 1e-12)
	assert.InDelta(t, 0, band.Kappa.Value, 1e-12, "the two have nothing to do with each other")
	assert.InDelta(t, 0, band.WeightedKappa.Value, 1e-12)
	assert.Zero(t, found["phase"].N)
}
