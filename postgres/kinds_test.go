package postgres_test

import (
	"context"
	"reflect"
	"testing"

	"cagework/domain"
	"cagework/postgres"

	"github.com/stretchr/testify/require"
)

// tenantTables are the tables that hold a program's data, programs first.
var tenantTables = []string{
	"programs", "changes", "members", "tokens", "seasons", "competitions", "teams", "goalies", "roster_spells",
	"games", "stints", "shots", "readings", "clears", "views", "habits", "targets", "drills", "rules", "assignments", "practice_logs",
	"fits", "erasures", "record_ids", "accesses", "sessions", "sign_in_codes",
}

// row is a record of any kind.
type row struct {
	id            domain.ID
	rev           int64
	fields, found any
}

// kind is one store with its types taken off, so that a test can go through all of them.
type kind struct {
	field string // of postgres.Stores
	table string
	noun  domain.Noun
	fixed bool // it cannot be changed, only removed

	full, bare any // two contents of which one record may have either: all that is optional is there, and none of it

	list   func(context.Context, domain.Actor, domain.Query) ([]row, *domain.ID, error)
	get    func(context.Context, domain.Actor, domain.ID) (row, error)
	put    func(context.Context, domain.Actor, domain.ID, any) (row, domain.Written, error)
	patch  func(context.Context, domain.Actor, domain.ID, domain.Rev, any) (row, error)
	remove func(context.Context, domain.Actor, domain.ID, domain.Rev) error
}

func kindOf[F domain.Fields, K any](field, table string, noun domain.Noun, store domain.Records[F, K], full, bare F) kind {
	plain := func(r domain.Record[F, K]) row { return row{r.ID, r.Rev, r.Fields, r.Found} }
	return kind{
		field: field, table: table, noun: noun, full: full, bare: bare,
		list: func(ctx context.Context, a domain.Actor, q domain.Query) ([]row, *domain.ID, error) {
			page, err := store.List(ctx, a, q)
			rows := make([]row, 0, len(page.Items))
			for _, r := range page.Items {
				rows = append(rows, plain(r))
			}
			return rows, page.Next, err
		},
		get: func(ctx context.Context, a domain.Actor, id domain.ID) (row, error) {
			r, err := store.Get(ctx, a, id)
			return plain(r), err
		},
		put: func(ctx context.Context, a domain.Actor, id domain.ID, fields any) (row, domain.Written, error) {
			r, how, err := store.Put(ctx, a, id, fields.(F))
			return plain(r), how, err
		},
		patch: func(ctx context.Context, a domain.Actor, id domain.ID, rev domain.Rev, fields any) (row, error) {
			r, err := store.Patch(ctx, a, id, rev, to(fields.(F)))
			return plain(r), err
		},
		remove: store.Remove,
	}
}

// special are the stores that are not of records, or of records that are made once and never changed or removed.
var special = []string{
	"Programs", "Me", "Lines", "Weeks", "Changes", "Fits", "Erasures", "Exports", "Accesses", "Sessions", "SignInCodes",
}

// methods are those of a store of records; Authenticate is the tokens' own.
var methods = []string{"List", "Get", "Put", "Patch", "Remove"}

// TestEveryStoreHasItsKind keeps the tests that go through all kinds complete.
func TestEveryStoreHasItsKind(t *testing.T) { //nolint:gocyclo // a case a kind of store
	t.Parallel()
	s := newScene(t)
	known := append([]string{}, special...)
	tables := []string{"programs", "changes", "fits", "erasures", "record_ids", "accesses", "sessions", "sign_in_codes"}
	for _, k := range s.kinds() {
		known = append(known, k.field)
		tables = append(tables, k.table)
	}
	require.ElementsMatch(t, tenantTables, tables)

	stores := reflect.TypeFor[postgres.Stores]()
	var fields []string
	for i := range stores.NumField() {
		f := stores.Field(i)
		if !f.IsExported() { // a store that other stores know by its own type: it is there as an interface too
			continue
		}
		fields = append(fields, f.Name)
		allowed := methods
		switch f.Name {
		case "Tokens":
			allowed = append([]string{"Authenticate"}, methods...)
		case "Programs":
			allowed = []string{"Create", "Get", "Patch", "Remove"}
		case "Me":
			allowed = []string{"Get", "See"}
		case "Sessions":
			allowed = []string{"Authenticate", "End", "Open", "OpenByCode"}
		case "SignInCodes":
			allowed = []string{"Make"}
		case "Shots":
			allowed = append([]string{"PutMany"}, methods...)
		case "Fits":
			allowed = []string{"List", "Get", "Put"}
		case "Erasures":
			allowed = []string{"List", "Get", "Plan", "Erase", "Replay", "KeepApart", "Unused"}
		case "Exports":
			allowed = []string{"Goalie", "Member"}
		case "Lines":
			allowed = []string{"Goalie", "Team"}
		case "Weeks":
			allowed = []string{"Goalie", "Team", "Program"}
		case "Changes":
			allowed = []string{"Of", "Undo"}
		case "Accesses":
			allowed = []string{"List", "Write", "Prune"}
		}
		for m := range f.Type.NumMethod() {
			require.Contains(t, allowed, f.Type.Method(m).Name, "%s has a method that no test knows", f.Name)
		}
	}
	require.ElementsMatch(t, fields, known)
}
