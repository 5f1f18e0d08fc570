package migrations_test

import (
	"fmt"
	"io/fs"
	"regexp"
	"strconv"
	"testing"
	"testing/fstest"

	"cagework/migrations"

	"github.com/stretchr/testify/require"
)

// saysWhom is the first version at which a schema says whom it serves.
const saysWhom = 35

var (
	// narrowing are the statements after which a program that does not know of them may fail, beginning with what it can no
	// longer find and ending with what it can no longer write.
	narrowing = []*regexp.Regexp{
		regexp.MustCompile(`(?i)^DROP\s+(TABLE|FUNCTION|VIEW|TYPE|SCHEMA)\b`),
		regexp.MustCompile(`(?i)\b(DROP|RENAME)\s+(COLUMN|TO)\b`),
		regexp.MustCompile(`(?i)^ALTER\s+\w+\s.*\bRENAME\b`),
		regexp.MustCompile(`(?i)\bALTER\s+(COLUMN\s+)?\w+\s+(SET\s+DATA\s+)?TYPE\b`),
		regexp.MustCompile(`(?i)\bSET\s+NOT\s+NULL\b`),
		regexp.MustCompile(`(?i)\bDROP\s+DEFAULT\b`),
		regexp.MustCompile(`(?i)\bADD\s+(COLUMN\s+)?(IF\s+NOT\s+EXISTS\s+)?\w+\s+[^,;]*\bNOT\s+NULL\b`),
		regexp.MustCompile(`(?i)\bADD\s+CONSTRAINT\b`),
		regexp.MustCompile(`(?i)^CREATE\s+UNIQUE\s+INDEX\b`),
		regexp.MustCompile(`(?i)^CREATE\s+(CONSTRAINT\s+)?TRIGGER\b`),
		regexp.MustCompile(`(?i)^(CREATE|ALTER|DROP)\s+POLICY\b`),
		regexp.MustCompile(`(?i)^REVOKE\s`),
		regexp.MustCompile(`(?i)^(UPDATE|DELETE|TRUNCATE|DO)\b`), // what rows say may be what a program reads
	}
	keepsDefault = regexp.MustCompile(`(?i)\bDEFAULT\b`)
	madeHere     = regexp.MustCompile(`(?i)^CREATE\s+(?:OR\s+REPLACE\s+)?(?:TABLE|FUNCTION)\s+(\w+)`)
	comments     = regexp.MustCompile(`(?i)^COMMENT\s+ON\s+TABLE\s+schema_migrations\s+IS\s+'serves programs that know schema version (\d+)'$`)
)

// narrows tells whether a file has a statement that a program which does not know of it may trip over. What a file does to what
// it made itself is nobody else's matter.
func narrows(content string) (statement string, is bool) {
	fresh := map[string]bool{}
	for _, s := range statements(content) {
		if m := madeHere.FindStringSubmatch(s); m != nil {
			fresh[m[1]] = true
		}
		for _, p := range narrowing {
			if p.MatchString(s) && !aboutFresh(s, fresh) && (p != narrowing[6] || !keepsDefault.MatchString(s)) {
				return s, true
			}
		}
	}
	return "", false
}

var names = regexp.MustCompile(`(?i)\b(?:TABLE|ON|INTO|UPDATE|FUNCTION)\s+(?:FUNCTION\s+|ONLY\s+|TABLE\s+)*(\w+)`)

func aboutFresh(statement string, fresh map[string]bool) bool {
	m := names.FindStringSubmatch(statement)
	return m != nil && fresh[m[1]]
}

// serves finds the number that a file says, 0 for none.
func serves(content string) int {
	for _, s := range statements(content) {
		if m := comments.FindStringSubmatch(s); m != nil {
			n, _ := strconv.Atoi(m[1])
			return n
		}
	}
	return 0
}

// holdsTheRule looks whether a file that narrows says its own number, its step down the number before it, and no other file any.
func holdsTheRule(files fs.FS) (faults []string, err error) {
	ups, err := fs.Glob(files, "*.up.sql")
	if err != nil {
		return nil, err
	}
	before := 0
	for _, name := range ups {
		version, _ := strconv.Atoi(name[:6])
		up, err := fs.ReadFile(files, name)
		if err != nil {
			return nil, err
		}
		down, err := fs.ReadFile(files, name[:len(name)-len("up.sql")]+"down.sql")
		if err != nil {
			return nil, err
		}
		if version < saysWhom {
			continue
		}
		said, back := serves(string(up)), serves(string(down))
		statement, narrow := narrows(string(up))
		switch {
		case narrow && said != version:
			faults = append(faults, fmt.Sprintf("%s narrows (%.60s) and must say: COMMENT ON TABLE schema_migrations IS 'serves programs that know schema version %d'", name, statement, version))
		case said != 0 && said != version:
			faults = append(faults, fmt.Sprintf("%s says %d", name, said))
		case said != 0 && version > saysWhom && back != before:
			faults = append(faults, fmt.Sprintf("the step down of %s must say %d again", name, before))
		}
		if said != 0 {
			before = said
		}
	}
	return faults, nil
}

