package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

// keptList is a list of erasures in memory; each step is shown to see first, which may refuse it.
type keptList struct {
	lines []domain.ErasureEntry
	see   func(domain.ErasureEntry) error
}

func (l *keptList) Append(e domain.ErasureEntry) error {
	if l.see != nil {
		if err := l.see(e); err != nil {
			return err
		}
	}
	l.lines = append(l.lines, e)
	return nil
}

func (l *keptList) steps() []domain.ErasureStep {
	var steps []domain.ErasureStep
	for _, line := range l.lines {
		steps = append(steps, line.Step)
	}
	return steps
}

func TestTheListKnowsBeforeTheDatabaseAndAfter(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	list := &keptList{}
	s.stores.Erasures.KeepApart(list)
	there := func() bool {
		return ask[bool](t, s.world, `SELECT EXISTS (SELECT FROM erasures WHERE id = $1)`, s.goalie.ID)
	}
	erase := func() error {
		_, err := s.stores.Erasures.Erase(t.Context(), s.director, domain.NounGoalie, s.goalie.ID, domain.ErasureConsent{Rev: anyRev})
		return err
	}
	before := s.digest(t)
	list.see = func(domain.ErasureEntry) error { return errors.New("no space left on device") }
	refused(t, domain.Unavailable, erase())
	require.Equal(t, before, s.digest(t), "what the list cannot hold is not done")

	list.see = func(e domain.ErasureEntry) error {
		if e.Step == domain.ErasureBegun { // the server ends the connection before the commit
			s.exec(t, `SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND application_name = 'cagework'`)
		}
		return nil
	}
	require.Error(t, erase())
	require.Equal(t, before, s.digest(t))
	require.Equal(t, domain.ErasureBegun, list.lines[0].Step)

	list.lines, list.see = nil, func(e domain.ErasureEntry) error {
		if there() != (e.Step == domain.ErasureDone) {
			return fmt.Errorf("%s at the wrong time", e.Step)
		}
		return nil
	}
	_, err := s.stores.Erasures.Erase(t.Context(), s.director, domain.NounGoalie, s.goalie.ID, domain.ErasureConsent{Digest: "wrong"})
	refused(t, domain.Stale, err)
	require.Empty(t, list.lines, "what is refused is not on the list")
	require.NoError(t, erase())
	require.Equal(t, []domain.ErasureStep{domain.ErasureBegun, domain.ErasureDone}, list.steps())
	receipt, err := s.stores.Erasures.Get(t.Context(), s.director, s.goalie.ID)
	require.NoError(t, err)
	require.True(t, receipt.Fields.KeptApart)
	require.NoError(t, erase())
	require.Len(t, list.lines, 2, "what is sent again is on the list already")
}

// TestAListIsReplayedInAnOlderDatabase has two databases with the same records, of which one was never told of the erasures.
func TestAListIsReplayedInAnOlderDatabase(t *testing.T) {
	t.Parallel()
	list := &keptList{}
	newer, older := newScene(t), newScene(t)
	newer.stores.Erasures.KeepApart(list)
	later := made(t, newer.stores.Goalies, newer.director, "later", goalieCalled("Ode"))
	newer.erase(t, domain.NounGoalie, newer.goalie.ID)
	newer.erase(t, domain.NounGoalie, later.ID)
	member := made(t, newer.stores.Members, newer.director, "member", domain.MemberFields{Name: "Odette Fell", Role: domain.Director, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{}})
	newer.erase(t, domain.NounMember, member.ID)
	list.lines = append(list.lines,
		domain.ErasureEntry{ProgramID: newer.program.ID, ID: id("never"), Noun: domain.NounGoalie, At: noon, Attempt: id("failed"), Step: domain.ErasureBegun},
		domain.ErasureEntry{ProgramID: newer.program.ID, ID: id("never"), Noun: domain.NounGoalie, At: noon, Attempt: id("failed"), Step: domain.ErasureFailed},
		domain.ErasureEntry{ProgramID: id("no program"), ID: id("x"), Noun: domain.NounGoalie, At: noon, Attempt: id("x"), Step: domain.ErasureDone})
	made(t, older.stores.Members, older.director, "member", member.Fields)
	made(t, older.stores.Goalies, older.director, "never", goalieCalled("Juno"))

	anew, err := older.stores.Erasures.Replay(t.Context(), list.lines)
	require.NoError(t, err)
	require.Equal(t, 3, anew)
	require.Empty(t, holding(older.dumped(t), older.goalie.Fields.Name, "Odette"))
	require.NotEmpty(t, holding(older.dumped(t), "Juno"))
	older.lastRev(t, older.program.ID)
	digest := older.digest(t)
	anew, err = older.stores.Erasures.Replay(t.Context(), list.lines)
	require.NoError(t, err)
	require.Zero(t, anew, "again it does nothing")
	require.Equal(t, digest, older.digest(t))

	again := postgres.NewStores(open(t, older.db.URL, 2), judgement.Judge{}) // as after a restart
	for _, of := range []domain.ID{older.goalie.ID, later.ID} {
		_, _, err = again.Goalies.Put(t.Context(), older.director, of, older.goalie.Fields)
		refused(t, domain.Erased, err)
	}
	page, err := again.Changes.Of(t.Context(), older.director, later.ID, 0, 0)
	require.NoError(t, err)
	require.Len(t, page.Items, 1, "of who was never here there is the erasure alone")
	receipt, err := again.Erasures.Get(t.Context(), older.director, later.ID)
	require.NoError(t, err)
	require.True(t, receipt.Fields.KeptApart)
	require.Nil(t, receipt.Fields.MemberID)
}

