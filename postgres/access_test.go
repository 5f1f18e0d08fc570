package postgres_test

import (
	"slices"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// looked is an entry of the director's, who read the scene's goalie.
func (s *scene) looked(name string, at time.Time) domain.Access {
	a := domain.NewAccess(s.director, at, domain.AccessRead, domain.NounWeek).On(domain.NounGoalie, s.goalie.ID)
	a.TokenID = new(id("token " + name))
	return a
}

func (s *scene) accesses(t *testing.T, f domain.Filter) []domain.Access {
	t.Helper()
	page, err := s.stores.Accesses.List(t.Context(), s.director, domain.Query{Filter: f, Limit: domain.MaxLimit})
	require.NoError(t, err)
	return page.Items
}

// TestAccessesAreOnlyAdded: an entry is written once, whoever sends it again, and no SQL of the service changes or removes it.
func TestAccessesAreOnlyAdded(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	write := func(entries ...domain.Access) {
		require.NoError(t, s.stores.Accesses.Write(t.Context(), s.program.ID, entries))
	}
	first, second := s.looked("one", noon), s.looked("two", noon.Add(time.Minute))
	second.Lost = &domain.LostAccesses{Count: 3, From: first.At, To: second.At}
	rev := s.lastRev(t, s.program.ID)
	write(first)
	other := first
	other.Action = domain.AccessErase
	write(other, second)
	first.ProgramID, second.ProgramID = domain.ID{}, domain.ID{}
	require.Equal(t, []domain.Access{second, first}, s.accesses(t, domain.Filter{}), "newest first, the first as it was")
	require.Equal(t, rev, s.lastRev(t, s.program.ID), "outside the program's change numbers")

	for name, address := range map[string]string{"login": s.db.URL, "superuser": s.db.AdminURL} {
		conn := dial(t, address)
		for _, sql := range []string{`UPDATE accesses SET at = now()`, `DELETE FROM accesses`, `TRUNCATE accesses`} {
			asService(t, conn, s.program.ID.String(), func(tx pgx.Tx) {
				_, err := tx.Exec(t.Context(), sql)
				require.Equal(t, "42501", sqlState(t, err), "%s: %s", name, sql)
			})
		}
	}
	gone := s.looked("nowhere", noon)
	refused(t, domain.NotFound, s.stores.Accesses.Write(t.Context(), id("nowhere"), []domain.Access{gone}))
}

// TestAccessesWaitForNoWriter: somebody who writes records holds the program's row, and the entry is written all the same.
func TestAccessesWaitForNoWriter(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	hold, err := dial(t, s.db.AdminURL).Begin(t.Context())
	require.NoError(t, err)
	_, err = hold.Exec(t.Context(), `UPDATE programs SET last_rev = last_rev WHERE id = $1`, s.program.ID)
	require.NoError(t, err)
	began := time.Now()
	require.NoError(t, s.stores.Accesses.Write(t.Context(), s.program.ID, []domain.Access{s.looked("one", noon)}))
	require.Less(t, time.Since(began), 3*time.Second, "a lock would be waited for for 4 s, in vain")
	require.NoError(t, hold.Rollback(t.Context()))
}

func TestAccessesAreFound(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	coach := s.director
	coach.MemberID = id("coach")
	var all []domain.Access
	for i := range 8 {
		at := noon.Add(time.Duration(i) * 20 * time.Minute)
		a := s.looked(string(rune('a'+i)), at)
		switch i {
		case 3:
			a = domain.NewAccess(coach, at, domain.AccessList, domain.NounShot).OnceAnHour()
		case 5:
			a = a.On(domain.NounGoalie, id("other"))
		}
		a.ProgramID = domain.ID{}
		all = append(all, a)
	}
	require.NoError(t, s.stores.Accesses.Write(t.Context(), s.program.ID, all))
	slices.SortFunc(all, func(a, b domain.Access) int { return slices.Compare(b.ID[:], a.ID[:]) })
	only := func(keep func(domain.Access) bool) []domain.Access {
		return slices.DeleteFunc(slices.Clone(all), func(a domain.Access) bool { return !keep(a) })
	}
	exact := noon.Truncate(time.Microsecond)
	since, until := exact.Add(50*time.Minute), exact.Add(80*time.Minute)
	require.Equal(t, all, s.accesses(t, domain.Filter{}))
	require.Equal(t, only(func(a domain.Access) bool { return *a.MemberID == coach.MemberID }), s.accesses(t, domain.Filter{MemberID: &coach.MemberID}))
	require.Equal(t, only(func(a domain.Access) bool { return a.RecordID != nil && *a.RecordID == s.goalie.ID }), s.accesses(t, domain.Filter{RecordID: &s.goalie.ID}))
	require.Equal(t, only(func(a domain.Access) bool { return !a.At.Before(since) }), s.accesses(t, domain.Filter{Since: &since}),
		"what is noted once an hour stands at its hour's beginning and is found by its own instant")
	require.Equal(t, only(func(a domain.Access) bool { return a.At.Before(until) }), s.accesses(t, domain.Filter{Until: &until}))
	require.Len(t, s.accesses(t, domain.Filter{Since: &since, Until: &until}), 1)

	var paged []domain.Access
	for q := (domain.Query{Limit: 3}); ; {
		page, err := s.stores.Accesses.List(t.Context(), s.director, q)
		require.NoError(t, err)
		paged = append(paged, page.Items...)
		if q.After = page.Next; q.After == nil {
			break
		}
	}
	require.Equal(t, all, paged)

	_, stranger := s.another(t, "Millbrook")
	theirs, err := s.stores.Accesses.List(t.Context(), stranger, domain.Query{Filter: domain.Filter{RecordID: &s.goalie.ID}})
	require.NoError(t, err)
	require.Empty(t, theirs.Items)
	require.NotNil(t, theirs.Items, "an empty list, not null")
	for _, role := range domain.Roles[1:] {
		_, err := s.stores.Accesses.List(t.Context(), domain.Actor{ProgramID: s.program.ID, MemberID: id("m"), Role: role}, domain.Query{})
		refused(t, domain.Forbidden, err)
	}
}

// TestOnlyOldAccessesGo: nothing younger than the least goes, whatever is asked, and nothing of another program.
func TestOnlyOldAccessesGo(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	_, stranger := s.another(t, "Millbrook")
	now := time.Now()
	ages := []int{500, 401, 399, domain.LeastAccessDays + 1, domain.LeastAccessDays - 1, 0}
	var mine []domain.Access
	for _, days := range ages {
		mine = append(mine, s.looked("x", now.AddDate(0, 0, -days)))
	}
	require.NoError(t, s.stores.Accesses.Write(t.Context(), s.program.ID, mine))
	require.NoError(t, s.stores.Accesses.Write(t.Context(), stranger.ProgramID,
		[]domain.Access{domain.NewAccess(stranger, now.AddDate(-3, 0, 0), domain.AccessRead, domain.NounWeek)}))
	prune := func(days int, dry bool) int64 {
		n, more, err := s.stores.Accesses.Prune(t.Context(), s.program.ID, now.AddDate(0, 0, -days), dry)
		require.NoError(t, err)
		require.False(t, more)
		return n
	}
	require.EqualValues(t, 2, prune(400, true))
	require.Len(t, s.accesses(t, domain.Filter{}), 6, "a dry run removes nothing")
	require.EqualValues(t, 2, prune(400, false))
	require.Len(t, s.accesses(t, domain.Filter{}), 4)
	require.EqualValues(t, 2, prune(0, true))
	require.EqualValues(t, 2, prune(0, false), "what is younger than the least stays")
	require.Len(t, s.accesses(t, domain.Filter{}), 2)
	theirs, err := s.stores.Accesses.List(t.Context(), stranger, domain.Query{})
	require.NoError(t, err)
	require.Len(t, theirs.Items, 1)
}
