package migrations_test

import (
	"fmt"
	"io/fs"
	"regexp"
	"slices"
	"testing"
	"testing/fstest"

	"cagework/migrations"

	"github.com/stretchr/testify/require"
)

var (
	comment      = regexp.MustCompile(`--[^\n]*`)
	block        = regexp.MustCompile(`(?s)\$(\w*)\$.*?\$(\w*)\$`)
	made         = regexp.MustCompile(`(?i)^CREATE\s+(?:UNLOGGED\s+)?TABLE\s+(?:IF\s+NOT\s+EXISTS\s+)?(\w+)`)
	touches      = regexp.MustCompile(`(?i)^(?:ALTER\s+TABLE\s+(?:IF\s+EXISTS\s+)?(?:ONLY\s+)?|CREATE\s+(?:UNIQUE\s+)?INDEX\s[^(]*?\bON\s+(?:ONLY\s+)?|CREATE\s+(?:CONSTRAINT\s+)?TRIGGER\s.*?\bON\s+|(?:CREATE|ALTER|DROP)\s+POLICY\s+\w+\s+ON\s+|CREATE\s+RULE\s.*?\bTO\s+|LOCK\s+(?:TABLE\s+)?|TRUNCATE\s+(?:TABLE\s+)?)(\w+)`)
	droppedIndex = regexp.MustCompile(`(?i)^(?:DROP|ALTER)\s+INDEX\s`)
	references   = regexp.MustCompile(`(?i)\bREFERENCES\s+(\w+)`)
	limited      = regexp.MustCompile(`(?i)^SET\s+LOCAL\s+lock_timeout\s*(?:=|TO)`)
	concurrently = regexp.MustCompile(`(?i)^(?:CREATE\s+(?:UNIQUE\s+)?|DROP\s+|RE)INDEX\s+CONCURRENTLY\s`)
	terminator   = regexp.MustCompile(`;\s*`)
)

// first is the version at which the service was first set up: before it no table was in use.
const first = 6

// statements splits a file. What a DO block does is not looked into.
func statements(content string) []string {
	content = block.ReplaceAllString(comment.ReplaceAllString(content, ""), "''")
	parts := terminator.Split(content, -1)
	for i := range parts {
		parts[i] = regexp.MustCompile(`\s+`).ReplaceAllString(parts[i], " ")
		parts[i] = regexp.MustCompile(`^ | $`).ReplaceAllString(parts[i], "")
	}
	return slices.DeleteFunc(parts, func(s string) bool { return s == "" })
}

// lint finds the files that may hold up a service at work: a statement that waits for a lock on a table in use makes all
// that come after it wait too, so the file must say how long it may. A foreign key locks the table that it points to.
func lint(files fs.FS) ([]string, error) {
	names, err := fs.Glob(files, "*.sql")
	if err != nil {
		return nil, err
	}
	var faults []string
	for _, name := range names {
		content, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		if name[:6] > fmt.Sprintf("%06d", first) {
			faults = append(faults, lintFile(name, statements(string(content)))...)
		}
	}
	return faults, nil
}

func lintFile(name string, all []string) []string {
	var faults []string
	fresh := map[string]bool{}
	limit := false
	for _, s := range all {
		if concurrently.MatchString(s) {
			if len(all) != 1 {
				faults = append(faults, name+": CONCURRENTLY must stand alone")
			}
			continue
		}
		if m := made.FindStringSubmatch(s); m != nil {
			fresh[m[1]] = true
		}
		limit = limit || limited.MatchString(s)
		var wants []string
		if m := touches.FindStringSubmatch(s); m != nil {
			wants = append(wants, m[1])
		}
		for _, m := range references.FindAllStringSubmatch(s, -1) {
			wants = append(wants, m[1])
		}
		if droppedIndex.MatchString(s) {
			wants = append(wants, "the index's table")
		}
		for _, table := range wants {
			if !fresh[table] && !limit {
				faults = append(faults, fmt.Sprintf("%s: wants %s without SET LOCAL lock_timeout: %.60s", name, table, s))
			}
		}
	}
	return faults
}

func TestNoMigrationWaitsForLong(t *testing.T) {
	t.Parallel()
	faults, err := lint(migrations.FS)
	require.NoError(t, err)
	require.Empty(t, faults)
}

func TestTheLintCatches(t *testing.T) {
	t.Parallel()
	const limit = "SET LOCAL lock_timeout = '5s';\n"
	for _, bad := range []string{
		"ALTER TABLE goalies ADD COLUMN extra text;",
		"alter table only goalies add column extra text",
		"CREATE INDEX goalies_extra_ix ON goalies (program_id);",
		"CREATE UNIQUE INDEX goalies_extra_uq\n    ON goalies USING btree (program_id);",
		"CREATE POLICY more ON goalies USING (true);",
		"CREATE TRIGGER t BEFORE UPDATE ON goalies FOR EACH ROW EXECUTE FUNCTION f();",
		"DROP INDEX shots_game_ix;",
		"TRUNCATE goalies;",
		"CREATE TABLE things (id uuid, CONSTRAINT things_fk FOREIGN KEY (id) REFERENCES goalies (id));",
		"ALTER TABLE goalies ADD COLUMN extra text; " + limit,
		"-- SET LOCAL lock_timeout = '5s';\nALTER TABLE goalies ADD COLUMN extra text;",
		"CREATE TABLE things (id uuid); ALTER TABLE goalies ADD COLUMN extra text;",
		limit + "CREATE INDEX CONCURRENTLY goalies_extra_ix ON goalies (program_id);",
	} {
		for _, direction := range []string{"up", "down"} {
			files := fstest.MapFS{"000099_bad." + direction + ".sql": {Data: []byte(bad)}}
			faults, err := lint(files)
			require.NoError(t, err)
			require.NotEmpty(t, faults, bad)
		}
	}
	for _, good := range []string{
		limit + "ALTER TABLE goalies ADD COLUMN extra text;",
		"set local lock_timeout to '1s'; CREATE INDEX goalies_extra_ix ON goalies (program_id);",
		"CREATE TABLE things (id uuid);\nALTER TABLE things ENABLE ROW LEVEL SECURITY; CREATE INDEX things_ix ON things (id);",
		"CREATE INDEX CONCURRENTLY goalies_extra_ix ON goalies (program_id);",
		"-- ALTER TABLE goalies ADD COLUMN extra text;\nDROP TABLE things;",
		"GRANT SELECT ON goalies TO cagework_service;",
	} {
		faults, err := lint(fstest.MapFS{"000099_good.up.sql": {Data: []byte(good)}})
		require.NoError(t, err)
		require.Empty(t, faults, good)
	}
}
