package judgement

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"cagework/domain"
)

// list gives which of some counts, each against .50, are listed together.
func list(counts ...[2]int) []bool {
	rates := make([]Rate, len(counts))
	for i, c := range counts {
		rates[i] = rateOf(lowSave(), c[0], c[1])
	}
	ListByCount(rates, Defaults())
	out := make([]bool, len(rates))
	for i, r := range rates {
		out[i] = r.ByCount
	}
	return out
}

func TestList(t *testing.T) {
	assert.Equal(t, []bool{true}, list([2]int{9, 22}), "alone, 9 of 31 stands out")
	assert.Equal(t, []bool{false}, list([2]int{9, 13}), "9 of 22 does not, although it leans below")
	assert.Equal(t, []bool{true, false, false}, list([2]int{9, 22}, [2]int{20, 20}, [2]int{30, 20}))
	level := [2]int{20, 20}
	many := list([2]int{9, 22}, level, level, level, level, level, level, level, level, level, level, level, level)
	assert.False(t, many[0], "the lowest of thirteen may well be as low by chance")
	many = list([2]int{5, 26}, level, level, level, level, level, level, level, level, level, level, level, level)
	assert.True(t, many[0], "but hardly 5 of 31")
}

func TestWhatIsNotJudgedIsNotListed(t *testing.T) {
	assert.Equal(t, []bool{false, false, true}, list([2]int{0, 0}, [2]int{0, 19}, [2]int{9, 22}))
	unjudged := lowSave()
	unjudged.Fields.Rates = nil
	rates := []Rate{rateOf(unjudged, 0, 40)}
	rates[0].ByCount = true
	ListByCount(rates, Defaults())
	assert.False(t, rates[0].ByCount)
}

func TestARateFallsShortWhenItIsLowAndListed(t *testing.T) {
	for _, c := range []struct {
		saves, goals int
		listed, want bool
	}{{9, 22, true, true}, {9, 22, false, false}, {11, 11, true, false}} {
		r := rateOf(lowSave(), c.saves, c.goals)
		r.Listed = c.listed
		assert.Equal(t, c.want, r.Short())
	}
	assert.Equal(t, domain.ClearGap, *rateOf(lowSave(), 9, 22).State)
}