// TestWritersDuringAnErasureLeaveNoText has writers of all that is about a goalie and a member go on until they are refused.
func TestWritersDuringAnErasureLeaveNoText(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	st, a := s.stores, s.director
	member := made(t, st.Members, a, "member", domain.MemberFields{Name: "Ode Fell", Role: domain.Coach, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{}})
	gone := made(t, st.Goalies, a, "gone", goalieCalled("Juno Reed"))
	require.NoError(t, st.Goalies.Remove(t.Context(), a, gone.ID, anyRev))
	block := domain.AssignmentFields{GoalieID: s.goalie.ID, TargetID: s.target.ID, DrillID: s.drill.ID,
		Dose: domain.Dose{Minutes: 10, Repetitions: 10, TimesAWeek: 2}, StartsOn: day("2026-04-13"), Weeks: 2,
		Status: domain.Dropped, Reason: new(ownWords)}
	made(t, st.Assignments, a, "block", block)
	var wg sync.WaitGroup
	under := make(chan struct{}, 100)
	write := func(name string, once func(n int) error) {
		wg.Go(func() {
			for n := 0; n < 10_000; n++ {
				err := once(n)
				if domain.CodeOf(err) == domain.Erased {
					return
				}
				if err != nil && !slices.Contains([]domain.Code{domain.Unavailable, domain.Timeout, domain.Conflict}, domain.CodeOf(err)) {
					t.Errorf("%s: %v", name, err)
					return
				}
				select {
				case under <- struct{}{}:
				default:
					time.Sleep(20 * time.Millisecond) // else a slow machine's history outgrows what one erasure may take
				}
			}
			t.Errorf("%s was never refused", name)
		})
	}
	ctx := t.Context()
	write("name", func(n int) error {
		_, err := st.Goalies.Patch(ctx, a, s.goalie.ID, anyRev, to(goalieCalled(fmt.Sprint("Wren the ", n%20))))
		return err
	})
	write("block", func(n int) error {
		_, _, err := st.Assignments.Put(ctx, a, id(fmt.Sprint("block ", n)), block)
		return err
	})
	write("reason", func(n int) error {
		other := block
		other.Minutes, other.Reason = 11+n%50, new(ownWords+fmt.Sprint(n))
		_, err := st.Assignments.Patch(ctx, a, id("block"), anyRev, to(other))
		return err
	})
	write("member", func(n int) error {
		other := member.Fields
		other.Name = fmt.Sprint("Ode Fell ", n%20)
		_, err := st.Members.Patch(ctx, a, member.ID, anyRev, to(other))
		return err
	})
	write("token", func(n int) error {
		_, _, err := st.Tokens.Put(ctx, a, id(fmt.Sprint("token ", n)), domain.TokenFields{MemberID: member.ID, Label: "Ode's phone", ExpiresAt: noon.AddDate(0, 1, 0)})
		return err
	})
	write("brought back", func(int) error {
		err := s.takeBack(ctx, a, gone.ID)
		if domain.CodeOf(err) == domain.Stale { // the erasure came in between
			return nil
		}
		return err
	})
	for range 20 {
		<-under // all are at it
	}
	for of, noun := range map[domain.ID]domain.Noun{s.goalie.ID: domain.NounGoalie, gone.ID: domain.NounGoalie, member.ID: domain.NounMember} {
		require.Eventually(t, func() bool {
			_, err := st.Erasures.Erase(ctx, a, noun, of, domain.ErasureConsent{Rev: anyRev})
			if err != nil {
				t.Logf("%s: %v", noun, err)
			}
			return err == nil
		}, 3*time.Minute, time.Millisecond)
	}
	wg.Wait()
	t.Logf("%d deadlocks, %d changes", ask[int](t, s.world, `SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()`), ask[int](t, s.world, `SELECT count(*) FROM changes`))
	require.Empty(t, holding(s.dumped(t), firstName, ownWords, "Ode Fell", "Ode's", "Juno"))
	s.lastRev(t, s.program.ID)
}

