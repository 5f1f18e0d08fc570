package summary

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
	"cagework/domain/judgement"
)

// turning is a season in which a goalie saves most low shots until a game and few from then on.
func turning(games, from int) *season {
	s := newSeason(domain.Full)
	for i := range games {
		day := date("2026-02-02").AddDays(3 * i)
		g := s.game(day.String(), domain.KindGame, highSchool, 2880)
		saves, goals := 6, 2
		if i >= from {
			saves, goals = 2, 6
		}
		s.add(g, highSchool, saves, domain.Save, low)
		s.add(g, highSchool, goals, domain.Goal, low)
	}
	return s
}

func lowRate(t *testing.T, v GoalieWeek) Rate {
	t.Helper()
	require.NotEmpty(t, v.Plays)
	i := slices.IndexFunc(v.Plays[0].Rates, func(r Rate) bool { return r.Code == "low_save" })
	return v.Plays[0].Rates[i]
}

func TestAFallIsSaidWithItsDayAndCount(t *testing.T) {
	v := OfGoalie(turning(20, 14).week("2026-W14", 30))
	r := lowRate(t, v)
	require.NotNil(t, r.Signal)
	assert.Equal(t, judgement.Falling, r.Signal.State)
	assert.Equal(t, 160, r.Signal.Tries)
	require.Len(t, v.Changed, 1)
	assert.Equal(t, "Low-shot save rate", v.Changed[0].Target)
	assert.False(t, v.Changed[0].RaisedOn.Before(date("2026-02-02").AddDays(3*14)), "not before it began")
	assert.Contains(t, r.Signal.Trend(), "falling since ")
	assert.InDelta(t, judgement.PageLevel(len(targets), judgement.Defaults().Signal), r.Signal.Level, 0)

	even := lowRate(t, OfGoalie(turning(20, 20).week("2026-W14", 30)))
	assert.Equal(t, judgement.Steady, even.Signal.State)
	assert.Equal(t, "steady", even.Signal.Trend())
	early := lowRate(t, OfGoalie(turning(2, 2).week("2026-W06", 30)))
	assert.Equal(t, "trend: too early", early.Signal.Trend())
}

func TestABoardHasALevelOfItsOwn(t *testing.T) {
	r := turning(20, 14).week("2026-W14", 30)
	var group domain.GroupRecords
	group.Week = r.Week
	for n := range 5 {
		other := turning(20, 14).asOther(n+1, "Goalie").week("2026-W14", 30)
		group.Weeks = append(group.Weeks, other)
	}
	v := OfProgram(group)
	bounds := judgement.Defaults().Signal
	assert.InDelta(t, judgement.BoardLevel(5, len(targets), bounds), v.Changed.Level, 0)
	assert.LessOrEqual(t, v.Changed.Level, judgement.PageLevel(len(targets), bounds))
	assert.Equal(t, 2*5*len(targets), v.Changed.Charts)
	assert.InDelta(t, float64(v.Changed.Charts)*v.Changed.Level, v.Changed.Expect, 1e-9)
	assert.LessOrEqual(t, v.Changed.Expect, bounds.BoardAlarms)
	require.Len(t, v.Changed.Goalies, 5)
	assert.InDelta(t, v.Changed.Level, v.Method.SignalLevel, 0)
	for _, g := range v.Goalies {
		assert.InDelta(t, v.Changed.Level, g.Plays[0].Rates[2].Signal.Level, 0)
	}
}

func TestNothingRisesOrFallsWithoutATry(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := turning(rapid.IntRange(0, 12).Draw(t, "games"), rapid.IntRange(0, 12).Draw(t, "from"))
		v := OfGoalie(s.week("2026-W14", 30))
		for _, p := range v.Plays {
			for _, r := range p.Rates {
				if r.Signal == nil {
					continue
				}
				changed := r.Signal.RaisedOn != nil
				assert.False(t, changed && r.Signal.Tries == 0)
				assert.Equal(t, changed, r.Signal.State == judgement.Rising || r.Signal.State == judgement.Falling)
				assert.False(t, changed && r.Signal.RaisedOn.Before(r.From), "a change is of the look-back")
			}
		}
	})
}

// What a board says of a goalie does not hang on who stands beside whom.
func TestTheOrderOfGoaliesDoesNotMatter(t *testing.T) {
	r := group()
	want := OfProgram(r)
	slices.Reverse(r.Weeks)
	got := OfProgram(r)
	slices.Reverse(got.Goalies)
	slices.Reverse(got.Changed.Goalies)
	assert.Equal(t, want.Goalies, got.Goalies)
	assert.Equal(t, want.Changed, got.Changed)
	assert.Equal(t, want.Method, got.Method)
}

func TestWeeksBetween(t *testing.T) {
	assert.Equal(t, 1, weeksBetween(date("2026-02-02"), date("2026-02-08")))
	assert.Equal(t, 2, weeksBetween(date("2026-02-02"), date("2026-02-09")))
	assert.Equal(t, 1, weeksBetween(date("2026-02-02"), date("2026-02-01")))
}
