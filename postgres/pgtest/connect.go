package pgtest

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/url"
	"strings"

	"github.com/jackc/pgx/v5"
)

const (
	// serviceRole is the role that the first migration makes, and that the service steps down to.
	serviceRole = "cagework_service"
	// loginRole is the login in whose name tests connect as the service would.
	loginRole = "cagework_login"
)

// spare is how many connections are kept for later.
const spare = 4

// connect checks that an address is a superuser's, and prepares the service's login.
func connect(ctx context.Context, address string) (s *server, version string, err error) {
	admin, err := url.Parse(address)
	if err != nil || (admin.Scheme != "postgres" && admin.Scheme != "postgresql") {
		return nil, "", fmt.Errorf("the server's address must be a URL that begins with postgres://")
	}
	s = &server{admin: admin, idle: make(chan *pgx.Conn, spare), made: map[string]bool{}}
	err = s.with(ctx, func(conn *pgx.Conn) error {
		var super bool
		var number int
		err := conn.QueryRow(ctx, `
			SELECT
				current_setting('server_version'),
				current_setting('server_version_num')::int,
				(SELECT rolsuper FROM pg_roles WHERE rolname = current_user)`).Scan(&version, &number, &super)
		if err != nil {
			return err
		}
		if !super {
			return fmt.Errorf("user %s must be a superuser, to make databases and roles", conn.Config().User)
		}
		version, _, _ = strings.Cut(version, " ")
		s.major = number / 10000
		s.login = url.UserPassword(loginRole, loginPassword(conn.Config().Password))
		return s.makeLogin(ctx, conn)
	})
	if err != nil {
		return nil, "", err
	}
	return s, version, nil
}

// loginPassword derives the login's password from the administrator's: packages that share a server, each a process of its
// own, must all come to the same one, and nobody else may.
func loginPassword(secret string) string {
	sum := hmac.New(sha256.New, []byte(secret))
	sum.Write([]byte(loginRole))
	return hex.EncodeToString(sum.Sum(nil))
}

// makeLogin makes the two roles, which belong to the whole server. The service's own is the migrations' to make; it's made
// here too so that the login can be its member before the first migration has run anywhere.
func (s *server) makeLogin(ctx context.Context, conn *pgx.Conn) error {
	password, _ := s.login.Password()
	return locked(ctx, conn, func() error {
		// The password is of hexadecimal digits only, so it can stand in a statement, where no parameter may.
		_, err := conn.Exec(ctx, `
			DO $$
			BEGIN
				IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '`+serviceRole+`') THEN
					CREATE ROLE `+serviceRole+` NOLOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOBYPASSRLS;
				END IF;
				IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '`+loginRole+`') THEN
					CREATE ROLE `+loginRole+` LOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOBYPASSRLS IN ROLE `+serviceRole+`;
				END IF;
			END
			$$;
			GRANT `+serviceRole+` TO `+loginRole+`;
			ALTER ROLE `+loginRole+` PASSWORD '`+password+`';`)
		return err
	})
}

// with lends a connection, a new one when none is idle. There is no pool, whose goroutines would look like a leak to tests
// that watch for some.
func (s *server) with(ctx context.Context, do func(*pgx.Conn) error) error {
	var conn *pgx.Conn
	select {
	case conn = <-s.idle:
	default:
		var err error
		if conn, err = pgx.Connect(ctx, s.admin.String()); err != nil {
			return err
		}
	}
	err := do(conn)
	if err == nil {
		select {
		case s.idle <- conn:
			return nil
		default:
		}
	}
	// After an error the connection may be in any state.
	_ = conn.Close(context.WithoutCancel(ctx))
	return err
}

func (s *server) adminURL(database string) string {
	u := *s.admin
	u.Path = "/" + database
	return u.String()
}

func (s *server) loginURL(database string) string {
	u := *s.admin
	u.Path, u.User = "/"+database, s.login
	return u.String()
}
