package invented

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/summary"
)

// firstTwo gives the codes of a week's first two work-ons.
func firstTwo(w summary.GoalieWeek) []string {
	var out []string
	for _, work := range w.WorkOns[:min(2, len(w.WorkOns))] {
		out = append(out, work.Target.Code)
	}
	return out
}

// found counts the planted weaknesses that are the first or second work-on of the last week; missed names the others.
func found(s *season) (found int, missed []string) {
	for _, g := range s.Goalies {
		planted, is := s.Planted[g.ID]
		if !is {
			continue
		}
		if got := firstTwo(summary.OfGoalie(s.week(g, s.LastWeek))); slices.Contains(got, planted) {
			found++
		} else {
			missed = append(missed, fmt.Sprintf("%s: %s is not in %v", g.Fields.Name, planted, got))
		}
	}
	return found, missed
}

func TestEachPlantedWeaknessIsFound(t *testing.T) {
	t.Parallel()
	m := model()
	s := newSeason(m, m.Invent(Squads(), DemoSeed, lastWeek))
	require.Len(t, s.Planted, 5)
	n, missed := found(s)
	assert.Equal(t, 5, n, "%v", missed)
	s.Assignments = nil
	n, missed = found(s)
	assert.Equal(t, 5, n, "also when no block keeps it: %v", missed)
	for _, g := range s.Goalies {
		if w := summary.OfGoalie(s.week(g, s.LastWeek)); s.Planted[g.ID] == "" {
			assert.Empty(t, w.WorkOns, "%s has nothing planted", g.Fields.Name)
		}
	}
}

// The demo's seed is no lucky one.
func TestPlantedWeaknessesAreFoundWhateverTheSeed(t *testing.T) {
	t.Parallel()
	m := model()
	hits, all := 0, 0
	for seed := range uint64(seeds / 8) {
		s := newSeason(m, m.Invent(Squads(), seed, lastWeek))
		s.Assignments = []domain.Assignment{}
		n, missed := found(s)
		hits, all = hits+n, all+len(s.Planted)
		if len(missed) > 0 {
			t.Logf("seed %d: %v", seed, missed)
		}
	}
	share := float64(hits) / float64(all)
	t.Logf("%d of %d planted weaknesses are a first or second work-on = %.3f", hits, all, share)
	assert.GreaterOrEqual(t, share, .95)
}
