package postgres_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

// TestAProgramThatWaitsKeepsNobodyWaiting holds the row that every write of one program needs, has thirty writes of it wait,
// and looks at what another program of the same pool can still do: everything.
func TestAProgramThatWaitsKeepsNobodyWaiting(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	db, err := postgres.Open(t.Context(), postgres.Config{URL: s.db.URL, MaxConns: 16, Now: func() time.Time { return noon }})
	require.NoError(t, err)
	t.Cleanup(db.Close)
	stores := postgres.NewStores(db, judgement.Judge{})
	other, otherDirector := s.another(t, "Mill Street")
	secret := tokenOf(t, s.world, otherDirector)

	hold, err := dial(t, s.db.AdminURL).Begin(t.Context())
	require.NoError(t, err)
	_, err = hold.Exec(t.Context(), `SELECT FROM programs WHERE id = $1 FOR UPDATE`, s.program.ID)
	require.NoError(t, err)
	const crowd = 30
	ended := make(chan []error, 1)
	go func() {
		ended <- together(crowd, func(i int) error {
			fields := s.goalie.Fields
			_, _, err := stores.Goalies.Put(t.Context(), s.director, id(string(rune('a'+i))), fields)
			return err
		})
	}()
	s.blocked(t, 4)
	require.LessOrEqual(t, ask[int](t, s.world, `SELECT count(*) FROM pg_stat_activity WHERE datname = current_database()
		AND application_name = 'cagework' AND wait_event_type = 'Lock'`), 4, "who waits for its own program waits without a connection")

	began := time.Now()
	for range 20 {
		actor, err := stores.Tokens.Authenticate(t.Context(), secret)
		require.NoError(t, err)
		_, err = stores.Programs.Get(t.Context(), actor)
		require.NoError(t, err)
		_, err = stores.Programs.Get(t.Context(), s.director)
		require.NoError(t, err, "the crowded program reads too")
	}
	_, _, err = stores.Seasons.Put(t.Context(), otherDirector, id("season"), domain.SeasonFields{
		Name: "Spring", StartsOn: day("2026-02-01"), EndsOn: day("2026-06-30"),
	})
	require.NoError(t, err)
	require.Less(t, time.Since(began), 3*time.Second, "%s works as if it were alone", other.Fields.Name)

	require.NoError(t, hold.Rollback(t.Context()))
	shed := 0
	for _, err := range <-ended {
		if err == nil {
			continue
		}
		e := refused(t, domain.Unavailable, err)
		require.Equal(t, domain.ShedQueue, e.Cause)
		require.Positive(t, e.Retry)
		shed++
	}
	require.Less(t, shed, crowd)
}

// tokenOf makes a token for an actor and gives its secret.
func tokenOf(t *testing.T, w *world, a domain.Actor) string {
	t.Helper()
	token, _, err := w.stores.Tokens.Put(t.Context(), a, id("token of "+a.MemberID.String()), domain.TokenFields{
		MemberID: a.MemberID, Label: "phone", ExpiresAt: noon.Add(time.Hour),
	})
	require.NoError(t, err)
	return *token.Found.Secret
}

// TestNobodyWaitsLongForAShare: each kind of share, when it is taken, turns away the next one soon and says what it was.
func TestNobodyWaitsLongForAShare(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	for why, shares := range map[domain.Shed]postgres.Shares{
		domain.ShedQueue:       {Work: 9, Writes: 9, ProgramWrites: 1},
		domain.ShedWrites:      {Work: 9, Writes: 1, ProgramWrites: 9},
		domain.ShedWork:        {Work: 1, Writes: 9, ProgramWrites: 9},
		domain.ShedConnections: {Work: 9, Writes: 9, ProgramWrites: 9},
	} {
		shares.ProgramReads, shares.Queue, shares.Wait, shares.Connect = 9, 50*time.Millisecond, 50*time.Millisecond, 50*time.Millisecond
		conns := 9
		if why == domain.ShedConnections {
			conns = 1
		} else {
			shares.Connect = 10 * time.Second
		}
		db, err := postgres.Open(t.Context(), postgres.Config{URL: s.db.URL, MaxConns: conns, Shares: &shares})
		require.NoError(t, err)
		stores := postgres.NewStores(db, judgement.Judge{})
		write := func(ctx context.Context) error {
			_, err := stores.Goalies.Patch(ctx, s.director, s.goalie.ID, anyRev, func(f domain.GoalieFields) (domain.GoalieFields, error) {
				f.Name += "n"
				return f, nil
			})
			return err
		}
		require.NoError(t, db.Warm(t.Context(), 1))
		open := s.gate(t)
		first := make(chan error, 1)
		go func() { first <- write(t.Context()) }()
		s.blocked(t, 1)
		began := time.Now()
		e := refused(t, domain.Unavailable, write(t.Context()))
		require.Equal(t, why, e.Cause)
		require.Less(t, time.Since(began), 2*time.Second)
		open()
		require.NoError(t, <-first)
		require.NoError(t, write(t.Context()), "what was taken is given back")
		require.Zero(t, db.AcquiredAfter(time.Second))
		db.Close()
	}
}