func TestAMigrationSaysWhomItServes(t *testing.T) {
	t.Parallel()
	faults, err := holdsTheRule(migrations.FS)
	require.NoError(t, err)
	require.Empty(t, faults)
	latest, err := migrations.Latest()
	require.NoError(t, err)
	require.LessOrEqual(t, migrations.Lowest, latest)
}

func TestTheRuleOfWhomASchemaServesCatches(t *testing.T) {
	t.Parallel()
	const word = "COMMENT ON TABLE schema_migrations IS 'serves programs that know schema version %d';"
	files := func(up, down string) fstest.MapFS {
		return fstest.MapFS{
			"000035_first.up.sql":    {Data: fmt.Appendf(nil, word, 35)},
			"000035_first.down.sql":  {Data: []byte("COMMENT ON TABLE schema_migrations IS NULL;")},
			"000036_second.up.sql":   {Data: []byte(up)},
			"000036_second.down.sql": {Data: []byte(down)},
		}
	}
	narrow := []string{
		"ALTER TABLE goalies DROP COLUMN name;",
		"ALTER TABLE goalies RENAME COLUMN name TO called;",
		"ALTER TABLE goalies RENAME TO keepers;",
		"ALTER TABLE goalies ALTER COLUMN name TYPE varchar(9);",
		"ALTER TABLE goalies ALTER name SET NOT NULL;",
		"ALTER TABLE goalies ADD COLUMN extra text NOT NULL;",
		"ALTER TABLE goalies ADD COLUMN extra text NOT NULL DEFAULT ''; ALTER TABLE goalies ALTER COLUMN extra DROP DEFAULT;",
		"ALTER TABLE goalies ADD CONSTRAINT goalies_extra_ck CHECK (name <> '');",
		"CREATE UNIQUE INDEX goalies_name_uq ON goalies (program_id, name);",
		"CREATE TRIGGER t BEFORE UPDATE ON goalies FOR EACH ROW EXECUTE FUNCTION f();",
		"ALTER POLICY goalies_of_program ON goalies USING (true);",
		"REVOKE DELETE ON goalies FROM cagework_service;",
		"DROP TABLE goalies;",
		"UPDATE goalies SET availability = 'held';",
	}
	for _, up := range narrow {
		faults, err := holdsTheRule(files(up, ""))
		require.NoError(t, err)
		require.Len(t, faults, 1, up)
		faults, err = holdsTheRule(files(up+fmt.Sprintf(word, 36), fmt.Sprintf(word, 35)))
		require.NoError(t, err)
		require.Empty(t, faults, up)
		faults, err = holdsTheRule(files(up+fmt.Sprintf(word, 36), ""))
		require.NoError(t, err)
		require.Len(t, faults, 1, "%s: the step down says nothing", up)
	}
	for _, adds := range []string{
		"CREATE TABLE things (program_id uuid NOT NULL, CONSTRAINT things_pk PRIMARY KEY (program_id)); ALTER TABLE things FORCE ROW LEVEL SECURITY; " +
			"CREATE POLICY p ON things USING (true); GRANT SELECT ON things TO cagework_service; CREATE UNIQUE INDEX u ON things (program_id);",
		"ALTER TABLE goalies ADD COLUMN extra text;",
		"ALTER TABLE goalies ADD COLUMN extra text NOT NULL DEFAULT '';",
		"CREATE INDEX goalies_extra_ix ON goalies (program_id, name);",
		"CREATE FUNCTION f(a int) RETURNS int LANGUAGE sql AS $$ SELECT 1 $$; REVOKE ALL ON FUNCTION f(int) FROM PUBLIC;",
		"ALTER TABLE goalies ALTER COLUMN name DROP NOT NULL;",
	} {
		faults, err := holdsTheRule(files(adds, ""))
		require.NoError(t, err)
		require.Empty(t, faults, adds)
		faults, err = holdsTheRule(files(adds+fmt.Sprintf(word, 35), ""))
		require.NoError(t, err)
		require.NotEmpty(t, faults, "%s: it may only say its own number", adds)
	}
}