// plainOwner makes a login without powers the owner of the schema, and gives its address.
func (w *world) plainOwner(t *testing.T) string {
	t.Helper()
	role := "owner_" + domain.NewID(noon).String()
	quoted := pgx.Identifier{role}.Sanitize()
	w.exec(t, `CREATE ROLE `+quoted+` LOGIN PASSWORD 'secret' IN ROLE cagework_service; GRANT CREATE ON SCHEMA public TO `+quoted)
	for _, statement := range all(t, w, pgx.RowTo[string], `SELECT format('ALTER TABLE %s OWNER TO `+quoted+`', oid::regclass) FROM pg_class
			WHERE relnamespace = 'public'::regnamespace AND relkind = 'r'
		UNION ALL SELECT format('ALTER FUNCTION %s OWNER TO `+quoted+`', oid::regprocedure) FROM pg_proc WHERE pronamespace = 'public'::regnamespace`) {
		w.exec(t, statement)
	}
	t.Cleanup(func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		_, err := w.admin.Exec(context.Background(), `REASSIGN OWNED BY `+quoted+` TO CURRENT_USER; DROP OWNED BY `+quoted+`; DROP ROLE `+quoted)
		require.NoError(t, err)
	})
	address, err := url.Parse(w.db.URL)
	require.NoError(t, err)
	address.User = url.UserPassword(role, "secret")
	return address.String()
}

// TestRowSecurityBindsTheOwnerToo is about an owner who is no superuser: row security is forced on the function that rewrites
// the history, too.
func TestRowSecurityBindsTheOwnerToo(t *testing.T) {
	t.Parallel()
	s, _, stranger := peopled(t)
	made(t, s.stores.Goalies, stranger, "goalie", goalieCalled("Wren"))
	_, err := s.stores.Goalies.Patch(t.Context(), stranger, id("goalie"), anyRev, to(goalieCalled("Wren too")))
	require.NoError(t, err)
	owner := postgres.NewStores(open(t, s.plainOwner(t), 2), judgement.Judge{})
	theirs := func() string {
		return ask[string](t, s.world, `SELECT string_agg(to_jsonb(c)::text, '|' ORDER BY rev) FROM changes c WHERE program_id = $1`, stranger.ProgramID)
	}
	before := theirs()
	s.erase(t, domain.NounGoalie, s.goalie.ID)
	require.Zero(t, ask[int](t, s.world, `SELECT count(*) FROM changes WHERE program_id = $1 AND before->>'name' LIKE 'Wren%'`, s.program.ID))
	require.Equal(t, before, theirs(), "another program's history is its own")

	ctx := t.Context()
	_, err = s.stores.Programs.Remove(ctx, s.program.ID, s.program.Fields.Name, false)
	refused(t, domain.Forbidden, err)
	_, err = owner.Programs.Remove(ctx, s.program.ID, "Millbrook", false)
	refused(t, domain.Conflict, err)
	digest := s.digest(t)
	dry, err := owner.Programs.Remove(ctx, s.program.ID, "", true)
	require.NoError(t, err)
	require.Equal(t, digest, s.digest(t), "a dry run removes nothing")
	list := &keptList{}
	owner.Erasures.KeepApart(list)
	counts, err := owner.Programs.Remove(ctx, s.program.ID, s.program.Fields.Name, false)
	require.NoError(t, err)
	require.ElementsMatch(t, dry, counts)
	require.GreaterOrEqual(t, len(counts), len(tenantTables))
	for _, n := range counts {
		key := "program_id"
		if n.Table == "programs" {
			key = "id"
		}
		require.Zero(t, ask[int](t, s.world, `SELECT count(*) FROM `+n.Table+` WHERE `+key+` = $1`, s.program.ID), n.Table)
	}
	require.Equal(t, before, theirs(), "another program is untouched")
	require.Equal(t, []domain.ErasureStep{domain.ErasureBegun, domain.ErasureDone}, list.steps())
	require.Equal(t, domain.NounProgram, list.lines[0].Noun)
	_, err = owner.Programs.Remove(ctx, s.program.ID, "", true)
	refused(t, domain.NotFound, err)
}
