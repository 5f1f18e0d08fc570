package postgres_test

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

// behind gives a scene and stores whose connections go through a proxy.
func behind(t *testing.T) (*scene, *proxy, *postgres.Stores) {
	t.Helper()
	s := newScene(t)
	p := newProxy(t, s.db.URL)
	return s, p, postgres.NewStores(open(t, p.URL, 2), judgement.Judge{})
}

// commit tells whether a message ends a transaction for good.
func commit(m message) bool { return m.kind == 'Q' && string(m.body) == "commit\x00" }

// once makes a judge that gives one message its fate and lets all others pass; fired tells whether it did.
func once(f fate, which func(message) bool) (judge func(message) fate, fired *atomic.Bool) {
	fired = new(atomic.Bool)
	return func(m message) fate {
		if which(m) && fired.CompareAndSwap(false, true) {
			return f
		}
		return pass
	}, fired
}

// TestALostReplyToCommitIsMadeGoodByARepeat is the one fault whose outcome nobody can know.
func TestALostReplyToCommitIsMadeGoodByARepeat(t *testing.T) {
	t.Parallel()
	s, p, stores := behind(t)
	fields := s.shotAt(1, 500, domain.Goal)
	judge, fired := once(cutReply, commit)
	p.arm(judge)
	_, _, err := stores.Shots.Put(t.Context(), s.director, id("lost"), fields)
	require.True(t, fired.Load())
	e := refused(t, domain.Unavailable, err)
	require.Positive(t, e.Retry)
	require.NotContains(t, e.Message, "EOF")
	require.Equal(t, []string{"create"}, s.ops(t, id("lost")), "it was committed")
	_, how, err := stores.Shots.Put(t.Context(), s.director, id("lost"), fields)
	require.NoError(t, err)
	require.Equal(t, domain.Unchanged, how)
	require.Equal(t, []string{"create"}, s.ops(t, id("lost")))

	judge, fired = once(cut, commit)
	p.arm(judge)
	_, _, err = stores.Shots.Put(t.Context(), s.director, id("undone"), fields)
	require.True(t, fired.Load())
	refused(t, domain.Unavailable, err)
	_, how, err = stores.Shots.Put(t.Context(), s.director, id("undone"), fields)
	require.NoError(t, err)
	require.Equal(t, domain.Created, how)
}

// deed is a write that can be repeated: it must have the same effect however often it is sent.
type deed struct {
	name    string
	prepare func(t *testing.T, s *scene, name string)
	do      func(ctx context.Context, s *scene, stores *postgres.Stores, name string) error
	changes []string // of the record, when it is done
}

var deeds = []deed{
	{"put", func(*testing.T, *scene, string) {}, func(ctx context.Context, s *scene, stores *postgres.Stores, name string) error {
		_, _, err := stores.Shots.Put(ctx, s.director, id(name), s.shotAt(1, 500, domain.Goal))
		return err
	}, []string{"create"}},
	{"patch", putShot, func(ctx context.Context, s *scene, stores *postgres.Stores, name string) error {
		_, err := stores.Shots.Patch(ctx, s.director, id(name), anyRev, to(s.shotAt(1, 400, domain.Save)))
		return err
	}, []string{"create", "change"}},
	{"remove", putShot, func(ctx context.Context, s *scene, stores *postgres.Stores, name string) error {
		err := stores.Shots.Remove(ctx, s.director, id(name), anyRev)
		if domain.CodeOf(err) == domain.NotFound {
			return nil // an earlier try went through
		}
		return err
	}, []string{"create", "remove"}},
	{"stint", func(t *testing.T, s *scene, _ string) {
		t.Helper()
		s.exec(t, `DELETE FROM stints`)
	}, func(ctx context.Context, s *scene, stores *postgres.Stores, name string) error {
		_, _, err := stores.Stints.Put(ctx, s.director, id(name), s.stint(nil, 1, 720, 4, 0))
		return err
	}, []string{"create"}},
}

func putShot(t *testing.T, s *scene, name string) {
	t.Helper()
	made(t, s.stores.Shots, s.director, name, s.shotAt(1, 500, domain.Goal))
}

// TestEveryPointOfAWriteMayFail cuts the connection at the first message of a write, then at the second, and so on
// until the write goes through untouched; once before the message reaches the server and once after.
func TestEveryPointOfAWriteMayFail(t *testing.T) {
	t.Parallel()
	for _, d := range deeds {
		for how, f := range map[string]fate{"before": cut, "after": cutReply} {
			t.Run(d.name+" "+how, func(t *testing.T) {
				t.Parallel()
				s, p, stores := behind(t)
				k := 1
				for ; ; k++ {
					name := fmt.Sprint(d.name, how, k)
					d.prepare(t, s, name)
					seen := 0
					judge, fired := once(f, func(message) bool { seen++; return seen == k })
					p.arm(judge)
					err := d.do(t.Context(), s, stores, name)
					p.arm(nil)
					if err != nil {
						require.True(t, fired.Load(), "%v", err)
						refused(t, domain.Unavailable, err)
					}
					s.agrees(t, d, name)
					require.NoError(t, d.do(t.Context(), s, stores, name), "the repeat after a fault at message %d", k)
					require.Equal(t, d.changes, s.ops(t, id(name)), "done exactly once, message %d", k)
					s.agrees(t, d, name)
					if !fired.Load() {
						break
					}
				}
				require.Greater(t, k, 10, "the loop went through a whole transaction")
				s.lastRev(t, s.program.ID)
			})
		}
	}
}

// agrees asks that a record and its history tell the same story, read at one moment: the server may still be ending
// what the fault left behind.
func (s *scene) agrees(t *testing.T, d deed, name string) {
	t.Helper()
	table := "shots"
	if d.name == "stint" {
		table = "stints"
	}
	require.True(t, ask[bool](t, s.world, `SELECT (SELECT count(*) FROM `+table+` WHERE id = $1)
		= count(*) FILTER (WHERE op = 'create') - count(*) FILTER (WHERE op = 'remove')
		AND coalesce((SELECT rev FROM `+table+` WHERE id = $1) = max(rev) FILTER (WHERE op <> 'remove'), true)
		FROM changes WHERE record_id = $1`, id(name)), "%s: its row and its history disagree", name)
}

// TestABlackHoleEndsWithTheCallersTime is about a network that neither answers nor says that it does not.
func TestABlackHoleEndsWithTheCallersTime(t *testing.T) {
	t.Parallel()
	s, p, stores := behind(t)
	for k := 1; k <= 13; k += 4 {
		seen := 0
		p.arm(func(message) fate {
			if seen++; seen >= k {
				return swallow
			}
			return pass
		})
		ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
		began := time.Now()
		_, _, err := stores.Shots.Put(ctx, s.director, id("hole"), s.shotAt(1, 500, domain.Goal))
		cancel()
		refused(t, domain.Timeout, err)
		require.Less(t, time.Since(began), 2*time.Second)
		require.Empty(t, s.ops(t, id("hole")))
		p.arm(nil)
		p.hangUp()
	}
	_, how, err := stores.Shots.Put(t.Context(), s.director, id("hole"), s.shotAt(1, 500, domain.Goal))
	require.NoError(t, err)
	require.Equal(t, domain.Created, how)
}
