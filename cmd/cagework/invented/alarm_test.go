package invented

import (
	"runtime"
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

// flagged counts the weeks of a season in which goalies were given something to work on, and all that were looked at.
func flagged(m *Model, p *Program) (flagged, weeks int) {
	s := newSeason(m, p)
	for _, g := range s.Goalies {
		play := judgement.Plays(s.faced[g.ID])[0]
		for back := 0; back < Weeks; back += everyWeeks {
			r := s.week(g, domain.WeekOf(p.LastWeek.Monday().AddDays(-7*back)))
			var rates []judgement.Rate
			near := play
			near.Faced = judgement.Between(play.Faced, r.Week.Sunday().AddDays(1-7*longest(r.Targets)), r.Week.Sunday())
			for _, target := range r.Targets {
				if target.Fields.Active {
					rates = append(rates, judgement.RateOf(target, near, r.Week, judgement.Defaults()))
				}
			}
			judgement.ListAlone(rates, judgement.Defaults())
			need := planning.Need{Goalie: g.Fields, Week: r.Week, Rates: rates, Rules: r.Rules, Drills: r.Drills}
			weeks++
			if len(planning.ChooseWorkOns(need)) > 0 {
				flagged++
			}
		}
	}
	return flagged, weeks
}

func longest(targets []domain.Target) int {
	weeks := 0
	for _, t := range targets {
		weeks = max(weeks, t.Fields.Weeks)
	}
	return weeks
}

func TestWhoHasNothingPlantedIsSeldomSentToPractice(t *testing.T) {
	t.Parallel()
	m := model()
	for name, above := range map[string][2]float64{"exactly at every target": {0, 0}, "at the targets or up to .10 above": reaches} {
		var counting sync.Mutex
		var all sync.WaitGroup
		given, weeks := 0, 0
		workers := runtime.GOMAXPROCS(0)
		for w := range workers {
			all.Go(func() {
				for seed := w; seed < seeds; seed += workers {
					f, n := flagged(m, m.Invent(nothingPlanted(seed, above), uint64(seed), lastWeek))
					counting.Lock()
					given, weeks = given+f, weeks+n
					counting.Unlock()
				}
			})
		}
		all.Wait()
		share := float64(given) / float64(weeks)
		t.Logf("%d seeds, true rates %s: something to work on in %d of %d weeks = %.3f", seeds, name, given, weeks, share)
		assert.LessOrEqual(t, share, atMostFlagged, name)
	}
}
