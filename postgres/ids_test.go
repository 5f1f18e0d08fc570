package postgres_test

import (
	"fmt"
	"testing"

	"cagework/domain"

	"github.com/stretchr/testify/require"
)

// refusedAsTaken asks for the one answer that an id which something else holds gets: it tells nothing of what or whose.
func refusedAsTaken(t *testing.T, err error, why ...any) {
	t.Helper()
	require.Equal(t, &domain.Error{Code: domain.Conflict, Message: "This id is taken. Use a new one."},
		plain(refused(t, domain.Conflict, err)), why...)
}

// plain is an error without what is only logged.
func plain(e *domain.Error) *domain.Error {
	e.Cause = nil
	return e
}

// TestAnIDIsOfOneNoun puts every kind of record under an id of every other kind, while that is there and after it was
// removed: nothing is written, and nothing is told of it.
func TestAnIDIsOfOneNoun(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	kinds := s.kinds()
	for _, k := range kinds {
		_, how, err := k.put(t.Context(), s.director, id("of "+k.field), k.full)
		require.NoError(t, err)
		require.Equal(t, domain.Created, how)
	}
	s.fitted(t, "of Fits", "2026-04-11")
	everyOther := func(when string) {
		before := s.digest(t)
		for _, k := range kinds {
			for _, holder := range append(kinds, kind{field: "Fits"}) {
				if holder.field == k.field {
					continue
				}
				_, _, err := k.put(t.Context(), s.director, id("of "+holder.field), k.bare)
				refusedAsTaken(t, err, "%s under the id of one of %s, %s", k.field, holder.field, when)
			}
			_, _, err := s.stores.Fits.Put(t.Context(), s.director, id("of "+k.field), s.fitFields("2026-04-11"))
			refusedAsTaken(t, err, "a fit under the id of one of %s, %s", k.field, when)
			_, _, err = k.put(t.Context(), s.director, s.program.ID, k.bare)
			refusedAsTaken(t, err, "%s under the program's own id", k.field)
		}
		require.Equal(t, before, s.digest(t), "something was written")
	}
	everyOther("while it is there")
	for _, k := range kinds {
		require.NoError(t, k.remove(t.Context(), s.director, id("of "+k.field), anyRev))
	}
	everyOther("after it was removed")
	for _, k := range kinds { // an undo finds its own id
		if k.field == "Tokens" {
			continue
		}
		require.NoError(t, s.takeBack(t.Context(), s.director, id("of "+k.field)), k.field)
		require.Equal(t, []string{"create", "remove", "create"}, s.ops(t, id("of "+k.field)))
	}
	s.lastRev(t, s.program.ID)
	require.Zero(t, ask[int](t, s.world, `SELECT count(*) FROM (SELECT record_id FROM changes GROUP BY program_id, record_id
		HAVING count(DISTINCT noun) > 1) x`))
	require.Zero(t, ask[int](t, s.world, `SELECT count(*) FROM changes c LEFT JOIN record_ids k
		ON k.program_id = c.program_id AND k.id = c.record_id AND k.noun = c.noun WHERE k.id IS NULL`))
}

// TestTwoNounsAtOnce lets two kinds of record race for one id: exactly one gets it, whichever comes first.
func TestTwoNounsAtOnce(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	for round := range 6 {
		contested := id(fmt.Sprint("contested ", round))
		fields := s.shotAt(1, 300, domain.Save)
		goalieFirst := round%2 == 0
		var items []domain.ShotResult
		put := func(i int) (err error) {
			switch {
			case (i == 0) == goalieFirst:
				_, _, err = s.stores.Goalies.Put(t.Context(), s.director, contested, goalieCalled("Juno"))
			case round < 2:
				_, _, err = s.stores.Shots.Put(t.Context(), s.director, contested, fields)
			default:
				items, err = s.stores.Shots.PutMany(t.Context(), s.director, []domain.ShotItem{
					{ID: contested, ShotFields: fields}, {ID: id(fmt.Sprint("beside ", round)), ShotFields: fields}})
			}
			return err
		}
		open := s.gate(t)
		ended := make([]chan error, 2)
		for i := range ended { // in a known order, for the loser's answer is the point
			ended[i] = make(chan error, 1)
			go func() { ended[i] <- put(i) }()
			s.blocked(t, i+1)
		}
		open()
		errs := []error{<-ended[0], <-ended[1]}
		if items != nil {
			require.Equal(t, domain.ItemCreated, items[1].Status, "what stands beside it is written: %v", items[1].Err)
			for i := range errs {
				if (i == 0) != goalieFirst {
					require.NoError(t, errs[i])
					errs[i] = items[0].Err
				}
			}
		}
		require.Equal(t, map[domain.Code]int{"": 1, domain.Conflict: 1}, count(errs), "%v", errs)
		for _, err := range errs {
			if err != nil {
				refusedAsTaken(t, err)
			}
		}
		require.Equal(t, []string{"create"}, s.ops(t, contested))
		require.Equal(t, 1, ask[int](t, s.world, `SELECT (SELECT count(*) FROM goalies WHERE id = $1) + (SELECT count(*) FROM shots WHERE id = $1)`, contested))
	}
	s.lastRev(t, s.program.ID)
}

// TestAnIDOfTwoNounsFromBefore is about ids that were shared before that was refused: each noun's changes are its own
// readers', and an undo is of the noun whose change it takes back.
func TestAnIDOfTwoNounsFromBefore(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	shared := s.goalie.ID
	coach := s.member(t, "other coach", domain.Coach, "other team")
	other := made(t, s.stores.Games, s.director, "game of others", domain.GameFields{TeamID: id("other team"),
		CompetitionID: s.competition.ID, PlayedOn: day("2026-04-11"), Kind: domain.KindGame})
	s.exec(t, `DELETE FROM record_ids WHERE id = $1`, shared) // as if the shot had been put before ids were kept
	fields := s.shotAt(1, 10, domain.Goal)
	fields.GameID = other.ID
	shot, _, err := s.stores.Shots.Put(t.Context(), coach, shared, fields)
	require.NoError(t, err)

	page, err := s.stores.Changes.Of(t.Context(), coach, shared, 0, 0)
	require.NoError(t, err)
	require.Len(t, page.Items, 1)
	require.Equal(t, domain.NounShot, page.Items[0].Noun)
	_, err = s.stores.Changes.Undo(t.Context(), coach, shared, anyRev, s.goalie.Rev)
	refused(t, domain.Forbidden, err)
	_, err = s.stores.Goalies.Patch(t.Context(), s.director, shared, anyRev, to(goalieCalled("Juno")))
	require.NoError(t, err)
	undone, err := s.stores.Changes.Undo(t.Context(), coach, shared, at(shot.Rev), 0)
	require.NoError(t, err, "the last change of the shot, whatever else was written under the id")
	require.Equal(t, domain.NounShot, undone.Noun)
	goalie, err := s.stores.Goalies.Get(t.Context(), s.director, shared)
	require.NoError(t, err)
	require.Equal(t, "Juno", goalie.Fields.Name)
}
