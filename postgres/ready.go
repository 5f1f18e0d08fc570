package postgres

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"cagework/domain"
)

// Needs is what a program needs of the database's schema.
type Needs struct {
	Lowest uint        // the oldest version that the program serves
	Latest uint        // the newest that it knows: a newer one says itself whom it serves
	Rights [][2]string // tables and privileges on them that the service's role must have
}

// readyLimit bounds the asking, so that who asks gets an answer when the database gives none.
const readyLimit = time.Second

// fullRefuses is how long nothing is written after the disk was found full, and fullSaid how long that is said.
const (
	fullRefuses = 5 * time.Second
	fullSaid    = 30 * time.Second
)

// Ready tells within a second what the service can do with the database as it is: whether it answers, whether its schema and
// its rights are what the program needs, and whether it takes writes. It reads as requests do, under the service's role and by
// a program, for a catalog may know of nothing wrong when no request succeeds. Writes are refused from then on when it finds
// that they cannot succeed, until it finds that they can. A database that does not answer is left to each request to find out.
func (db *DB) Ready(ctx context.Context, needs Needs) domain.Readiness {
	ctx, cancel := context.WithTimeout(ctx, readyLimit)
	defer cancel()
	r := domain.Readiness{}
	conn, err := db.acquire(ctx)
	if err != nil {
		db.found.Store(nil)
		r.Reasons = []string{"the database does not answer"}
		return r
	}
	defer letGo(conn)
	l := look{needs: needs}
	if err := l.take(ctx, conn); err != nil {
		if ctx.Err() != nil || conn.Conn().IsClosed() {
			db.found.Store(nil)
			r.Reasons = []string{"the database does not answer"}
			return r
		}
		r.Reasons = []string{"the database cannot be asked: " + codeOf(err)}
		return r
	}
	r = l.judge()
	if found := db.fullAt.Load(); found != 0 && time.Since(time.Unix(0, found)) < fullSaid {
		said := r
		said.Writes, said.Reasons = false, append(said.Reasons, "the disk of the database was full a moment ago")
		db.found.Store(&r) // without it: the next write tries
		return said
	}
	db.found.Store(&r)
	return r
}

// Watch keeps asking whether the database can do its work, so that writes which cannot succeed are refused at once, until the
// context ends.
func (db *DB) Watch(ctx context.Context, needs Needs, every time.Duration) {
	ticker := time.NewTicker(every)
	defer ticker.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
			db.Ready(ctx, needs)
		}
	}
}

// refusesWrites gives the error of a write that cannot succeed, nil when it may.
func (db *DB) refusesWrites() error {
	if found := db.fullAt.Load(); found != 0 && time.Since(time.Unix(0, found)) < fullRefuses {
		return cannotWrite("the disk of the database is full")
	}
	if r := db.found.Load(); r != nil && !r.Writes && r.Reason() != "" {
		return cannotWrite(r.Reason())
	}
	return nil
}

func cannotWrite(why string) error {
	return &domain.Error{Code: domain.Unavailable, Retry: 10 * time.Second,
		Message: "Nothing can be written for now: " + why + ". What was charted can be read as far as that goes; send the same again later."}
}

// wrote takes note of how a transaction that may write ended.
func (db *DB) wrote(err error) {
	switch codeOf(err) {
	case "53100":
		db.fullAt.Store(time.Now().UnixNano())
	case "":
		if err == nil && db.fullAt.Load() != 0 {
			db.fullAt.Store(0)
		}
	}
}

// explained turns an error that comes of a schema which does not fit into one that says so.
func (db *DB) explained(err error) error {
	switch codeOf(err) {
	case "42P01", "42703", "42883", "42501": // no such table, column or function; no right
		if r := db.found.Load(); r != nil && !r.Ready() {
			return &domain.Error{Code: domain.Unavailable, Retry: 10 * time.Second, Cause: err,
				Message: "That is not possible for now: " + r.Reason() + "."}
		}
	}
	return err
}

func codeOf(err error) string {
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok {
		return pg.Code
	}
	return ""
}

// look is what there was to see.
type look struct {
	needs Needs

	migrated, role, member, bypass bool
	standby, readOnly              bool
	restoring                      bool // a restore runs, or was not finished

	readable bool // a request's way of reading worked
	version  int64
	dirty    bool
	serves   int64 // the oldest program that the schema says it serves; 0 when it says nothing
	lacking  []string
}

// beginner is a connection to look with.
type beginner interface {
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
	Begin(ctx context.Context) (pgx.Tx, error)
}

