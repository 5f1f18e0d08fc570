package postgres_test

import (
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"cagework/domain"

	"github.com/stretchr/testify/require"
)

// together runs n functions at once and gives their errors.
func together(n int, do func(i int) error) []error {
	var group sync.WaitGroup
	errs := make([]error, n)
	start := make(chan struct{})
	for i := range n {
		group.Go(func() {
			<-start
			errs[i] = do(i)
		})
	}
	close(start)
	group.Wait()
	return errs
}

// count tells how many errors have each code, "" for success.
func count(errs []error) map[domain.Code]int {
	codes := map[domain.Code]int{}
	for _, err := range errs {
		if err == nil {
			codes[""]++
		} else {
			codes[domain.CodeOf(err)]++
		}
	}
	return codes
}

// TestOneWriterWinsEachState counts up a number by compare and swap: no update is lost, and each rev is changed once.
// Each writer also leaves its mark, since a patch that changes nothing is no failure.
func TestOneWriterWinsEachState(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	teams := s.stores.Teams
	const writers, tries = 8, 15
	var mu sync.Mutex
	won := map[int64]int{} // successes by the rev they were made on
	errs := together(writers, func(i int) error {
		for try := range tries {
			team, err := teams.Get(t.Context(), s.director, s.team.ID)
			if err != nil {
				return err
			}
			fields := team.Fields
			fields.PracticeMinutes++
			fields.Name = fmt.Sprint("Writer ", i, " try ", try)
			_, err = teams.Patch(t.Context(), s.director, team.ID, at(team.Rev), to(fields))
			switch {
			case domain.CodeOf(err) == domain.Stale:
			case err != nil:
				return err
			default:
				mu.Lock()
				won[team.Rev]++
				mu.Unlock()
			}
		}
		return nil
	})
	require.Equal(t, map[domain.Code]int{"": writers}, count(errs), "%v", errs)
	changed := len(s.history(t, s.program.ID, s.team.ID)) - 1
	successes := 0
	for rev, n := range won {
		successes += n
		require.Equal(t, 1, n, "rev %d", rev)
	}
	team, err := teams.Get(t.Context(), s.director, s.team.ID)
	require.NoError(t, err)
	require.Equal(t, s.team.Fields.PracticeMinutes+changed, team.Fields.PracticeMinutes)
	require.Equal(t, changed, successes)
	require.Positive(t, changed)
	s.lastRev(t, s.program.ID)
}

func TestTheSameRecordPutByEverybody(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	for _, k := range s.kinds() {
		hows := make([]domain.Written, 8)
		errs := together(len(hows), func(i int) (err error) {
			_, hows[i], err = k.put(t.Context(), s.director, id("same "+k.field), k.full)
			return err
		})
		require.Equal(t, map[domain.Code]int{"": 8}, count(errs), "%s: %v", k.field, errs)
		slices.Sort(hows)
		require.Equal(t, append([]domain.Written{domain.Created}, slices.Repeat([]domain.Written{domain.Unchanged}, 7)...), hows, k.field)
		require.Equal(t, []string{"create"}, s.ops(t, id("same "+k.field)))
	}
	s.lastRev(t, s.program.ID)
}

func TestOneIDPutWithManyContents(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	errs := together(8, func(i int) error {
		_, _, err := s.stores.Goalies.Put(t.Context(), s.director, id("one"), domain.GoalieFields{
			Name: fmt.Sprint("Goalie ", i), StickHand: "left", Availability: domain.Full, AllowedDrillIDs: []domain.ID{},
		})
		return err
	})
	require.Equal(t, map[domain.Code]int{"": 1, domain.Conflict: 7}, count(errs), "%v", errs)
	errs = together(8, func(i int) error {
		target := fullTarget()
		_, _, err := s.stores.Targets.Put(t.Context(), s.director, id(fmt.Sprint("target ", i)), target)
		return err
	})
	require.Equal(t, map[domain.Code]int{"": 1, domain.InTheWay: 7}, count(errs), "one code: %v", errs)
	errs = together(8, func(i int) error {
		_, _, err := s.stores.Readings.Put(t.Context(), s.director, id(fmt.Sprint("reading ", i)), domain.ReadingFields{
			ShotID: s.shot.ID, HowRead: domain.Film, Habits: allHabits(),
		})
		return err
	})
	require.Equal(t, map[domain.Code]int{"": 1, domain.InTheWay: 7}, count(errs), "one reading a member: %v", errs)
}

