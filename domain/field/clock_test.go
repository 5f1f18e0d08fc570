package field

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

func TestElapsed(t *testing.T) {
	c := Clock{Periods: 4, PeriodS: 720, OvertimeS: 240}
	for _, v := range []struct {
		period, remaining, want int
		ok                      bool
	}{
		{1, 720, 0, true}, {1, 0, 720, true}, {2, 720, 720, true}, {4, 0, 2880, true},
		{5, 240, 2880, true}, {5, 0, 3120, true}, {6, 100, 3260, true},
		{0, 0, 0, false}, {-1, 0, 0, false}, {1, -1, 0, false}, {1, 721, 0, false}, {5, 241, 0, false},
	} {
		got, ok := c.Elapsed(v.period, v.remaining)
		assert.Equal(t, v.ok, ok, "%+v", v)
		assert.Equal(t, v.want, got, "%+v", v)
	}
}

func TestElapsedOnlyEverGrows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Clock{
			rapid.IntRange(1, 8).Draw(t, "periods"), rapid.IntRange(60, 7200).Draw(t, "period"),
			rapid.IntRange(60, 7200).Draw(t, "overtime"),
		}
		want := 0
		for period := 1; period < 12; period++ {
			start, ok := c.Elapsed(period, c.Length(period))
			end, alsoOK := c.Elapsed(period, 0)
			if !ok || !alsoOK || start != want || end != want+c.Length(period) {
				t.Fatalf("period %d runs from %d to %d", period, start, end)
			}
			want = end
		}
	})
}
