package migrations_test

import (
	"context"
	"strings"
	"testing"

	"cagework/postgres/pgtest"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// dumpQuery writes the schema down as text, a line a thing, in an order that depends on names only. It leaves out what
// differs between servers: owners and their own rights, and the names that newer versions give to NOT NULL.
const dumpQuery = `
WITH tables AS (
	SELECT oid, relname::text AS name, relacl, relrowsecurity, relforcerowsecurity FROM pg_class
	WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p', 'f', 'v', 'm')
), lines (name, part, place, line) AS (
	SELECT name, 0, '', 'table ' || name || CASE WHEN relrowsecurity THEN ', row security' ELSE '' END
		|| CASE WHEN relforcerowsecurity THEN ' forced' ELSE '' END FROM tables
	UNION ALL
	SELECT name, 1, to_char(a.attnum, '0000'), '  column ' || a.attname || ' ' || format_type(a.atttypid, a.atttypmod)
		|| CASE WHEN a.attnotnull THEN ' not null' ELSE '' END || coalesce(' default ' || pg_get_expr(d.adbin, d.adrelid), '')
		|| CASE WHEN a.attidentity = '' THEN '' ELSE ' identity' END || CASE WHEN a.attgenerated = '' THEN '' ELSE ' generated' END
	FROM tables JOIN pg_attribute a ON a.attrelid = tables.oid AND a.attnum > 0 AND NOT a.attisdropped
	LEFT JOIN pg_attrdef d ON d.adrelid = a.attrelid AND d.adnum = a.attnum
	UNION ALL
	SELECT name, 2, c.conname::text, '  constraint ' || c.conname || ' ' || pg_get_constraintdef(c.oid)
	FROM tables JOIN pg_constraint c ON c.conrelid = tables.oid WHERE c.contype IN ('p', 'u', 'f', 'c', 'x')
	UNION ALL
	SELECT name, 3, i.relname::text, '  index ' || i.relname || ' '
		|| regexp_replace(pg_get_indexdef(x.indexrelid), '^CREATE (UNIQUE )?INDEX \S+ ON public\.\S+ ', '\1')
	FROM tables JOIN pg_index x ON x.indrelid = tables.oid JOIN pg_class i ON i.oid = x.indexrelid
	UNION ALL
	SELECT name, 4, p.polname::text, '  policy ' || p.polname || ' for ' || p.polcmd::text || ' to ' || p.polroles::regrole[]::text
		|| coalesce(' using ' || pg_get_expr(p.polqual, p.polrelid), '') || coalesce(' with check ' || pg_get_expr(p.polwithcheck, p.polrelid), '')
	FROM tables JOIN pg_policy p ON p.polrelid = tables.oid
	UNION ALL
	SELECT name, 5, t.tgname::text, '  trigger ' || t.tgname FROM tables JOIN pg_trigger t ON t.tgrelid = tables.oid WHERE NOT t.tgisinternal
	UNION ALL
	SELECT name, 6, g.grantee::regrole::text, '  grant to ' || g.grantee::regrole || ': ' || string_agg(g.privilege_type, ', ' ORDER BY g.privilege_type)
	FROM tables, aclexplode(relacl) g WHERE g.grantee <> g.grantor GROUP BY name, g.grantee
	UNION ALL
	SELECT relname::text, 7, '', 'sequence ' || relname FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'S'
	UNION ALL
	SELECT proname::text, 8, '', 'function ' || oid::regprocedure || CASE WHEN prosecdef THEN ', with its owner''s powers' ELSE '' END
		|| coalesce(', ' || array_to_string(proconfig, ', '), '') || coalesce((SELECT ', grant to ' || string_agg(
			CASE g.grantee WHEN 0 THEN 'everybody' ELSE g.grantee::regrole::text END, ', ' ORDER BY g.grantee) FROM aclexplode(coalesce(proacl, acldefault('f', proowner))) g WHERE g.grantee <> proowner), '')
		|| ', md5 ' || md5(prosrc)
	FROM pg_proc WHERE pronamespace = 'public'::regnamespace
	UNION ALL
	SELECT typname::text, 9, '', 'type ' || typname FROM pg_type
	WHERE typnamespace = 'public'::regnamespace AND typrelid = 0 AND typelem = 0
	UNION ALL
	SELECT '', 10, g.grantee::regrole::text, 'schema public, grant to ' || g.grantee::regrole || ': ' || string_agg(g.privilege_type, ', ' ORDER BY g.privilege_type)
	FROM pg_namespace, aclexplode(nspacl) g WHERE nspname = 'public' AND g.grantee = to_regrole('cagework_service') GROUP BY g.grantee
)
SELECT line FROM lines ORDER BY name COLLATE "C", part, place COLLATE "C", line COLLATE "C"`

func dump(t *testing.T, address string) string {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), address)
	require.NoError(t, err)
	defer conn.Close(context.WithoutCancel(t.Context()))
	rows, err := conn.Query(t.Context(), dumpQuery)
	require.NoError(t, err)
	lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(t, err)
	return strings.Join(lines, "\n") + "\n"
}

// TestTheDumpSeesEveryKindOfChange keeps the comparisons of schemas honest: what the dump does not see may drift.
func TestTheDumpSeesEveryKindOfChange(t *testing.T) {
	t.Parallel()
	db := pgtest.New(t)
	before := dump(t, db.AdminURL)
	require.Equal(t, before, dump(t, db.AdminURL))
	for _, statement := range []string{
		`ALTER TABLE goalies ADD COLUMN extra text`,
		`ALTER TABLE goalies ALTER COLUMN extra SET NOT NULL`,
		`ALTER TABLE goalies ALTER COLUMN extra SET DEFAULT 'x'`,
		`ALTER TABLE goalies ALTER COLUMN extra TYPE varchar(9)`,
		`ALTER TABLE goalies ADD CONSTRAINT goalies_extra_ck CHECK (extra <> '')`,
		`CREATE INDEX goalies_extra_ix ON goalies (extra)`,
		`DROP INDEX shots_game_ix; CREATE INDEX shots_game_ix ON shots (program_id, game_id)`,
		`ALTER POLICY goalies_of_program ON goalies USING (true)`,
		`ALTER TABLE goalies NO FORCE ROW LEVEL SECURITY`,
		`ALTER TABLE goalies DISABLE ROW LEVEL SECURITY`,
		`GRANT TRUNCATE ON goalies TO cagework_service`,
		`GRANT CREATE ON SCHEMA public TO cagework_service`,
		`CREATE SEQUENCE extra`,
		`CREATE FUNCTION extra() RETURNS int LANGUAGE sql AS 'SELECT 1'`,
		`ALTER FUNCTION extra() SECURITY DEFINER`, `ALTER FUNCTION extra() SET search_path = pg_catalog`,
		`REVOKE ALL ON FUNCTION extra() FROM PUBLIC`, `GRANT EXECUTE ON FUNCTION extra() TO cagework_service`,
		`CREATE OR REPLACE FUNCTION extra() RETURNS int LANGUAGE sql AS 'SELECT 2'`,
		`CREATE TYPE mood AS ENUM ('calm')`,
		`CREATE TRIGGER extra BEFORE UPDATE ON goalies FOR EACH ROW EXECUTE FUNCTION suppress_redundant_updates_trigger()`,
		`CREATE VIEW extras AS SELECT 1 AS one`,
	} {
		run(t, db.AdminURL, statement)
		after := dump(t, db.AdminURL)
		require.NotEqual(t, before, after, "%s is not seen", statement)
		before = after
	}
}
