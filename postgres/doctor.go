package postgres

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// State is how bad a finding is.
type State string

// The states of a finding.
const (
	Fine    State = "ok"
	Warning State = "warning"
	Problem State = "problem"
)

// Finding is what one check of a deployment found, and what to do about it.
type Finding struct {
	Check string `json:"check"`
	State State  `json:"state"`
	Says  string `json:"says"`
	Do    string `json:"do,omitempty"`
}

// The majors of Postgres that the SQL is written for.
const (
	oldestServer = 15
	newestServer = 18
)

// Patient is a database as whoever runs the service looks after it: asked once, by the login of the service, and by no
// pool.
type Patient struct {
	conn  *pgx.Conn
	needs Needs
}

// Admit connects to a database to look after it.
func Admit(ctx context.Context, databaseURL string, needs Needs) (*Patient, error) {
	config, err := pgx.ParseConfig(databaseURL)
	if err != nil {
		return nil, fmt.Errorf("database URL: %w", err)
	}
	config.ConnectTimeout = 5 * time.Second
	config.RuntimeParams["application_name"] = "cagework doctor"
	config.RuntimeParams["statement_timeout"] = "10s"
	conn, err := pgx.ConnectConfig(ctx, config)
	if err != nil {
		return nil, err
	}
	return &Patient{conn, needs}, nil
}

// Discharge ends the connection.
func (p *Patient) Discharge(ctx context.Context) { _ = p.conn.Close(ctx) }

// Examine makes every check that the database can answer, and goes on when one fails.
func (p *Patient) Examine(ctx context.Context) []Finding {
	checks := []struct {
		name string
		look func(context.Context) (Finding, error)
	}{
		{"server", p.server}, {"service", p.service}, {"durable", p.durable}, {"row security", p.rowSecurity}, {"login", p.login},
		{"clock", p.clock}, {"connections", p.connections}, {"timeouts", p.timeouts},
	}
	found := make([]Finding, 0, len(checks))
	for _, check := range checks {
		f, err := check.look(ctx)
		if err != nil {
			f = Finding{State: Problem, Says: "cannot be found out: " + err.Error(), Do: "see whether the login may read the catalog"}
		}
		f.Check = check.name
		found = append(found, f)
	}
	return found
}

func fine(format string, args ...any) (Finding, error) {
	return Finding{State: Fine, Says: fmt.Sprintf(format, args...)}, nil
}

func bad(state State, says, do string) (Finding, error) {
	return Finding{State: state, Says: says, Do: do}, nil
}

func (p *Patient) server(ctx context.Context) (Finding, error) {
	var version string
	var number int
	err := p.conn.QueryRow(ctx, `SELECT split_part(current_setting('server_version'), ' ', 1), current_setting('server_version_num')::int`).
		Scan(&version, &number)
	says := "PostgreSQL " + version
	switch major := number / 10000; {
	case err != nil:
		return Finding{}, err
	case major < oldestServer:
		return bad(Problem, says+" is too old", fmt.Sprintf("move to PostgreSQL %d to %d: cagework backup, then restore on the new server", oldestServer, newestServer))
	case major > newestServer:
		return bad(Warning, says+" is newer than what this program was written for", "look for a newer cagework")
	}
	return fine("%s", says)
}

// service asks what the service could do, in the way in which it asks itself.
func (p *Patient) service(ctx context.Context) (Finding, error) {
	l := look{needs: p.needs}
	if err := l.take(ctx, p.conn); err != nil {
		return Finding{}, err
	}
	if r := l.judge(); !r.Ready() {
		return bad(Problem, r.Reason(), "do what it says, then look again")
	}
	return fine("can read and write, at schema version %d", l.version)
}

// durable: what was acknowledged must survive that the power goes.
func (p *Patient) durable(ctx context.Context) (Finding, error) {
	rows, err := p.conn.Query(ctx, `SELECT name FROM pg_settings
		WHERE name IN ('fsync', 'full_page_writes', 'synchronous_commit') AND setting = 'off' ORDER BY name`)
	if err != nil {
		return Finding{}, err
	}
	off, err := pgx.CollectRows(rows, pgx.RowTo[string])
	switch {
	case err != nil:
		return Finding{}, err
	case len(off) == 1 && off[0] == "synchronous_commit":
		return bad(Warning, "synchronous_commit is off: the last moments of writes are lost when the server crashes", "turn it on")
	case len(off) > 0:
		return bad(Problem, strings.Join(off, ", ")+" is off: a crash of the machine can destroy the database", "turn it on in postgresql.conf")
	}
	return fine("a write that was acknowledged survives a crash")
}