func TestOneOfOverlappingStintsWins(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	errs := s.crowded(t, 8, func(i int) error {
		_, _, err := s.stores.Stints.Put(t.Context(), s.director, id(fmt.Sprint("stint ", i)), s.stint(&s.goalie.ID, 1, 700-i, 2, 700-i))
		return err
	})
	require.Equal(t, map[domain.Code]int{"": 1, domain.InTheWay: 7}, count(errs), "%v", errs)
	errs = s.crowded(t, 8, func(i int) error {
		_, _, err := s.stores.RosterSpells.Put(t.Context(), s.director, id(fmt.Sprint("spell ", i)), domain.RosterSpellFields{
			TeamID: s.team.ID, GoalieID: s.goalie.ID, FromOn: day("2026-01-01").AddDays(i), ToOn: new(day("2026-02-01")),
		})
		return err
	})
	require.Equal(t, map[domain.Code]int{"": 1, domain.InTheWay: 7}, count(errs), "%v", errs)
}

func TestDirectorsCannotRemoveEachOther(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	for round := range 5 {
		program, first := w.another(t, fmt.Sprint("Program ", round))
		second := made(t, w.stores.Members, first, fmt.Sprint("second ", round), domain.MemberFields{
			Name: "Ode", Role: domain.Director, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{},
		})
		viewer := second.Fields
		viewer.Role = domain.Viewer
		errs := w.crowded(t, 2, func(i int) error {
			if i == 0 {
				return w.stores.Members.Remove(t.Context(), first, second.ID, anyRev)
			}
			other := domain.Actor{ProgramID: program.ID, MemberID: second.ID, Role: domain.Director}
			_, err := w.stores.Members.Patch(t.Context(), other, first.MemberID, anyRev, to(viewer))
			return err
		})
		require.Equal(t, map[domain.Code]int{"": 1, domain.InUse: 1}, count(errs), "%v", errs)
		require.Equal(t, 1, ask[int](t, w, `SELECT count(*) FROM members WHERE program_id = $1 AND role = 'director'`, program.ID))
	}
}

// TestAShotIsFoundWhoeverComesFirst puts a shot and the stint that it belongs to at the same time.
func TestAShotIsFoundWhoeverComesFirst(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	for round := range 4 {
		shot, stint := id(fmt.Sprint("shot ", round)), id(fmt.Sprint("stint ", round))
		errs := s.crowded(t, 2, func(i int) (err error) {
			if i == 0 {
				_, _, err = s.stores.Shots.Put(t.Context(), s.director, shot, s.shotAt(1, 700, domain.Goal))
			} else {
				_, _, err = s.stores.Stints.Put(t.Context(), s.director, stint, s.stint(&s.goalie.ID, 1, 720, 4, 0))
			}
			return err
		})
		require.Equal(t, map[domain.Code]int{"": 2}, count(errs), "%v", errs)
		found, err := s.stores.Shots.Get(t.Context(), s.director, shot)
		require.NoError(t, err)
		require.Equal(t, &s.goalie.ID, found.Found.FacedGoalieID)
		require.NoError(t, s.stores.Stints.Remove(t.Context(), s.director, stint, anyRev))
	}
}

// TestShotsAndStintsChangeTogether has every writer of one game at work: none waits for another in a circle, which
// Postgres would end only after a second.
func TestShotsAndStintsChangeTogether(t *testing.T) {
	t.Parallel()
	c := newCage(t)
	stint := made(t, c.stores.Stints, c.director, "stint", c.stint(&c.goalie.ID, 1, 720, 2, 0))
	began := time.Now()
	errs := together(8, func(i int) error {
		for round := range 6 {
			if i%2 == 0 {
				fields := c.stint(&c.goalie.ID, 1, 720, 2, round)
				if round%2 == 0 {
					fields.GoalieID = &c.other.ID
				}
				if _, err := c.stores.Stints.Patch(t.Context(), c.director, stint.ID, anyRev, to(fields)); err != nil {
					return err
				}
				continue
			}
			if _, err := c.stores.Shots.Patch(t.Context(), c.director, c.a.ID, anyRev, to(c.shotAt(1, 100*i+round, domain.Save))); err != nil {
				return err
			}
		}
		return nil
	})
	require.Equal(t, map[domain.Code]int{"": 8}, count(errs), "%v", errs)
	require.Zero(t, ask[int](t, c.world, `SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()`), "in %v", time.Since(began))
	c.lastRev(t, c.program.ID)
}
