package postgres_test

import (
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/migrations"
	"cagework/postgres"
	"cagework/postgres/pgtest"
)

// needs are those of the program.
func needs(t *testing.T) postgres.Needs {
	t.Helper()
	latest, err := migrations.Latest()
	require.NoError(t, err)
	rights, err := migrations.Rights()
	require.NoError(t, err)
	require.Greater(t, len(rights), 50)
	return postgres.Needs{Lowest: migrations.Lowest, Latest: latest, Rights: rights}
}

var allIsWell = domain.Readiness{Reads: true, Writes: true}

func TestReady(t *testing.T) {
	t.Parallel()
	n := needs(t)
	require.Contains(t, open(t, pgtest.Empty(t).URL, 1).Ready(t.Context(), n).Reason(), "was never migrated")

	w := newWorld(t)
	require.Equal(t, allIsWell, w.pool.Ready(t.Context(), n))
	asSuperuser := open(t, w.db.AdminURL, 1).Ready(t.Context(), n)
	require.True(t, asSuperuser.Ready(), "it works all the same")
	require.Contains(t, asSuperuser.Warnings[0], "row security")

	w.exec(t, `UPDATE schema_migrations SET dirty = true`)
	half := w.pool.Ready(t.Context(), n)
	require.Contains(t, half.Reason(), "failed half-way")
	require.True(t, half.Reads)
	require.False(t, half.Writes)
	w.exec(t, `UPDATE schema_migrations SET dirty = false`)
	require.Equal(t, allIsWell, w.pool.Ready(t.Context(), n))
	w.exec(t, `CREATE SCHEMA cagework_restoring`)
	restoring := w.pool.Ready(t.Context(), n)
	require.Contains(t, restoring.Reason(), "being restored")
	require.False(t, restoring.Reads, "whoever was erased may be there still")
	require.False(t, restoring.Writes)
	w.exec(t, `DROP SCHEMA cagework_restoring`)
	require.Equal(t, allIsWell, w.pool.Ready(t.Context(), n))
	w.exec(t, `DELETE FROM schema_migrations`)
	require.Contains(t, w.pool.Ready(t.Context(), n).Reason(), "was never migrated")
}

// TestWhichSchemasAreServed: those of the program's own range, and newer ones that say that they serve it.
func TestWhichSchemasAreServed(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	n := postgres.Needs{Lowest: 40, Latest: 42}
	for _, c := range []struct {
		version int
		comment string
		reason  string
	}{
		{39, "serves programs that know schema version 30", "at schema version 39, this program needs 40 to 42; run cagework migrate"},
		{40, "", ""},
		{42, "serves programs that know schema version 41", ""},
		{43, "serves programs that know schema version 42", ""},
		{50, "serves programs that know schema version 7", ""},
		{43, "serves programs that know schema version 43", "at schema version 43, this program needs 40 to 42; use the newer program"},
		{43, "", "use the newer program"},
		{43, "a comment of another kind", "use the newer program"},
	} {
		w.exec(t, `UPDATE schema_migrations SET version = $1`, c.version)
		w.exec(t, `COMMENT ON TABLE schema_migrations IS '`+c.comment+`'`)
		got := w.pool.Ready(t.Context(), n)
		require.True(t, got.Reads, "%+v", c)
		require.Equal(t, c.reason == "", got.Writes, "%+v: %v", c, got)
		require.Contains(t, got.Reason(), c.reason)
	}
	n.Lowest = 42
	w.exec(t, `UPDATE schema_migrations SET version = 41`)
	require.Contains(t, w.pool.Ready(t.Context(), n).Reason(), "this program needs 42; run")
}

// TestWritesThatCannotSucceedAreRefusedAtOnce breaks the database in several ways. Asked, it says what is not possible and why;
// writes are refused for that reason before anything is sent; reading goes on where it can; and when it is mended, so is all.
func TestWritesThatCannotSucceedAreRefusedAtOnce(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		breaks, mends string
		reads         bool
		reason        string
	}{
		"an older schema": {`UPDATE schema_migrations SET version = 3`, ``, true, "at schema version 3"},
		"a newer schema":  {`UPDATE schema_migrations SET version = 999; COMMENT ON TABLE schema_migrations IS NULL`, ``, true, "use the newer program"},
		"rights missing": {`REVOKE INSERT ON changes FROM cagework_service`, `GRANT INSERT ON changes TO cagework_service`, true,
			"the role cagework_service lacks INSERT on changes"},
		"no right to read":       {`REVOKE ALL ON programs FROM cagework_service`, ``, false, "lacks SELECT on programs, INSERT on programs"},
		"no right to the schema": {`REVOKE USAGE ON SCHEMA public FROM PUBLIC, cagework_service`, ``, false, ""},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := newScene(t)
			n := needs(t)
			s.exec(t, c.breaks)
			got := s.pool.Ready(t.Context(), n)
			require.Equal(t, c.reads, got.Reads, "%v", got)
			require.False(t, got.Writes)
			require.NotEmpty(t, got.Reason())
			require.Contains(t, got.Reason(), c.reason)
			_, _, err := s.stores.Goalies.Put(t.Context(), s.director, id("new"), s.goalie.Fields)
			require.Contains(t, refused(t, domain.Unavailable, err).Message, c.reason)
			_, err = s.stores.Goalies.Get(t.Context(), s.director, s.goalie.ID)
			if c.reads {
				require.NoError(t, err)
			}
			if c.mends != "" {
				s.exec(t, c.mends)
				require.Equal(t, allIsWell, s.pool.Ready(t.Context(), n))
				_, _, err = s.stores.Goalies.Put(t.Context(), s.director, id("new"), s.goalie.Fields)
				require.NoError(t, err)
			}
		})
	}
}