// rowSecurity looks at every table that has it or a policy for it. One that lost both is found by what its migration made.
func (p *Patient) rowSecurity(ctx context.Context) (Finding, error) {
	var tables int
	var open []string
	err := p.conn.QueryRow(ctx, `WITH ours AS (
			SELECT c.relname::text AS name, c.relrowsecurity AND c.relforcerowsecurity AS closed FROM pg_class c
			WHERE c.relnamespace = 'public'::regnamespace AND c.relkind IN ('r', 'p')
				AND (c.relrowsecurity OR EXISTS (SELECT FROM pg_policy p WHERE p.polrelid = c.oid))
		) SELECT count(*), coalesce(array_agg(name ORDER BY name) FILTER (WHERE NOT closed), '{}') FROM ours`).Scan(&tables, &open)
	switch {
	case err != nil:
		return Finding{}, err
	case len(open) > 0:
		return bad(Problem, "not forced on "+strings.Join(open, ", ")+": one program's records can reach another's",
			"ALTER TABLE ... ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY, with the policy of the migrations; then find out who changed it")
	case tables == 0:
		return bad(Problem, "no table has it", "cagework migrate")
	}
	return fine("forced on all %d tables", tables)
}

// login: the service needs nothing but its membership.
func (p *Patient) login(ctx context.Context) (Finding, error) {
	var name string
	var super, bypass, makes, owns bool
	err := p.conn.QueryRow(ctx, `SELECT rolname, rolsuper, rolbypassrls, rolcreaterole OR rolcreatedb,
			EXISTS (SELECT FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' AND pg_has_role(c.relowner, 'USAGE'))
		FROM pg_roles WHERE rolname = current_user`).Scan(&name, &super, &bypass, &makes, &owns)
	const do = "give serve a login of its own: CREATE ROLE ... LOGIN PASSWORD '...' IN ROLE cagework_service"
	switch {
	case err != nil:
		return Finding{}, err
	case super:
		return bad(Warning, name+" is a superuser", do)
	case bypass:
		return bad(Warning, name+" bypasses row security", do)
	case owns:
		return bad(Warning, name+" owns the tables", do)
	case makes:
		return bad(Warning, name+" may make roles or databases", do)
	}
	return fine("%s is a plain login", name)
}

// clock compares the server's clock with ours, to within the time that asking takes.
func (p *Patient) clock(ctx context.Context) (Finding, error) {
	var theirs time.Time
	before := time.Now()
	err := p.conn.QueryRow(ctx, `SELECT clock_timestamp()`).Scan(&theirs)
	took := time.Since(before)
	if err != nil {
		return Finding{}, err
	}
	return clockFinding(theirs.Sub(before.Add(took/2)), took)
}

func clockFinding(apart, took time.Duration) (Finding, error) {
	surely := max(apart.Abs()-took/2, 0)
	says := fmt.Sprintf("the database's clock is %s from this one's", apart.Abs().Round(time.Millisecond))
	const do = "set both by NTP: expiry, weeks and the history go by these clocks"
	switch {
	case surely > time.Minute:
		return bad(Problem, says, do)
	case surely > 2*time.Second:
		return bad(Warning, says, do)
	}
	return fine("%s", says)
}

func (p *Patient) connections(ctx context.Context) (Finding, error) {
	var most, used int
	err := p.conn.QueryRow(ctx, `SELECT current_setting('max_connections')::int - current_setting('superuser_reserved_connections')::int,
		(SELECT count(*) FROM pg_stat_activity WHERE usesysid IS NOT NULL)`).Scan(&most, &used)
	says := fmt.Sprintf("%d of %d in use", used, most)
	const do = "give serve fewer (--max-connections), or raise max_connections"
	switch {
	case err != nil:
		return Finding{}, err
	case most-used < 3:
		return bad(Problem, says, do)
	case most-used < 10:
		return bad(Warning, says, do)
	}
	return fine("%s", says)
}

// timeouts looks for defaults that would end what the service keeps open, or cut a migration or a backup short. The limits
// of its own transactions the service sets itself.
func (p *Patient) timeouts(ctx context.Context) (Finding, error) {
	rows, err := p.conn.Query(ctx, `SELECT name || ' = ' || reset_val || coalesce(unit, '') FROM pg_settings
		WHERE (name IN ('idle_session_timeout', 'transaction_timeout') AND reset_val::bigint > 0
			OR name = 'idle_in_transaction_session_timeout' AND reset_val::bigint BETWEEN 1 AND 15000) ORDER BY name`)
	if err != nil {
		return Finding{}, err
	}
	set, err := pgx.CollectRows(rows, pgx.RowTo[string])
	switch {
	case err != nil:
		return Finding{}, err
	case len(set) > 0:
		return bad(Warning, strings.Join(set, ", ")+": the server ends what the service keeps open or has under way",
			"ALTER ROLE or ALTER DATABASE ... RESET it; the service limits its own transactions")
	}
	return fine("none of the server's cuts the service short")
}

// Disk gives the data directory when the login may know it and the server says that it is on this machine; size is the
// database's.
func (p *Patient) Disk(ctx context.Context) (dataDir string, size int64, err error) {
	err = p.conn.QueryRow(ctx, `SELECT pg_database_size(current_database()), coalesce((SELECT setting FROM pg_settings WHERE name = 'data_directory'
		AND coalesce(inet_server_addr() <<= '127.0.0.0/8' OR inet_server_addr() = '::1', true)), '')`).Scan(&size, &dataDir)
	return dataDir, size, err
}
