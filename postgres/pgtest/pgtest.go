// Package pgtest gives each test a database of its own, migrated and empty, on a real Postgres.
//
// The server is found once per process, see server.go for the order; it's never skipped for want of one. A database is a
// copy of a template that is migrated once per set of migrations, so it takes milliseconds. Tests may run in parallel,
// and so may the packages that share a server. No TestMain is needed.
package pgtest

import (
	"context"
	"crypto/rand"
	"strings"
	"testing"
	"time"
)

// Database is one test's own. It's dropped when the test ends, unless the test failed.
type Database struct {
	// Name is the database's name.
	Name string
	// URL is the address for the service: a login that may become the service's role, owns nothing, and can't bypass
	// row security.
	URL string
	// AdminURL is the address for a superuser, who owns the schema: for migrations, the catalog, and planted failures.
	AdminURL string
}

const (
	// openLimit bounds what finding a server and migrating the template may take, and dropLimit a drop.
	openLimit = 3 * time.Minute
	dropLimit = time.Minute
)

// New gives a database with all migrations applied.
func New(tb testing.TB) *Database {
	tb.Helper()
	s := shared(tb)
	ctx, cancel := context.WithTimeout(tb.Context(), openLimit)
	defer cancel()
	template, err := s.template(ctx, embedded)
	if err != nil {
		tb.Fatalf("pgtest: make the template database: %v", err)
	}
	return s.database(ctx, tb, template)
}

// Empty gives a database without any migration applied.
func Empty(tb testing.TB) *Database {
	tb.Helper()
	s := shared(tb)
	ctx, cancel := context.WithTimeout(tb.Context(), openLimit)
	defer cancel()
	return s.database(ctx, tb, "template0")
}

// database makes a copy of a template and sees to its end.
func (s *server) database(ctx context.Context, tb testing.TB, template string) *Database {
	tb.Helper()
	name := "t_" + strings.ToLower(rand.Text()[:16])
	if err := s.clone(ctx, template, name); err != nil {
		tb.Fatalf("pgtest: make a database: %v", err)
	}
	db := &Database{Name: name, URL: s.loginURL(name), AdminURL: s.adminURL(name)}
	tb.Cleanup(func() { s.discard(tb, db) })
	return db
}

// discard drops the database, or keeps it for a look at what went wrong.
func (s *server) discard(tb testing.TB, db *Database) {
	tb.Helper()
	if tb.Failed() {
		tb.Logf("pgtest: the database is kept%s: %s", s.keeps, db.AdminURL)
		return
	}
	// The test's own context has ended by now.
	ctx, cancel := context.WithTimeout(context.Background(), dropLimit)
	defer cancel()
	if err := s.drop(ctx, db.Name); err != nil {
		tb.Errorf("pgtest: drop the database: %v", err)
	}
}
