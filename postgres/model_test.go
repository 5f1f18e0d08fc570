package postgres_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
)

// modelled is what a record should be: its contents from the first to the present, and whether it was removed.
type modelled struct {
	contents []domain.GoalieFields
	rev      int64
	removed  bool
}

func (m *modelled) present() domain.GoalieFields { return m.contents[len(m.contents)-1] }

// model is a program's goalies in memory.
type model struct {
	t       *testing.T
	w       *world
	actor   domain.Actor
	last    int64 // the last rev given out
	records map[domain.ID]*modelled
}

// TestARandomMixOfWritesFollowsTheModel does what many clients might, and asks of every answer, every rev and the
// whole history what a model in memory says.
func TestARandomMixOfWritesFollowsTheModel(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	rounds := 0
	rapid.Check(t, func(r *rapid.T) {
		rounds++
		program, actor := w.another(t, fmt.Sprint("Program ", rounds))
		m := &model{t: t, w: w, actor: actor, last: w.lastRev(t, program.ID), records: map[domain.ID]*modelled{}}
		r.Repeat(map[string]func(*rapid.T){
			"put": m.put, "patch": m.patch, "remove": m.remove,
			"": func(r *rapid.T) { require.Equal(r, m.last, w.lastRev(t, program.ID)) },
		})
		m.compare(r)
	})
}

// draw picks a record and a content from few, so that they meet.
func (m *model) draw(r *rapid.T) (domain.ID, *modelled, domain.GoalieFields) {
	record := id(rapid.SampledFrom([]string{"a", "b", "c"}).Draw(r, "record"))
	return record, m.records[record], domain.GoalieFields{
		Name: rapid.SampledFrom([]string{"Wren", "Juno"}).Draw(r, "name"), StickHand: "left", Availability: domain.Full, AllowedDrillIDs: []domain.ID{},
		PracticeMinutes: rapid.Ptr(rapid.IntRange(0, 1), true).Draw(r, "minutes"),
	}
}

// ifMatch draws a condition and tells whether it holds.
func (m *model) ifMatch(r *rapid.T, was *modelled) (domain.Rev, bool) {
	rev := rapid.SampledFrom([]domain.Rev{anyRev, {}, at(m.last), at(m.last - 1), {Of: []int64{m.last - 2, m.last - 3, m.last - 4}}}).Draw(r, "rev")
	return rev, was != nil && rev.Matches(was.rev)
}

func same(a, b domain.GoalieFields) bool {
	x, _ := json.Marshal(a)
	y, _ := json.Marshal(b)
	return string(x) == string(y)
}

func (m *model) put(r *rapid.T) {
	record, was, fields := m.draw(r)
	got, how, err := m.w.stores.Goalies.Put(m.t.Context(), m.actor, record, fields)
	switch {
	case was == nil:
		require.NoError(r, err)
		require.Equal(r, domain.Created, how)
		m.last++
		m.records[record] = &modelled{contents: []domain.GoalieFields{fields}, rev: m.last}
		require.Equal(r, domain.Goalie{ID: record, Rev: m.last, Fields: fields}, got)
	case was.removed:
		refused(r, domain.Removed, err)
	default:
		for _, c := range was.contents {
			if same(c, fields) {
				require.NoError(r, err)
				require.Equal(r, domain.Unchanged, how)
				require.Equal(r, domain.Goalie{ID: record, Rev: was.rev, Fields: was.present()}, got)
				return
			}
		}
		require.Equal(r, was.rev, refused(r, domain.Conflict, err).Rev)
	}
}

func (m *model) patch(r *rapid.T) {
	record, was, fields := m.draw(r)
	rev, matches := m.ifMatch(r, was)
	got, err := m.w.stores.Goalies.Patch(m.t.Context(), m.actor, record, rev, to(fields))
	switch {
	case was == nil || was.removed:
		refused(r, domain.NotFound, err)
		return
	case same(was.present(), fields):
		require.NoError(r, err)
	case !matches:
		require.Equal(r, was.rev, refused(r, domain.Stale, err).Rev)
		return
	default:
		require.NoError(r, err)
		m.last++
		was.rev, was.contents = m.last, append(was.contents, fields)
	}
	require.Equal(r, domain.Goalie{ID: record, Rev: was.rev, Fields: fields}, got)
}

func (m *model) remove(r *rapid.T) {
	record, was, _ := m.draw(r)
	rev, matches := m.ifMatch(r, was)
	err := m.w.stores.Goalies.Remove(m.t.Context(), m.actor, record, rev)
	switch {
	case was != nil && was.removed && matches && !rev.Any:
		require.NoError(r, err, "it names the state that was removed")
	case was == nil || was.removed:
		refused(r, domain.NotFound, err)
	case !matches:
		require.Equal(r, was.rev, refused(r, domain.Stale, err).Rev)
	default:
		require.NoError(r, err)
		m.last++
		was.removed = true
	}
}

// compare reads everything back: the present records, and for each its history with the state before each change.
func (m *model) compare(r *rapid.T) {
	page, err := m.w.stores.Goalies.List(m.t.Context(), m.actor, domain.Query{})
	require.NoError(r, err)
	present := map[domain.ID]domain.Goalie{}
	for _, g := range page.Items {
		present[g.ID] = g
	}
	for record, was := range m.records {
		want := was.contents
		if was.removed {
			require.NotContains(r, present, record)
		} else {
			require.Equal(r, domain.Goalie{ID: record, Rev: was.rev, Fields: was.present()}, present[record])
			want = want[:len(want)-1]
			delete(present, record)
		}
		before := []domain.GoalieFields{}
		for _, c := range m.w.history(m.t, m.actor.ProgramID, record)[1:] {
			var f domain.GoalieFields
			require.NoError(r, json.Unmarshal(c.Before, &f))
			before = append(before, f)
		}
		require.Equal(r, want, before)
	}
	require.Empty(r, present)
}
