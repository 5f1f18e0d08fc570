package invented

import (
	"math"
	"runtime"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/summary"
)

const (
	slumpFrom    = 7 // of twelve weeks
	slumpSeasons = seeds / 6
	raised       = .75       // share of the seasons in which a slump shows on the goalie's page, stated in README
	fitSeed      = 1_000_000 // of the program behind the fit, which is none of those that are watched
)

// slumpingSquad gives a team of three: the odds of a goal on the first one's shots double from a week on, the others stay
// as they are. All rates lie at their targets or above.
func slumpingSquad() []Squad {
	s := Squads()[0]
	for i, g := range s.Goalies {
		s.Goalies[i] = Goalie{Name: g.Name, Hand: g.Hand, Above: reaches}
	}
	s.Goalies[0].SlumpFrom = slumpFrom
	return []Squad{s}
}

// fitOf makes a fit of a program's shots.
func fitOf(t *testing.T, m *Model, p *Program) domain.Fit {
	t.Helper()
	s := newSeason(m, p)
	var shots []*domain.CountedShot
	for _, g := range s.Goalies {
		shots = append(shots, s.faced[g.ID].Shots...)
	}
	c := p.Competitions[0].Fields
	fields := domain.FitFields{CodeOfPlay: c.CodeOfPlay, Level: c.Level, FittedOn: lastWeek.Monday()}
	found, err := judgement.Judge{}.Fit(fields, shots, m.Starter.Habits)
	require.NoError(t, err)
	require.True(t, found.Enough, found.Reason)
	return domain.Fit{ID: m.id("fit"), Fields: fields, Found: found}
}

// watched is what the charts of some seasons raised, looked at in every week of theirs.
type watched struct {
	seasons, slumps   int // of goalies who slump, and those in which a fall in saves was raised that came after it began
	slumping, slumped int // charts of saves of these, with enough tries for a season, and those that raised it
	charts            int // of goalies who do not change, with enough tries for a season
	falls, rises      int // of these, those that fell or rose in any week
}

func (w *watched) add(o watched) {
	w.seasons, w.slumps, w.slumping, w.slumped = w.seasons+o.seasons, w.slumps+o.slumps, w.slumping+o.slumping, w.slumped+o.slumped
	w.charts, w.falls, w.rises = w.charts+o.charts, w.falls+o.falls, w.rises+o.rises
}

// ofCharts is what the charts of one goalie raised, by target.
type ofCharts struct {
	tries       map[domain.ID]int // of the season
	fell, rose  map[domain.ID]bool
	slumped     map[domain.ID]bool // a fall raised on a day after the slump began
	slumpBegins domain.Date
}

// look takes in what the page of a week says.
func (o *ofCharts) look(v summary.GoalieWeek) {
	for _, p := range v.Plays {
		for _, rate := range p.Rates {
			if rate.Signal != nil {
				o.tries[rate.TargetID] = rate.Signal.Tries
			}
		}
	}
	for _, c := range v.Changed {
		if c.State == judgement.Rising {
			o.rose[c.TargetID] = true
			continue
		}
		o.fell[c.TargetID] = true
		if !c.RaisedOn.Before(o.slumpBegins) {
			o.slumped[c.TargetID] = true
		}
	}
}

// watch looks at every week of a season of every goalie.
func watch(s *season, fit domain.Fit) watched {
	var out watched
	for i, g := range s.Goalies {
		o := ofCharts{
			map[domain.ID]int{}, map[domain.ID]bool{}, map[domain.ID]bool{}, map[domain.ID]bool{},
			s.LastWeek.Monday().AddDays(7 * (slumpFrom - Weeks)),
		}
		for week := 1; week <= Weeks; week++ {
			r := s.week(g, domain.WeekOf(s.LastWeek.Monday().AddDays(7*(week-Weeks))))
			r.Fits = []domain.Fit{fit}
			o.look(summary.OfGoalie(r))
		}
		if i == 0 {
			out.add(s.slumpIn(o))
			continue
		}
		for id, n := range o.tries {
			if n >= judgement.Defaults().Signal.SeasonTries {
				out.add(watched{charts: 1, falls: count(o.fell[id]), rises: count(o.rose[id])})
			}
		}
	}
	return out
}

// slumpIn gives what the charts of saves raised of the goalie who slumps.
func (s *season) slumpIn(o ofCharts) watched {
	out := watched{seasons: 1}
	for _, t := range s.model.Starter.Targets {
		if judgement.HitIsASave(t.Fields) && o.tries[t.ID] >= judgement.Defaults().Signal.SeasonTries {
			out.slumping++
			out.slumped += count(o.slumped[t.ID])
		}
	}
	out.slumps = count(out.slumped > 0)
	return out
}

func count(is bool) int {
	if is {
		return 1
	}
	return 0
}

// A goalie who begins to let in twice the odds is seen on the goalie's page before the season ends, and the charts of those
// who do not change keep, over all the weeks of a season, to the share of false alarms that the page announces.
func TestASlumpIsRaisedAndNoChangeSeldomIs(t *testing.T) {
	t.Parallel()
	m := model()
	fit := fitOf(t, m, m.Invent(nothingPlanted(0, reaches), fitSeed, lastWeek))
	var all watched
	var adding sync.Mutex
	var running sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	for w := range workers {
		running.Go(func() {
			for seed := w; seed < slumpSeasons; seed += workers {
				p := m.Invent(slumpingSquad(), uint64(seed), lastWeek)
				p.Seasons[0].Fields.EndsOn = lastWeek.Sunday() // a false alarm has the whole season to come
				found := watch(newSeason(m, p), fit)
				adding.Lock()
				all.add(found)
				adding.Unlock()
			}
		})
	}
	running.Wait()
	share := func(n, of int) float64 { return float64(n) / float64(of) }
	level := judgement.PageLevel(len(judgement.ActiveTargets(m.Starter.Targets)), judgement.Defaults().Signal)
	margin := 3 * math.Sqrt(level*(1-level)/float64(all.charts))
	t.Logf("%d seasons with odds doubled from week %d of %d on: a fall in saves raised in %.2f, on %.2f of %d charts of saves; of "+
		"%d charts of goalies who do not change %.3f fell and %.3f rose in some week of the season, announced are %.2f each",
		all.seasons, slumpFrom, Weeks, share(all.slumps, all.seasons), share(all.slumped, all.slumping), all.slumping,
		all.charts, share(all.falls, all.charts), share(all.rises, all.charts), level)
	assert.LessOrEqual(t, share(all.falls, all.charts), level+margin)
	assert.LessOrEqual(t, share(all.rises, all.charts), level+margin)
	assert.Positive(t, all.falls+all.rises, "charts that never raise would show nothing")
	assert.GreaterOrEqual(t, share(all.slumps, all.seasons), raised-3*math.Sqrt(raised*(1-raised)/float64(all.seasons)))
}
