package simulation

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain/stats"
)

// assertAims asserts every aim of ours and gives the methods that miss one. At smoke size the rule holds without its cap.
func assertAims(t *testing.T, figures []Figure) (missed map[string]bool) {
	t.Helper()
	missed = map[string]bool{}
	aims := 0
	for _, f := range figures {
		f.Cap = 0
		v := f.Verdict()
		t.Logf("%-8s %-45s %-75s %8.4f (%.4f) aim %.4f", v, f.Method, f.Name, f.Measured, f.SE, f.Aim)
		if f.Method != Ours {
			missed[f.Method] = missed[f.Method] || v != Met && v != NoAim
			continue
		}
		if v != NoAim {
			aims++
			assert.Equal(t, Met, v, "%s: %v (%v), aim %v", f.Name, f.Measured, f.SE, f.Aim)
		}
	}
	require.Positive(t, aims)
	return missed
}

func TestSignalKeepsItsAimsAndRulesOfThumbDoNot(t *testing.T) {
	t.Parallel()
	missed := assertAims(t, Signal(100, 1))
	for _, method := range []string{
		"limit for 600 shots between false alarms", "textbook chart of one risk", "weekly share beyond three standard errors",
	} {
		assert.True(t, missed[method], "%s keeps every aim: the aims are too easy", method)
	}
}

func TestDifficultyKeepsItsAimsAndRulesOfThumbDoNot(t *testing.T) {
	t.Parallel()
	missed := assertAims(t, Difficulty(2, false, 1))
	assert.True(t, missed["pooled rate"])
}

func TestWeeklyChart(t *testing.T) {
	t.Parallel()
	var all struct {
		ShareChart struct {
			Source           string
			Tries            int
			Share, Upper     float64
			Published        float64
			RevisedShare     float64 `json:"revised_share"`
			RevisedUpper     float64 `json:"revised_upper"`
			RevisedPublished float64 `json:"revised_published"`
			Rounded          float64 `json:"published_tolerance"`
			Tolerance        float64
		} `json:"share_chart"`
		Weekly struct {
			Source            string
			False             float64
			Hard              float64 `json:"false_hard"`
			Shots             float64
			ToleranceOfChance float64 `json:"tolerance_of_chances"`
			ToleranceOfShots  float64 `json:"tolerance_of_shots"`
		}
	}
	published(t, "cusum.json", &all)
	c := all.ShareChart
	for _, row := range [][3]float64{{c.Share, c.Upper, c.Published}, {c.RevisedShare, c.RevisedUpper, c.RevisedPublished}} {
		assert.InDelta(t, row[1], upperLimit(row[0], c.Tries), c.Tolerance, c.Source)
		assert.InDelta(t, row[2], upperLimit(row[0], c.Tries), c.Rounded, c.Source)
	}
	figures, w := weeklyChart(), all.Weekly
	assert.InDelta(t, w.False, figures[0].Measured, w.ToleranceOfChance, w.Source)
	assert.InDelta(t, w.Hard, figures[1].Measured, w.ToleranceOfChance, w.Source)
	assert.InDelta(t, w.Shots, figures[2].Measured*exactRun(), w.ToleranceOfShots, w.Source)
}

func TestVerdicts(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		f    Figure
		want Verdict
	}{
		{Figure{Measured: 1, Aim: 1}, Met},
		{Figure{Measured: 1.1, Aim: 1}, Missed},
		{Figure{Measured: 1.1, SE: .04, Aim: 1}, Met},
		{Figure{Measured: 1.1, SE: .03, Aim: 1}, Missed},
		{Figure{Measured: .5, SE: .2, Aim: 1, Cap: .1}, TooSmall},
		{Figure{Measured: .5, SE: math.NaN(), Aim: 1, Cap: .1}, TooSmall},
		{Figure{Measured: math.NaN(), Aim: 1}, TooSmall},
		{Figure{Measured: .9, Aim: .95, AtLeast: true}, Missed},
		{Figure{Measured: 1, Aim: .95, AtLeast: true}, Met},
		{Figure{Measured: 7, Aim: math.NaN()}, NoAim},
	} {
		assert.Equal(t, c.want, c.f.Verdict(), "%+v", c.f)
	}
}

func TestTheSameSeedGivesTheSameFigures(t *testing.T) {
	t.Parallel()
	a, b := ownBaselines(5, 9), ownBaselines(5, 9)
	for i := range a {
		a[i].Aim, b[i].Aim = 0, 0 // NaN is not itself
	}
	assert.Equal(t, a, b)
	assert.True(t, strings.HasPrefix(a[1].Name, "false alarms"))
}

func exactRun() float64 {
	limit, _ := stats.CusumLimit(cusum(2).Scores(usual, 1), seasonShots, .10)
	return stats.RunLength(cusum(2).Scores(usual, 2), limit)
}
