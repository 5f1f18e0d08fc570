package postgres_test

import (
	"context"
	"encoding/json"
	"net/url"
	"sync"
	"testing"
	"time"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
	"cagework/postgres/pgtest"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// noon is the stores' clock in tests, finer than what Postgres keeps.
var noon = time.Date(2026, 4, 11, 12, 0, 0, 123456789, time.UTC)

// world is one test's database with a program in it.
type world struct {
	db       *pgtest.Database
	pool     *postgres.DB
	stores   *postgres.Stores
	program  domain.Program
	director domain.Actor

	mu    sync.Mutex // of admin: a connection serves one at a time
	admin *pgx.Conn
}

func newWorld(t testing.TB) *world {
	t.Helper()
	w := &world{db: pgtest.New(t)}
	w.admin = dial(t, w.db.AdminURL)
	w.pool = open(t, w.db.URL, 12)
	w.stores = postgres.NewStores(w.pool, judgement.Judge{})
	w.program, w.director = w.another(t, "Harrow Lane")
	return w
}

// another makes one more program in the database.
func (w *world) another(t testing.TB, name string) (domain.Program, domain.Actor) {
	t.Helper()
	fields := domain.ProgramFields{Name: name, TimeZone: "America/New_York", Units: "yards"}
	program, member, err := w.stores.Programs.Create(t.Context(), id(name), fields, "Director of "+name)
	require.NoError(t, err)
	return program, domain.Actor{ProgramID: program.ID, MemberID: member.ID, Role: domain.Director}
}

// open makes a pool that is closed when the test ends.
func open(t testing.TB, address string, conns int) *postgres.DB {
	t.Helper()
	db, err := postgres.Open(t.Context(), postgres.Config{
		URL: address, MaxConns: conns, Now: func() time.Time { return noon }, Shares: everyShare(conns),
	})
	require.NoError(t, err)
	t.Cleanup(db.Close)
	return db
}

// everyShare lets anybody have all connections, and waits for long: a test of who locks what wants writers at once.
func everyShare(conns int) *postgres.Shares {
	return &postgres.Shares{
		Work: conns, Writes: conns, ProgramReads: conns, ProgramWrites: conns,
		Queue: time.Minute, Wait: time.Minute, Connect: 10 * time.Second,
	}
}

// dial makes a plain connection that knows the domain's types.
func dial(t testing.TB, address string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	require.NoError(t, err)
	postgres.RegisterTypes(conn.TypeMap())
	t.Cleanup(func() { _ = conn.Close(context.Background()) })
	return conn
}

// exec runs statements as the administrator.
func (w *world) exec(t testing.TB, sql string, args ...any) {
	t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	_, err := w.admin.Exec(t.Context(), sql, args...)
	require.NoError(t, err)
}

// ask gives one value as the administrator, whom row security does not bind.
func ask[T any](t testing.TB, w *world, sql string, args ...any) T {
	t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	var v T
	require.NoError(t, w.admin.QueryRow(t.Context(), sql, args...).Scan(&v))
	return v
}

// all gives every row as the administrator; one column goes into a plain T, more into a struct.
func all[T any](t testing.TB, w *world, row pgx.RowToFunc[T], sql string, args ...any) []T {
	t.Helper()
	w.mu.Lock()
	defer w.mu.Unlock()
	rows, err := w.admin.Query(t.Context(), sql, args...)
	require.NoError(t, err)
	found, err := pgx.CollectRows(rows, row)
	require.NoError(t, err)
	return found
}

// id gives the same id for the same name.
func id(name string) domain.ID { return domain.NameID(domain.ID{}, name) }

func day(s string) domain.Date {
	d, err := domain.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

// at is an If-Match with one rev.
func at(rev int64) domain.Rev { return domain.Rev{Of: []int64{rev}} }

var anyRev = domain.Rev{Any: true}

// to is a patch that makes the record say something, whatever it said.
func to[F any](fields F) func(F) (F, error) { return func(F) (F, error) { return fields, nil } }

// refused asks for an error of the domain with a code.
func refused(t require.TestingT, code domain.Code, err error) *domain.Error {
	if h, is := t.(testing.TB); is {
		h.Helper()
	}
	var e *domain.Error
	require.ErrorAs(t, err, &e, "want %s", code)
	require.Equal(t, code, e.Code, "%v", err)
	return e
}

// change is a row of the history.
type change struct {
	Rev         int64
	At          time.Time
	MemberID    *domain.ID
	Noun        domain.Noun
	Op          string
	Before      json.RawMessage
	BeforeFound json.RawMessage
}

// history gives the changes of a record, the oldest first.
func (w *world) history(t testing.TB, program, record domain.ID) []change {
	t.Helper()
	return all(t, w, pgx.RowToStructByName[change], `SELECT rev, at, member_id, noun, op, before, before_found
		FROM changes WHERE program_id = $1 AND record_id = $2 ORDER BY rev`, program, record)
}

// takeBack undoes the last change of a record.
func (w *world) takeBack(ctx context.Context, a domain.Actor, record domain.ID) error {
	page, err := w.stores.Changes.Of(ctx, a, record, domain.MaxLimit, 0)
	if err != nil {
		return err
	}
	_, err = w.stores.Changes.Undo(ctx, a, record, at(page.Items[len(page.Items)-1].Rev), 0)
	return err
}

// ops gives what was done to a record, the oldest first.
func (w *world) ops(t testing.TB, record domain.ID) []string {
	t.Helper()
	ops := []string{}
	for _, c := range w.history(t, w.program.ID, record) {
		ops = append(ops, c.Op)
	}
	return ops
}

// lastRev gives the last number given out, after asking that the history has exactly 1 to it.
func (w *world) lastRev(t testing.TB, program domain.ID) int64 {
	t.Helper()
	last := ask[int64](t, w, `SELECT last_rev FROM programs WHERE id = $1`, program)
	require.True(t, ask[bool](t, w, `SELECT count(*) = $2 AND min(rev) = 1 AND max(rev) = $2
		FROM changes WHERE program_id = $1`, program, last), "the history is not 1 to %d", last)
	return last
}

// digest changes with anything that the database holds.
func (w *world) digest(t testing.TB) string {
	t.Helper()
	all := ""
	for _, table := range tenantTables {
		all += ask[string](t, w, `SELECT coalesce(md5(string_agg(r::text, '|' ORDER BY r::text)), '') FROM `+table+` r`)
	}
	return all
}

// asUser changes the login in an address.
func asUser(t *testing.T, address, user, password string) string {
	t.Helper()
	u, err := url.Parse(address)
	require.NoError(t, err)
	u.User = url.UserPassword(user, password)
	return u.String()
}
