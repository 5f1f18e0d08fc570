package migrations

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"slices"
	"strings"

	"github.com/golang-migrate/migrate/v4/source"
	"github.com/jackc/pgx/v5"
)

// ServiceRole is the role that the first migration makes. It belongs to the server and not to the database: a database that is
// restored on another server comes without it, and without every right that it was given.
const ServiceRole = "cagework_service"

// A Fault is something that a database of the right version lacks all the same.
type Fault struct {
	What string // what is missing, in words
	Mend string // the statement that makes it good, for the schema's owner
	Hand bool   // only whoever runs the server can do it: the statement has something to fill in
}

// Inspect looks for what a database lacks at the version that it has: the service's role, its rights, row security and its
// policies, and a login that is a member of the role. Any login that may read the catalog can ask. A database without any
// migration lacks nothing yet.
func Inspect(ctx context.Context, databaseURL string) ([]Fault, error) {
	version, _, err := readVersion(ctx, databaseURL)
	if err != nil {
		return nil, fmt.Errorf("migrations: %w", err)
	}
	if version < 1 {
		return nil, nil
	}
	conn, err := pgx.Connect(ctx, databaseURL)
	if err != nil {
		return nil, fmt.Errorf("migrations: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	return inspect(ctx, conn, FS, version)
}

// Mend makes good what Inspect finds and a statement can mend, all of it or nothing, and gives what it was. It says what to do by
// hand in its error when the login may not do it.
func Mend(ctx context.Context, databaseURL string) (mended []Fault, err error) {
	err = alone(ctx, databaseURL, func() error {
		version, _, err := readVersion(ctx, databaseURL)
		if err != nil || version < 1 {
			return err
		}
		conn, err := pgx.Connect(ctx, databaseURL)
		if err != nil {
			return err
		}
		defer conn.Close(context.WithoutCancel(ctx))
		mended, err = mend(ctx, conn, version)
		return err
	})
	if err != nil {
		return nil, err
	}
	return mended, nil
}

func mend(ctx context.Context, conn *pgx.Conn, version int) (mended []Fault, err error) {
	faults, err := inspect(ctx, conn, FS, version)
	if err != nil {
		return nil, err
	}
	tx, err := conn.Begin(ctx)
	if err != nil {
		return nil, err
	}
	defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }() // after a commit it does nothing
	for _, f := range faults {
		if f.Hand {
			continue
		}
		if _, err := tx.Exec(ctx, f.Mend); err != nil {
			return nil, byHand(f, err)
		}
		mended = append(mended, f)
	}
	// A right that the login has not to give is not refused, only not given.
	left, err := inspect(ctx, conn, FS, version)
	if err != nil {
		return nil, err
	}
	for _, f := range left {
		if !f.Hand {
			return nil, byHand(f, errors.New("it has no effect"))
		}
	}
	return mended, tx.Commit(ctx)
}

func byHand(f Fault, err error) error {
	return fmt.Errorf("migrations: %s, and this login cannot make it good (%w): as the schema's owner or the server's "+
		"administrator run: %s; then migrate again", f.What, err, f.Mend)
}

// Rights gives what the service's role may do at the newest version: pairs of a table and a privilege.
func Rights() ([][2]string, error) {
	s, err := setupOf(FS, int(^uint(0)>>1))
	if err != nil {
		return nil, err
	}
	var pairs [][2]string
	for _, r := range s.rights {
		if r.kind == "TABLE" && r.column == "" {
			pairs = append(pairs, [2]string{r.object, r.privilege})
		}
	}
	return pairs, nil
}

// right is one privilege of the service's role.
type right struct{ kind, object, column, privilege string }

// setup is what the files up to a version ask for beside the tables themselves.
type setup struct {
	rights   []right
	guarded  []string          // the functions that are not everybody's to run
	policies map[string]string // by table and name, the statement that makes it
}

var (
	plainComment  = regexp.MustCompile(`--[^\n]*`)
	dollarQuoted  = regexp.MustCompile(`(?s)\$(\w*)\$.*?\$(\w*)\$`)
	rightStated   = regexp.MustCompile(`(?is)\b(GRANT|REVOKE)\s+([^;]+?)\s+ON\s+(?:(TABLE|FUNCTION|SCHEMA)\s+)?([^;]+?)\s+(?:TO|FROM)\s+(\w+)\s*;`)
	onePrivilege  = regexp.MustCompile(`(?i)(\w+)\s*(?:\(([^)]*)\))?`)
	policyMade    = regexp.MustCompile(`(?is)\bCREATE\s+POLICY\s+(\w+)\s+ON\s+(\w+)\b[^;]*;`)
	policyDropped = regexp.MustCompile(`(?i)\bDROP\s+POLICY\s+(?:IF\s+EXISTS\s+)?(\w+)\s+ON\s+(\w+)`)
	dropped       = regexp.MustCompile(`(?i)\bDROP\s+(TABLE|FUNCTION)\s+(?:IF\s+EXISTS\s+)?(\w+)`)
)

// setupOf reads the files in their order.
func setupOf(files fs.FS, version int) (setup, error) {
	s := setup{policies: map[string]string{}}
	names, err := fs.Glob(files, "*.up.sql")
	if err != nil {
		return s, err
	}
	for _, name := range names {
		parsed, err := source.DefaultParse(name)
		if err != nil {
			return s, err
		}
		if int(parsed.Version) > version {
			continue
		}
		content, err := fs.ReadFile(files, name)
		if err != nil {
			return s, err
		}
		s.read(dollarQuoted.ReplaceAllString(plainComment.ReplaceAllString(string(content), ""), "''"))
	}
	return s, nil
}

func (s *setup) read(content string) {
	for _, m := range dropped.FindAllStringSubmatch(content, -1) {
		gone := func(object string) bool {
			name, _, _ := strings.Cut(object, "(")
			return strings.TrimSpace(name) == m[2]
		}
		s.rights = slices.DeleteFunc(s.rights, func(r right) bool { return gone(r.object) })
		s.guarded = slices.DeleteFunc(s.guarded, gone)
		for key := range s.policies {
			if strings.HasPrefix(key, m[2]+".") {
				delete(s.policies, key)
			}
		}
	}
	for _, m := range rightStated.FindAllStringSubmatch(content, -1) {
		s.state(strings.ToUpper(m[1]) == "GRANT", m[2], strings.ToUpper(m[3]), m[4], m[5])
	}
	for _, m := range policyDropped.FindAllStringSubmatch(content, -1) {
		delete(s.policies, m[2]+"."+m[1])
	}
	for _, m := range policyMade.FindAllStringSubmatch(content, -1) {
		s.policies[m[2]+"."+m[1]] = strings.Join(strings.Fields(m[0]), " ")
	}
}

// state takes note of one GRANT or REVOKE.
func (s *setup) state(grant bool, privileges, kind, objects, to string) {
	if kind == "" {
		kind = "TABLE"
	}
	for _, object := range splitOutside(objects) {
		if strings.EqualFold(to, "PUBLIC") {
			if kind == "FUNCTION" && !grant {
				s.guarded = append(s.guarded, object)
			}
			continue
		}
		for _, p := range onePrivilege.FindAllStringSubmatch(privileges, -1) {
			columns := []string{""}
			if p[2] != "" {
				columns = strings.Split(p[2], ",")
			}
			for _, column := range columns {
				r := right{kind, object, strings.TrimSpace(column), strings.ToUpper(p[1])}
				s.rights = slices.DeleteFunc(s.rights, func(old right) bool { return old == r })
				if grant {
					s.rights = append(s.rights, r)
				}
			}
		}
	}
}

// splitOutside splits at the commas that stand in no brackets.
func splitOutside(list string) []string {
	var out []string
	depth, begin := 0, 0
	for i, c := range list {
		switch c {
		case '(':
			depth++
		case ')':
			depth--
		case ',':
			if depth == 0 {
				out, begin = append(out, strings.TrimSpace(list[begin:i])), i+1
			}
		}
	}
	return append(out, strings.TrimSpace(list[begin:]))
}
