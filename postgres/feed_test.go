package postgres_test

import (
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"cagework/domain"

	"github.com/stretchr/testify/require"
)

// TestAReaderOfTheHistorySeesEveryRevInOrder follows the history while writers commit: a reader that goes on from the
// last number it saw misses none and sees none twice.
func TestAReaderOfTheHistorySeesEveryRevInOrder(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	const writers, writes = 6, 15
	from := s.lastRev(t, s.program.ID)
	reader := dial(t, s.db.AdminURL)
	var done atomic.Bool
	seen := make(chan []int64, 1)
	go func() {
		var revs []int64
		for cursor, last := from, false; ; {
			last = done.Load() // read once more after the writers are done
			rows, err := reader.Query(t.Context(), `SELECT rev FROM changes WHERE program_id = $1 AND rev > $2 ORDER BY rev`, s.program.ID, cursor)
			for err == nil && rows.Next() {
				if err = rows.Scan(&cursor); err == nil {
					revs = append(revs, cursor)
				}
			}
			if last || err != nil {
				seen <- revs
				return
			}
		}
	}()
	errs := together(writers, func(i int) error {
		for n := range writes {
			_, _, err := s.stores.Goalies.Put(t.Context(), s.director, id(fmt.Sprint(i, " ", n)), domain.GoalieFields{
				Name: fmt.Sprint(i, " ", n), StickHand: "left", Availability: domain.Full, AllowedDrillIDs: []domain.ID{},
			})
			if err != nil {
				return err
			}
		}
		return nil
	})
	done.Store(true)
	require.Equal(t, map[domain.Code]int{"": writers}, count(errs), "%v", errs)
	var want []int64
	for n := range int64(writers * writes) {
		want = append(want, from+n+1)
	}
	require.Equal(t, want, <-seen)
}

// gate holds every write of every program at its last step until it is opened.
func (w *world) gate(t *testing.T) (open func()) {
	t.Helper()
	hold, err := dial(t, w.db.AdminURL).Begin(t.Context())
	require.NoError(t, err)
	_, err = hold.Exec(t.Context(), `SELECT FROM programs FOR UPDATE`)
	require.NoError(t, err)
	return func() { require.NoError(t, hold.Rollback(t.Context())) }
}

// crowded runs n writes at once, none of which commits before all have come as far as they can.
func (w *world) crowded(t *testing.T, n int, do func(i int) error) []error {
	t.Helper()
	require.NoError(t, w.pool.Warm(t.Context(), n)) // who waits for a lock has four seconds: none goes into connecting
	open := w.gate(t)
	ended := make(chan []error, 1)
	go func() { ended <- together(n, do) }()
	w.blocked(t, n)
	open()
	return <-ended
}

// blocked waits until so many of the service's sessions wait for a lock.
func (w *world) blocked(t *testing.T, sessions int) {
	t.Helper()
	require.Eventually(t, func() bool {
		return ask[int](t, w, `SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()
			AND application_name = 'cagework' AND wait_event_type = 'Lock'`) >= sessions
	}, 5*time.Second, 5*time.Millisecond)
}

// TestATeamCannotGoWhileAMemberIsGivenIt holds both writes at the last step and lets them go in either order. Lists of
// ids have no foreign key that would save them.
func TestATeamCannotGoWhileAMemberIsGivenIt(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	for _, memberFirst := range []bool{true, false} {
		team := made(t, s.stores.Teams, s.director, fmt.Sprint("team ", memberFirst), domain.TeamFields{Name: "B", CompetitionID: s.competition.ID})
		writes := []func() error{
			func() error {
				_, _, err := s.stores.Members.Put(t.Context(), s.director, id(fmt.Sprint("member ", memberFirst)), domain.MemberFields{
					Name: "Ode", Role: domain.Coach, TeamIDs: []domain.ID{team.ID}, GoalieIDs: []domain.ID{},
				})
				return err
			},
			func() error { return s.stores.Teams.Remove(t.Context(), s.director, team.ID, anyRev) },
		}
		if !memberFirst {
			writes[0], writes[1] = writes[1], writes[0]
		}
		open := s.gate(t)
		ended := make(chan error, 2)
		for i, write := range writes {
			go func() { ended <- write() }()
			s.blocked(t, i+1)
		}
		open()
		codes := count([]error{<-ended, <-ended})
		require.Equal(t, 1, codes[""], "one of the two is refused: %v", codes)
		require.Zero(t, ask[int](t, s.world, `SELECT count(*) FROM members m, unnest(m.team_ids) named
			WHERE NOT EXISTS (SELECT FROM teams WHERE teams.id = named)`), "a member names a team that is gone")
	}
}
