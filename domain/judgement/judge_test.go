package judgement

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

func TestBaselinesAreWhatTheWeekKnows(t *testing.T) {
	target := named("low_save")
	target.Fields.Rates = append(target.Fields.Rates, domain.TargetRate{CodeOfPlay: "box", Level: "college", Rate: .7})
	here := shots(game(1, "2026-04-11", domain.KindGame), 9, 13)
	before := shots(game(2, "2026-03-01", domain.KindGame), 5, 0) // the day before the look-back
	after := shots(game(3, "2026-04-13", domain.KindGame), 5, 0)
	practice := shots(game(4, "2026-04-10", domain.KindPractice), 5, 0)
	boxes, sixes := shots(game(5, "2026-04-10", domain.KindGame), 2, 1), shots(game(6, "2026-04-10", domain.KindGame), 2, 1)
	for i := range boxes {
		boxes[i].Competition.CodeOfPlay, sixes[i].Competition.CodeOfPlay = "box", "sixes"
	}
	boxes[0].Shot.Fields.Outcome = domain.Wide
	r := domain.WeekRecords{Week: week}
	for _, s := range [][]*domain.CountedShot{sixes, boxes, here, before, after, practice} {
		r.Faced.Shots = append(r.Faced.Shots, s...)
	}
	got := Judge{}.Baselines(r, target)
	require.Len(t, got, 2, "no rate is set for sixes")
	alone := rateOf(target, 9, 13)
	b := got[0]
	assert.Equal(t, []any{"mens_field", "college", 9, 22, 0, .5}, []any{string(b.CodeOfPlay), string(b.Level), b.Hits, b.Tries, b.Unseen, b.TargetRate})
	assert.Equal(t, []string{"2026-03-02", "2026-04-12"}, []string{b.From.String(), b.To.String()})
	assert.InDelta(t, *alone.ChanceBelow, b.ChanceBelow, 0, "as the week shows it")
	assert.EqualValues(t, "box", got[1].CodeOfPlay)
	assert.Equal(t, []int{1, 2}, []int{got[1].Hits, got[1].Tries})

	frozen := Freeze(alone, Defaults())
	raw, err := json.Marshal(b.Frozen)
	require.NoError(t, err)
	want, err := json.Marshal(frozen)
	require.NoError(t, err)
	assert.JSONEq(t, string(want), string(raw), "the same under the same names")
	var back domain.FrozenRate
	require.NoError(t, json.Unmarshal(raw, &back))
	assert.Equal(t, *frozen, Kept(back))
	assert.Equal(t, frozen.Help(12, 20), Kept(back).Help(12, 20))
}

func TestBaselinesOfNothing(t *testing.T) {
	assert.Equal(t, []domain.BlockBaseline{}, Judge{}.Baselines(domain.WeekRecords{Week: week}, named("low_save")))
}
