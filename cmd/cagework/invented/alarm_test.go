package invented

import (
	"runtime"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/planning"
)

// atMostFlagged is the most weeks, of all, in which a goalie with nothing planted may be given something to work on.
const atMostFlagged = 0.15

// nothingPlanted gives one team with all its goalies charted alike, available and without a weakness or a strength:
// each true rate lies at its target or above, drawn evenly from a range, the same for all save rates of a goalie and
// one for each habit. With the range [0, 0] every true rate is exactly the target, the hardest case there is.
func nothingPlanted(number int, above [2]float64) []Squad {
	s := Squads()[number%len(Squads())]
	for i, g := range s.Goalies {
		s.Goalies[i] = Goalie{Name: g.Name, Hand: g.Hand, Above: above}
	}
	return []Squad{s}
}

// everyWeeks is how far apart the weeks are that are looked at: look-backs overlap, so that the weeks between say little.
const everyWeeks = 3

// flagged counts the weeks of a season in which goalies were given something to work on, those in which the counts alone
// would have listed something, and all that were looked at.
func flagged(m *Model, p *Program) (flagged, byCount, weeks int) {
	s := newSeason(m, p)
	bounds, targets := judgement.Defaults(), judgement.ActiveTargets(m.Starter.Targets)
	for back := 0; back < Weeks; back += everyWeeks {
		week := domain.WeekOf(p.LastWeek.Monday().AddDays(-7 * back))
		peers := judgement.PeersOf(targets, s.peersIn(week), bounds)
		for _, g := range s.Goalies {
			plays := judgement.Plays(judgement.Between(s.faced[g.ID], domain.LookBack(targets, week), week.Sunday()))
			rates := judgement.RatesOf(g.ID, targets, plays, week, peers, bounds)
			short := slices.DeleteFunc(slices.Clone(rates), func(r judgement.Rate) bool { return !r.Short() })
			choice := judgement.Choice{
				Rates: short, Plays: plays, Week: week, Most: planning.MaxWorkOns, Bounds: bounds,
				Value: judgement.Values(nil, m.Starter.Habits, plays, bounds),
			}
			weeks++
			if len(choice.Order()) > 0 {
				flagged++
			}
			if slices.ContainsFunc(rates, func(r judgement.Rate) bool { return r.ByCount }) {
				byCount++
			}
		}
	}
	return flagged, byCount, weeks
}

// With true rates at the targets or a little above, as those who set targets mean them, a goalie is seldom sent to practice
// for nothing. Exactly at every target, half of all true rates being a hair from below, the list leans on what the peers do
// and names something more often; the list by the counts alone is held to the bound there.
func TestWhoHasNothingPlantedIsSeldomSentToPractice(t *testing.T) {
	t.Parallel()
	m := model()
	for name, above := range map[string][2]float64{"exactly at every target": {0, 0}, "at the targets or up to .10 above": reaches} {
		var counting sync.Mutex
		var all sync.WaitGroup
		given, byCount, weeks := 0, 0, 0
		workers := runtime.GOMAXPROCS(0)
		for w := range workers {
			all.Go(func() {
				for seed := w; seed < seeds; seed += workers {
					f, c, n := flagged(m, m.Invent(nothingPlanted(seed, above), uint64(seed), lastWeek))
					counting.Lock()
					given, byCount, weeks = given+f, byCount+c, weeks+n
					counting.Unlock()
				}
			})
		}
		all.Wait()
		share, counts := float64(given)/float64(weeks), float64(byCount)/float64(weeks)
		t.Logf("%d seeds, true rates %s: something to work on in %d of %d weeks = %.3f; by the counts alone in %.3f",
			seeds, name, given, weeks, share, counts)
		assert.LessOrEqual(t, counts, atMostFlagged, name)
		if above == reaches {
			assert.LessOrEqual(t, share, atMostFlagged, name)
		}
	}
}