func (l *look) take(ctx context.Context, conn beginner) error {
	err := conn.QueryRow(ctx, `SELECT to_regclass('schema_migrations') IS NOT NULL, r.oid IS NOT NULL,
		coalesce(pg_has_role(current_user, r.oid, 'MEMBER'), false), me.rolsuper OR me.rolbypassrls,
		pg_is_in_recovery(), current_setting('transaction_read_only')::bool,
		coalesce(substring(obj_description(to_regclass('schema_migrations'), 'pg_class')
			FROM 'serves programs that know schema version (\d+)'), '0')::bigint,
		to_regnamespace('cagework_restoring') IS NOT NULL
		FROM pg_roles me LEFT JOIN pg_roles r ON r.rolname = 'cagework_service' WHERE me.rolname = current_user`).
		Scan(&l.migrated, &l.role, &l.member, &l.bypass, &l.standby, &l.readOnly, &l.serves, &l.restoring)
	if err != nil || !l.migrated {
		return err
	}
	if !l.role || !l.member {
		err := conn.QueryRow(ctx, `SELECT version, dirty FROM schema_migrations`).Scan(&l.version, &l.dirty)
		if codeOf(err) != "" || errors.Is(err, pgx.ErrNoRows) {
			return nil // no right to read even that
		}
		return err
	}
	return l.asRequestsDo(ctx, conn)
}

// asRequestsDo reads under the service's role. What the server refuses is part of what there is to see.
func (l *look) asRequestsDo(ctx context.Context, conn beginner) error {
	t, err := conn.Begin(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = t.Rollback(ctx) }()
	if _, err := t.Exec(ctx, `SET LOCAL ROLE cagework_service`); err != nil {
		return err
	}
	if _, err := t.Exec(ctx, `SET LOCAL app.program_id = '00000000-0000-0000-0000-000000000000'`); err != nil {
		return err
	}
	err = t.QueryRow(ctx, `SELECT version, dirty FROM schema_migrations`).Scan(&l.version, &l.dirty)
	if errors.Is(err, pgx.ErrNoRows) {
		l.migrated = false
		return nil
	}
	if err != nil {
		return refusedOrNil(err)
	}
	tables, privileges := make([]string, len(l.needs.Rights)), make([]string, len(l.needs.Rights))
	for i, right := range l.needs.Rights {
		tables[i], privileges[i] = right[0], right[1]
	}
	err = t.QueryRow(ctx, `SELECT coalesce(array_agg(privilege || ' on ' || name), '{}') FROM unnest($1::text[], $2::text[]) AS needed (name, privilege)
		WHERE to_regclass(name) IS NOT NULL AND NOT has_table_privilege('cagework_service', to_regclass(name), privilege)`,
		tables, privileges).Scan(&l.lacking)
	if err != nil {
		return refusedOrNil(err)
	}
	var programs int
	err = t.QueryRow(ctx, `SELECT count(*) FROM programs WHERE id = '00000000-0000-0000-0000-000000000000'`).Scan(&programs)
	l.readable = err == nil
	return refusedOrNil(err)
}

// refusedOrNil keeps an error only when the server did not refuse: then it did not answer.
func refusedOrNil(err error) error {
	if codeOf(err) != "" {
		return nil
	}
	return err
}

func (l *look) judge() domain.Readiness {
	if l.restoring { // whoever was erased since the backup may be there still
		return domain.Readiness{Reasons: []string{"the database is being restored, or a restore was not finished: then drop it and restore again"}}
	}
	if !l.migrated {
		return domain.Readiness{Reasons: []string{"the database was never migrated; run cagework migrate"}}
	}
	r := domain.Readiness{Reads: l.readable, Writes: l.readable}
	no := func(format string, args ...any) {
		r.Writes = false
		r.Reasons = append(r.Reasons, fmt.Sprintf(format, args...))
	}
	switch {
	case !l.role:
		no("the role cagework_service is missing on this server; run cagework migrate")
	case !l.member:
		no("the database login is not a member of the role cagework_service")
	case !l.readable && len(l.lacking) == 0:
		no("the role cagework_service cannot read; run cagework migrate")
	}
	l.judgeVersion(no)
	if len(l.lacking) > 0 {
		no("the role cagework_service lacks %s; run cagework migrate", shortened(l.lacking))
	}
	switch {
	case l.standby:
		no("the database is a standby, which only reads")
	case l.readOnly:
		no("the database is read-only")
	}
	if l.bypass {
		r.Warnings = append(r.Warnings, "the database login is a superuser or bypasses row security; "+
			"every transaction steps down to cagework_service, but give the service a plainer login")
	}
	return r
}

func (l *look) judgeVersion(no func(string, ...any)) {
	lowest, latest := int64(l.needs.Lowest), int64(l.needs.Latest) //nolint:gosec // small numbers
	needs := fmt.Sprint(latest)
	if lowest < latest {
		needs = fmt.Sprintf("%d to %d", lowest, latest)
	}
	switch {
	case l.version == 0: // it could not be read, and why has been said
	case l.dirty:
		no("migration %d failed half-way; see cagework migrate --help", l.version)
	case l.version < lowest:
		no("the database is at schema version %d, this program needs %s; run cagework migrate", l.version, needs)
	case l.version > latest && (l.serves == 0 || l.serves > latest):
		no("the database is at schema version %d, this program needs %s; use the newer program", l.version, needs)
	}
}

// shortened names a few of many.
func shortened(all []string) string {
	const few = 4
	if len(all) <= few {
		return strings.Join(all, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(all[:few], ", "), len(all)-few)
}