func TestAReadOnlyDatabaseSaysSo(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	n := needs(t)
	s.exec(t, `ALTER DATABASE `+s.db.Name+` SET default_transaction_read_only = on`)
	db := open(t, s.db.URL, 2)
	got := db.Ready(t.Context(), n)
	require.Equal(t, domain.Readiness{Reads: true, Reasons: []string{"the database is read-only"}}, got)
	stores := postgres.NewStores(db, judgement.Judge{})
	_, _, err := stores.Goalies.Put(t.Context(), s.director, id("new"), s.goalie.Fields)
	e := refused(t, domain.Unavailable, err)
	require.Contains(t, e.Message, "the database is read-only")
	require.Positive(t, e.Retry)
	_, err = stores.Goalies.Get(t.Context(), s.director, s.goalie.ID)
	require.NoError(t, err)
	_, err = stores.Weeks.Program(t.Context(), s.director, domain.Week{Year: 2026, Number: 15})
	require.NoError(t, err)
	_, err = stores.Goalies.List(t.Context(), s.director, domain.Query{})
	require.NoError(t, err)
}

// TestAFullDiskSaysSo has a trigger raise what the server says when its disk is full (SQLSTATE 53100): to fill a real one needs a
// file system of its own.
func TestAFullDiskSaysSo(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	n := needs(t)
	s.exec(t, `CREATE FUNCTION full_disk() RETURNS trigger LANGUAGE plpgsql AS
		$$ BEGIN RAISE EXCEPTION 'could not extend file' USING ERRCODE = 'disk_full'; END $$;
		CREATE TRIGGER full_disk BEFORE INSERT ON seasons FOR EACH ROW EXECUTE FUNCTION full_disk()`)
	season := domain.SeasonFields{Name: "Spring", StartsOn: day("2026-02-01"), EndsOn: day("2026-06-30")}
	_, _, err := s.stores.Seasons.Put(t.Context(), s.director, id("season"), season)
	refused(t, domain.Unavailable, err)
	got := s.pool.Ready(t.Context(), n)
	require.Equal(t, domain.Readiness{Reads: true, Reasons: []string{"the disk of the database was full a moment ago"}}, got)
	_, _, err = s.stores.Goalies.Put(t.Context(), s.director, id("new"), s.goalie.Fields)
	require.Contains(t, refused(t, domain.Unavailable, err).Message, "the disk of the database is full", "no write is tried for a while")
	_, err = s.stores.Goalies.Get(t.Context(), s.director, s.goalie.ID)
	require.NoError(t, err)
	require.Eventually(t, func() bool { // a while later one is tried, and there is room again
		_, _, err := s.stores.Goalies.Put(t.Context(), s.director, id("new"), s.goalie.Fields)
		return err == nil
	}, 30*time.Second, 50*time.Millisecond)
	require.Equal(t, allIsWell, s.pool.Ready(t.Context(), n))
}

// TestALoginThatIsNoMember is what a login says that was made without the role.
func TestALoginThatIsNoMember(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	stranger := "stranger_" + s.db.Name
	s.exec(t, `CREATE ROLE `+stranger+` LOGIN PASSWORD 'passing-by'`)
	t.Cleanup(func() {
		conn, err := pgx.Connect(t.Context(), s.db.AdminURL)
		if err == nil {
			_, _ = conn.Exec(t.Context(), `DROP ROLE `+stranger)
			_ = conn.Close(t.Context())
		}
	})
	db := open(t, asUser(t, s.db.URL, stranger, "passing-by"), 1)
	read := func() error {
		_, err := postgres.NewStores(db, judgement.Judge{}).Goalies.Get(t.Context(), s.director, s.goalie.ID)
		return err
	}
	require.Contains(t, refused(t, domain.Unavailable, read()).Message, "/readyz")
	got := db.Ready(t.Context(), needs(t))
	require.Equal(t, []string{"the database login is not a member of the role cagework_service"}, got.Reasons)
	require.False(t, got.Reads)
	require.Contains(t, refused(t, domain.Unavailable, read()).Message, "not a member of the role cagework_service")
}

func TestReadyAnswersInTime(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	p := newProxy(t, w.db.URL)
	db := open(t, p.URL, 2)
	p.arm(func(message) fate { return swallow })
	began := time.Now()
	require.Equal(t, domain.Readiness{Reasons: []string{"the database does not answer"}}, db.Ready(t.Context(), needs(t)))
	require.Less(t, time.Since(began), 3*time.Second)
	p.arm(nil)
	p.hangUp()
	require.Contains(t, open(t, "postgres://nobody@127.0.0.1:1/none?sslmode=disable", 1).Ready(t.Context(), needs(t)).Reason(), "does not answer")
}
