package summary

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
)

// What is kept when a block is given must be what the page of the week before it says, or the coach is told two things.
func TestWhatIsKeptIsWhatTheWeekShows(t *testing.T) {
	r := blockWeek(t)
	v := OfGoalie(r)
	require.Len(t, v.Plays, 1)
	kept := 0
	for _, rate := range v.Plays[0].Rates {
		for _, target := range r.Targets {
			if target.ID != rate.TargetID {
				continue
			}
			got := judgement.Judge{}.Baselines(r, target)
			if rate.Tries == 0 || rate.TargetRate == nil {
				assert.Empty(t, got, rate.Code)
				continue
			}
			require.Len(t, got, 1, rate.Code)
			kept++
			b := got[0]
			b.Frozen = domain.FrozenRate{}
			assert.Equal(t, domain.BlockBaseline{
				CodeOfPlay: rate.CodeOfPlay, Level: rate.Level, From: rate.From, To: rate.To, Hits: rate.Hits, Tries: rate.Tries,
				Unseen: rate.Unseen, TargetRate: *rate.TargetRate, ChanceBelow: *rate.ChanceBelow,
			}, b, rate.Code)
		}
	}
	assert.Equal(t, 4, kept)
}
