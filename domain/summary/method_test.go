package summary

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
)

// judgedBy gives the week of the spring season in a program that sets bounds.
func judgedBy(set domain.JudgementSettings) GoalieWeek {
	r := spring(domain.Full).week("2026-W15", 90)
	r.Program.Fields.Judgement = set
	return OfGoalie(r)
}

func stateOf(t *testing.T, v GoalieWeek, code string) domain.State {
	t.Helper()
	for _, r := range v.Plays[0].Rates {
		if r.Code == code {
			require.NotNil(t, r.State)
			return *r.State
		}
	}
	require.Fail(t, "no rate "+code)
	return ""
}

func TestAProgramIsJudgedByItsOwnBounds(t *testing.T) {
	own := judgedBy(domain.JudgementSettings{})
	assert.Equal(t, domain.ClearGap, stateOf(t, own, "low_save"))
	assert.Empty(t, own.Method.Set)
	assert.NotContains(t, own.Method.Text, "bounds of its own")

	strict := judgedBy(domain.JudgementSettings{ClearGap: new(0.999), TooWide: new(0.4)})
	assert.Equal(t, domain.LeaningBelow, stateOf(t, strict, "low_save"))
	assert.Equal(t, []string{"too_wide", "clear_gap"}, strict.Method.Set)
	assert.InDelta(t, 0.999, strict.Method.Judgement.ClearGap, 0)
	assert.InDelta(t, 0.75, strict.Method.Judgement.LeaningBelow, 0)
	assert.Contains(t, strict.Method.Text, "a clear gap from 99.9 in 100 on, leaning below from 75, can't tell from 25")
	assert.Contains(t, strict.Method.Text, "an interval of 80 % wider than .40")
	assert.Contains(t, strict.Method.Text,
		" This program sets bounds of its own: too wide 0.4 (the service's own is 0.3), clear gap 0.999 (the service's own is 0.9).")
	assert.Equal(t, own.Method.Fixed, strict.Method.Fixed)

	assert.Equal(t, domain.TooFew, stateOf(t, judgedBy(domain.JudgementSettings{TooWide: new(0.1)}), "low_save"))

	board := OfProgram(domain.GroupRecords{Program: domain.Program{Fields: domain.ProgramFields{
		Judgement: domain.JudgementSettings{BoardList: new(0.05), BoardAlarms: new(1.0)},
	}}})
	assert.Equal(t, []string{"board_list", "board_alarms"}, board.Method.Set, "of a board without a goalie too")
}

// TestTheSentencesSayTheBoundsInUse: whatever is set, no sentence says another number.
func TestTheSentencesSayTheBoundsInUse(t *testing.T) {
	v := judgedBy(domain.JudgementSettings{OwnList: new(0.205), Margin: new(0.05)})
	assert.Contains(t, v.Method.Text, "of those named, at most 20.5 in 100 are expected to be wrong")
	assert.Contains(t, v.Method.Text, "the true rate is below its target by more than .05:")
	require.NotEmpty(t, v.WorkOns)
	assert.Regexp(t, `^(Clearly|Probably) below the target by more than \.05 \(chance `, v.WorkOns[0].Why)
	for _, w := range v.WentWell {
		assert.Regexp(t, `met, or missed by no more than \.05\.$`, w.Sentence)
	}
	require.NotEmpty(t, v.WentWell)

	moving := newSeason(domain.Full)
	moving.add(moving.game("2026-04-11", domain.KindGame, highSchool, 2880), highSchool, 40, domain.Wide, read(domain.No))
	r := moving.week("2026-W15", 90)
	r.Program.Fields.Judgement.AssumedWorth = new(0.25)
	said := 0
	for _, w := range OfGoalie(r).WorkOns {
		if w.Worth.Assumed {
			said++
			assert.InDelta(t, 0.25, w.Worth.GoalsATry, 0)
			assert.Contains(t, w.Order, "that a hit is worth 0.25 goals is assumed")
		}
	}
	assert.Positive(t, said)

	met := newSeason(domain.Full)
	g := met.game("2026-04-11", domain.KindGame, highSchool, 2880)
	met.add(g, highSchool, 60, domain.Save, low)
	r = met.week("2026-W15", 90)
	r.Program.Fields.Judgement.Margin = new(0.05)
	none := OfGoalie(r)
	require.NotNil(t, none.NoWorkOn)
	assert.Equal(t, "No rate is clearly or probably below its target by more than .05.", *none.NoWorkOn)

	assert.Equal(t, "97.5 0.1 10", fmt.Sprint(Hundred(0.975), " ", Hundred(0.001), " ", Hundred(0.1)))
	b := judgement.Defaults()
	assert.InDelta(t, 2, b.Signal.OddsRatio, 0, "the sentence of a chart says that the odds double")
	assert.InDelta(t, judgement.Shown, b.Interval, 0)
}

// TestTheAlarmsBorneSetTheCharts: fewer alarms borne make every chart stricter, and the note says so.
func TestTheAlarmsBorneSetTheCharts(t *testing.T) {
	own, few := judgedBy(domain.JudgementSettings{}), judgedBy(domain.JudgementSettings{PageAlarms: new(0.1)})
	assert.Less(t, few.Method.SignalLevel, own.Method.SignalLevel)
	assert.LessOrEqual(t, 2*float64(len(targets))*few.Method.SignalLevel, 0.1+1e-12)
	assert.NotEqual(t, own.ChangedNote, few.ChangedNote)
}

// TestTheMethodHoldsEveryBound: no member of the bounds that a week is judged with is missing from its method.
func TestTheMethodHoldsEveryBound(t *testing.T) {
	v := judgedBy(domain.JudgementSettings{})
	b, f, m := judgement.Defaults(), v.Method.Fixed, v.Method.Judgement
	assert.Equal(t, judgement.Thresholds{
		Interval: f.Interval, Narrow: f.Narrow, TooWide: m.TooWide, ClearGap: m.ClearGap, Leaning: m.LeaningBelow,
		CantTell: m.CantTell, LeaningMet: m.LeaningMet, Margin: m.Margin, OwnList: m.OwnList, BoardList: m.BoardList,
		NormTries: f.NormTries, FewPeers: f.FewPeers, AboutTheSame: m.AboutTheSame, Overtaken: m.Overtaken,
		AssumedWorth: m.AssumedWorth, AssumedWorthSD: f.AssumedWorthSD, Helped: m.Helped,
		Difficulty: b.Difficulty, // of the fit, which says itself whether it is used
		Habits: judgement.HabitBounds{
			LeastBlind: b.Habits.LeastBlind, LeastOfEach: b.Habits.LeastOfEach, PriorWidth: b.Habits.PriorWidth, // of the fit
			Confidence: f.HabitInterval,
		},
		Signal: judgement.SignalBounds{
			LoosestLevel: f.Charts.LoosestLevel, PageAlarms: m.PageAlarms, BoardAlarms: m.BoardAlarms, OddsRatio: f.Charts.OddsRatio,
			SeasonTries: f.Charts.SeasonTries, SaveSpread: f.Charts.SaveSpread, RateSpread: f.Charts.RateSpread,
			ChangeBefore: f.Charts.ChangeBefore, PriorTries: f.Charts.PriorTries, LearnTries: f.Charts.LearnTries,
		},
	}, b)
	raw, err := json.Marshal(v.Method)
	require.NoError(t, err)
	for _, bound := range domain.BoundList {
		assert.Contains(t, string(raw), `"`+bound.Name+`":`)
	}
}
