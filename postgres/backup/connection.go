package backup

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"
)

// connect opens a connection whose sessions nobody's defaults cut short: a season is read in one transaction.
func connect(ctx context.Context, databaseURL string) (*pgx.Conn, error) {
	config, err := pgx.ParseConfig(databaseURL)
	if err != nil {
		return nil, errBadURL
	}
	config.RuntimeParams["application_name"] = "cagework backup"
	conn, err := pgx.ConnectConfig(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("connect to the database: %w", err)
	}
	for _, limit := range []string{"statement_timeout", "idle_in_transaction_session_timeout", "transaction_timeout"} {
		// A server that does not know a limit does not set one.
		_, err := conn.Exec(ctx, `SELECT set_config(name, '0', false) FROM pg_settings WHERE name = $1`, limit)
		if err != nil {
			_ = conn.Close(context.WithoutCancel(ctx))
			return nil, fmt.Errorf("set %s: %w", limit, err)
		}
	}
	return conn, nil
}

// toolEnvironment tells a tool how to connect. Nothing of it stands on the command line, which others on the machine can
// read.
func toolEnvironment(databaseURL, database string) ([]string, error) {
	config, err := pgx.ParseConfig(databaseURL)
	if err != nil {
		return nil, errBadURL
	}
	env := os.Environ()
	set := func(name, value string) {
		env = slices.DeleteFunc(env, func(setting string) bool { return strings.HasPrefix(setting, name+"=") })
		if value != "" {
			env = append(env, name+"="+value)
		}
	}
	set("PGHOST", config.Host)
	set("PGPORT", strconv.Itoa(int(config.Port)))
	set("PGUSER", config.User)
	set("PGPASSWORD", config.Password)
	set("PGDATABASE", database)
	set("PGAPPNAME", "cagework backup")
	set("LC_ALL", "C") // its messages are passed on, and read in one place
	given := parameters(databaseURL)
	for parameter, variable := range libpqVariables {
		if value := given[parameter]; value != "" {
			set(variable, value)
		}
	}
	return env, nil
}

// libpqVariables are what else an address may say of how to connect.
var libpqVariables = map[string]string{
	"sslmode": "PGSSLMODE", "sslrootcert": "PGSSLROOTCERT", "sslcert": "PGSSLCERT", "sslkey": "PGSSLKEY",
	"sslsni": "PGSSLSNI", "sslnegotiation": "PGSSLNEGOTIATION", "channel_binding": "PGCHANNELBINDING",
	"connect_timeout": "PGCONNECT_TIMEOUT", "options": "PGOPTIONS", "target_session_attrs": "PGTARGETSESSIONATTRS",
	"krbsrvname": "PGKRBSRVNAME", "gsslib": "PGGSSLIB", "service": "PGSERVICE", "servicefile": "PGSERVICEFILE",
}

var setting = regexp.MustCompile(`(\w+)\s*=\s*('(?:[^'\\]|\\.)*'|(?:[^\s\\]|\\.)+)`)

// parameters gives what an address says, in either of its two forms.
func parameters(databaseURL string) map[string]string {
	all := map[string]string{}
	if strings.HasPrefix(databaseURL, "postgres://") || strings.HasPrefix(databaseURL, "postgresql://") {
		if u, err := url.Parse(databaseURL); err == nil {
			for name, values := range u.Query() {
				all[name] = values[0]
			}
		}
		return all
	}
	unescape := strings.NewReplacer(`\\`, `\`, `\'`, `'`)
	for _, m := range setting.FindAllStringSubmatch(databaseURL, -1) {
		all[m[1]] = unescape.Replace(strings.Trim(m[2], "'"))
	}
	return all
}

// conninfo names a database to a tool that wants it on its command line; the rest stands in its environment.
func conninfo(database string) string {
	return "dbname='" + strings.NewReplacer(`\`, `\\`, `'`, `\'`).Replace(database) + "'"
}

// within gives the address of another database of the same server.
func within(databaseURL, database string) string {
	if strings.HasPrefix(databaseURL, "postgres://") || strings.HasPrefix(databaseURL, "postgresql://") {
		if u, err := url.Parse(databaseURL); err == nil {
			u.Path = "/" + database
			query := u.Query()
			query.Del("dbname")
			query.Del("database")
			u.RawQuery = query.Encode()
			return u.String()
		}
	}
	return databaseURL + " " + conninfo(database) // the last one counts
}
