package postgres_test

import (
	"fmt"
	"testing"

	"cagework/domain"

	"github.com/stretchr/testify/require"
)

// TestAnUndoLosesNothingWrittenMeanwhile has somebody change a record while somebody else takes back its last change:
// the undo names a state that is gone when its turn comes.
func TestAnUndoLosesNothingWrittenMeanwhile(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	goalies := s.stores.Goalies
	named := func(name string) domain.GoalieFields {
		f := s.goalie.Fields
		f.Name = name
		return f
	}
	for _, undone := range []string{"change", "create"} {
		goalie := made(t, goalies, s.director, "undone "+undone, named("first"))
		if undone == "change" {
			var err error
			goalie, err = goalies.Patch(t.Context(), s.director, goalie.ID, anyRev, to(named("second")))
			require.NoError(t, err)
		}
		open := s.gate(t)
		patched, undo := make(chan error, 1), make(chan error, 1)
		go func() {
			_, err := goalies.Patch(t.Context(), s.director, goalie.ID, at(goalie.Rev), to(named("third")))
			patched <- err
		}()
		s.blocked(t, 1)
		go func() {
			_, err := s.stores.Changes.Undo(t.Context(), s.director, goalie.ID, at(goalie.Rev), 0)
			undo <- err
		}()
		s.blocked(t, 2)
		open()
		require.NoError(t, <-patched)
		err := <-undo
		now, gone := goalies.Get(t.Context(), s.director, goalie.ID)
		require.NoError(t, gone)
		require.Equal(t, "third", now.Fields.Name, "the undo of a %s wrote over what came in between", undone)
		require.Equal(t, now.Rev, refused(t, domain.Stale, err).Rev)
	}
}

// TestABatchWaitsForNobodyInACircle puts batches that reach over two games while others write single shots and stints of
// those games.
func TestABatchWaitsForNobodyInACircle(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	games := []domain.ID{s.game.ID, made(t, s.stores.Games, s.director, "second game", s.gameOn("2026-04-12")).ID}
	shot := func(game int) domain.ShotFields {
		f := s.shotAt(1, 300, domain.Save)
		f.GameID = games[game]
		return f
	}
	errs := together(6, func(i int) error {
		for n := range 8 {
			name := fmt.Sprint("shot ", i, " ", n)
			if i%2 == 0 {
				if _, _, err := s.stores.Shots.Put(t.Context(), s.director, id(name), shot(n%2)); err != nil {
					return err
				}
				continue
			}
			results, err := s.stores.Shots.PutMany(t.Context(), s.director, []domain.ShotItem{
				{ID: id(name + " a"), ShotFields: shot(0)}, {ID: id(name + " b"), ShotFields: shot(1)},
			})
			if err != nil {
				return err
			}
			for _, r := range results {
				if r.Err != nil {
					return r.Err
				}
			}
		}
		return nil
	})
	require.Equal(t, map[domain.Code]int{"": 6}, count(errs), "%v", errs)
	require.Zero(t, ask[int](t, s.world, `SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()`))
	s.lastRev(t, s.program.ID)
}