// TestADeadConnectionIsTriedAgain: the pool does not look at a connection that was used a moment ago, so the first request
// after the server restarted finds out, and so does the first authentication.
func TestADeadConnectionIsTriedAgain(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	secret := tokenOf(t, s.world, s.director)
	db := open(t, s.db.URL, 3)
	stores := postgres.NewStores(db, judgement.Judge{})
	for range 3 {
		for name, do := range map[string]func() error{
			"authenticate": func() error { _, err := stores.Tokens.Authenticate(t.Context(), secret); return err },
			"get":          func() error { _, err := stores.Goalies.Get(t.Context(), s.director, s.goalie.ID); return err },
		} {
			require.NoError(t, db.Warm(t.Context(), 3))
			require.NoError(t, do())
			s.exec(t, `SELECT pg_terminate_backend(pid, 5000) FROM pg_stat_activity WHERE datname = current_database() AND application_name = 'cagework'`)
			require.NoError(t, do(), name)
		}
	}
}

// TestASilentConnectionIsTriedAgain: a network that swallows everything tells nobody, so only time does.
func TestASilentConnectionIsTriedAgain(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	secret := tokenOf(t, s.world, s.director)
	p := newProxy(t, s.db.URL)
	db := open(t, p.URL, 2)
	stores := postgres.NewStores(db, judgement.Judge{})
	for name, do := range map[string]func() error{
		"authenticate": func() error { _, err := stores.Tokens.Authenticate(t.Context(), secret); return err },
		"get":          func() error { _, err := stores.Goalies.Get(t.Context(), s.director, s.goalie.ID); return err },
	} {
		require.NoError(t, do())
		judge, fired := once(swallow, func(m message) bool { return m.kind == 'Q' })
		p.arm(judge)
		began := time.Now()
		require.NoError(t, do(), name)
		require.True(t, fired.Load(), name)
		require.Less(t, time.Since(began), 9*time.Second, name)
	}
	p.hangUp()
}

// TestACutNetworkFreesItsLocks has the network between one instance and the server swallow a COMMIT, so that the server
// waits in the middle of a transaction that holds the program's number; another instance writes within seconds.
func TestACutNetworkFreesItsLocks(t *testing.T) {
	t.Parallel()
	s, p, stores := behind(t)
	fields := s.shotAt(1, 500, domain.Goal)
	judge, fired := once(swallow, commit)
	p.arm(judge)
	ctx, giveUp := context.WithTimeout(t.Context(), 2*time.Second)
	defer giveUp()
	_, _, err := stores.Shots.Put(ctx, s.director, id("cut"), fields)
	refused(t, domain.Timeout, err)
	require.True(t, fired.Load())
	p.arm(func(message) fate { return swallow }) // nor does a request to cancel get through
	began := time.Now()
	require.Eventually(t, func() bool {
		_, _, err := s.stores.Shots.Put(t.Context(), s.director, id("after"), fields)
		return err == nil
	}, 20*time.Second, 10*time.Millisecond)
	require.Less(t, time.Since(began), 10*time.Second)
	p.arm(nil)
	p.hangUp()
	require.Empty(t, s.ops(t, id("cut")))
	_, how, err := stores.Shots.Put(t.Context(), s.director, id("cut"), fields)
	require.NoError(t, err)
	require.Equal(t, domain.Created, how)
}

// TestTheServerLooksForItsClients: the settings that have a server notice a client that is gone are in place on every
// connection, also where they cannot be asked for when it begins.
func TestTheServerLooksForItsClients(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	got, err := w.pool.Settings(t.Context(), "tcp_keepalives_idle", "tcp_keepalives_interval", "tcp_keepalives_count",
		"tcp_user_timeout", "client_connection_check_interval")
	require.NoError(t, err)
	require.Equal(t, []string{"5", "2", "3", "10000", "1s"}, got)
}
