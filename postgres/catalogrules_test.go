package postgres_test

import (
	"context"

	"github.com/jackc/pgx/v5"
)

// catalogRule is one thing that must hold of every table, now and later. Each gives the names of what breaks it.
type catalogRule struct {
	name       string
	violations func(context.Context, pgx.Tx) ([]string, error)
	offences   []string // statements each of which must be caught
}

// breaking makes a rule of a query for names. In it, ours are the tables of our schema but the local one and the one across programs, with
// the column that names the program; rows are read with the system's own operators only.
func breaking(query string) func(context.Context, pgx.Tx) ([]string, error) {
	return func(ctx context.Context, tx pgx.Tx) ([]string, error) {
		rows, err := tx.Query(ctx, `WITH ours AS (
			SELECT oid, relname::text AS name, relrowsecurity, relforcerowsecurity, relkind, relacl,
				CASE relname WHEN 'programs' THEN 'id' ELSE 'program_id' END AS key
			FROM pg_class
			WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p', 'f', 'v', 'm')
			AND relname NOT IN ('schema_migrations', 'sign_in_code_programs')
		) `+query)
		if err != nil {
			return nil, err
		}
		return pgx.CollectRows(rows, pgx.RowTo[string])
	}
}

const (
	// thing makes a table that keeps all rules; what an offence adds to it breaks one.
	thing = `CREATE TABLE things (program_id uuid NOT NULL, id uuid NOT NULL,
		CONSTRAINT things_pk PRIMARY KEY (program_id, id), CONSTRAINT things_program_fk FOREIGN KEY (program_id) REFERENCES programs (id));
		ALTER TABLE things ENABLE ROW LEVEL SECURITY; ALTER TABLE things FORCE ROW LEVEL SECURITY; ` + thingPolicy +
		`GRANT SELECT, INSERT, UPDATE, DELETE ON things TO cagework_service; `
	thingPolicy = `CREATE POLICY things_of_program ON things
		USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid); `
	keyPolicy = `(%s = (NULLIF(current_setting('app.program_id'::text, true), ''::text))::uuid)`
)

var catalogRules = []catalogRule{
	{"a tenant's table names its program", breaking(`SELECT name FROM ours WHERE relkind NOT IN ('r', 'p') OR NOT EXISTS (
		SELECT FROM pg_attribute a WHERE a.attrelid = ours.oid AND a.attname = key AND a.atttypid = 'uuid'::regtype AND a.attnotnull)`),
		[]string{
			`CREATE TABLE offenders (id uuid PRIMARY KEY)`,
			`CREATE TABLE offenders (program_id uuid, id uuid)`,
			`CREATE TABLE offenders (program_id text NOT NULL, id uuid)`,
			`CREATE VIEW offenders AS SELECT * FROM goalies`,
			`CREATE MATERIALIZED VIEW offenders AS SELECT * FROM goalies`,
		}},
	{"a key begins with the program", breaking(`SELECT x.indexrelid::regclass::text FROM ours JOIN pg_index x ON x.indrelid = ours.oid
		LEFT JOIN pg_attribute a ON a.attrelid = x.indrelid AND a.attnum = x.indkey[0]
		LEFT JOIN pg_constraint c ON c.conindid = x.indexrelid AND c.contype = 'x'
		WHERE (x.indisunique OR x.indisexclusion) AND (a.attname IS DISTINCT FROM key
			OR c.conexclop[1] NOT IN (SELECT oid FROM pg_operator WHERE oprname = '='))`),
		[]string{
			`CREATE TABLE offenders (program_id uuid NOT NULL, id uuid, PRIMARY KEY (id, program_id))`,
			thing + `ALTER TABLE things ADD CONSTRAINT things_offending_uq UNIQUE (id)`,
			thing + `CREATE UNIQUE INDEX things_offending_uq ON things (lower(id::text), program_id)`,
			thing + `ALTER TABLE things ADD COLUMN span int4range, ADD EXCLUDE USING gist (span WITH &&)`,
		}},
	{"a foreign key keeps to its program", breaking(`SELECT c.conname::text FROM ours JOIN pg_constraint c ON c.conrelid = ours.oid
		JOIN pg_attribute f ON f.attrelid = c.conrelid AND f.attnum = c.conkey[1]
		JOIN pg_attribute r ON r.attrelid = c.confrelid AND r.attnum = c.confkey[1]
		WHERE c.contype = 'f' AND NOT CASE
			WHEN c.confrelid = 'programs'::regclass THEN f.attname = 'program_id' AND r.attname = 'id' AND cardinality(c.conkey) = 1
			ELSE f.attname = 'program_id' AND r.attname = 'program_id' AND cardinality(c.conkey) > 1 END`),
		[]string{
			thing + `ALTER TABLE things ADD CONSTRAINT things_other_fk FOREIGN KEY (id) REFERENCES programs (id)`,
			thing + `ALTER TABLE things ADD COLUMN goalie_id uuid,
				ADD CONSTRAINT things_other_fk FOREIGN KEY (goalie_id, program_id) REFERENCES goalies (id, program_id)`,
			`CREATE TABLE shared (id uuid PRIMARY KEY); ` + thing +
				`ALTER TABLE things ADD CONSTRAINT things_other_fk FOREIGN KEY (id) REFERENCES shared (id)`,
		}},
	{"a foreign key empties no column", breaking(`SELECT c.conname::text FROM ours JOIN pg_constraint c ON c.conrelid = ours.oid
		WHERE c.contype = 'f' AND (c.confdeltype IN ('n', 'd') OR c.confupdtype IN ('n', 'd'))`),
		[]string{
			thing + `ALTER TABLE things ADD COLUMN goalie_id uuid, ADD FOREIGN KEY (program_id, goalie_id) REFERENCES goalies ON DELETE SET NULL`,
			thing + `ALTER TABLE things ADD COLUMN goalie_id uuid, ADD FOREIGN KEY (program_id, goalie_id) REFERENCES goalies ON UPDATE SET DEFAULT`,
		}},
	{"a foreign key has its index", breaking(`SELECT c.conname::text FROM ours JOIN pg_constraint c ON c.conrelid = ours.oid
		WHERE c.contype = 'f' AND NOT EXISTS (SELECT FROM pg_index x WHERE x.indrelid = c.conrelid AND x.indpred IS NULL AND x.indisvalid
			AND ARRAY(SELECT k FROM unnest(c.conkey) k ORDER BY k) =
				ARRAY(SELECT k FROM unnest((x.indkey::int2[])[0:cardinality(c.conkey) - 1]) k ORDER BY k))`),
		[]string{
			thing + `ALTER TABLE things ADD COLUMN goalie_id uuid, ADD FOREIGN KEY (program_id, goalie_id) REFERENCES goalies`,
			thing + `ALTER TABLE things ADD COLUMN goalie_id uuid, ADD FOREIGN KEY (program_id, goalie_id) REFERENCES goalies;
				CREATE INDEX ON things (program_id, id, goalie_id)`,
			`DROP INDEX shots_faced_stint_ix`,
		}},
	{"row security is forced", breaking(`SELECT name FROM ours WHERE NOT (relrowsecurity AND relforcerowsecurity)
		OR (SELECT count(*) FROM pg_policy p WHERE p.polrelid = ours.oid) <> 1
		OR NOT EXISTS (SELECT FROM pg_policy p WHERE p.polrelid = ours.oid AND p.polcmd = '*' AND p.polpermissive AND p.polroles = '{0}'
			AND p.polwithcheck IS NULL AND pg_get_expr(p.polqual, p.polrelid) = format($$` + keyPolicy + `$$, key))`),
		[]string{
			thing + `ALTER TABLE things DISABLE ROW LEVEL SECURITY`,
			thing + `ALTER TABLE things NO FORCE ROW LEVEL SECURITY`,
			thing + `DROP POLICY things_of_program ON things`,
			thing + `CREATE POLICY open ON things USING (true)`,
			thing + `ALTER POLICY things_of_program ON things WITH CHECK (true)`,
			thing + `ALTER POLICY things_of_program ON things USING (program_id = current_setting('app.program_id', true)::uuid)`,
		}},
}

var catalogHabits = []catalogRule{
	{"no logic hides in the database", breaking(`SELECT t.tgname::text FROM ours JOIN pg_trigger t ON t.tgrelid = ours.oid WHERE NOT t.tgisinternal
		UNION ALL SELECT r.rulename::text FROM ours JOIN pg_rewrite r ON r.ev_class = ours.oid WHERE relkind = 'r'
		UNION ALL SELECT p.proname::text FROM pg_proc p WHERE p.pronamespace = 'public'::regnamespace
			AND p.oid::regprocedure::text NOT IN ('without_names(text,text[])', 'without_names_in(jsonb,text[],text[],boolean)',
				'names_borne(uuid,text,uuid)', 'erase_from_changes(uuid,text,uuid,boolean)', 'remove_old_accesses(timestamp with time zone)')
		UNION ALL SELECT a.attname::text FROM ours JOIN pg_attrdef d ON d.adrelid = ours.oid
			JOIN pg_attribute a ON a.attrelid = d.adrelid AND a.attnum = d.adnum`),
		[]string{
			`CREATE TRIGGER offending BEFORE UPDATE ON goalies FOR EACH ROW EXECUTE FUNCTION suppress_redundant_updates_trigger()`,
			`CREATE RULE offending AS ON DELETE TO goalies DO INSTEAD NOTHING`,
			`CREATE FUNCTION offending() RETURNS int LANGUAGE sql SECURITY DEFINER AS 'SELECT 1'`,
			`ALTER TABLE goalies ADD COLUMN offending timestamptz DEFAULT now()`,
		}},
	{"only a function that must has its owner's powers, and none may be called or led astray by anybody", breaking(`
		SELECT p.oid::regprocedure::text FROM pg_proc p WHERE p.pronamespace = 'public'::regnamespace AND NOT (
			p.prosecdef = (p.proname IN ('erase_from_changes', 'remove_old_accesses')) AND coalesce(p.proconfig, '{}') = ARRAY['search_path=pg_catalog, pg_temp']
			AND p.proowner = (SELECT relowner FROM pg_class WHERE oid = 'changes'::regclass)
			AND coalesce((SELECT array_agg(g.grantee::regrole::text) FROM aclexplode(coalesce(p.proacl, acldefault('f', p.proowner))) g
				WHERE g.grantee <> p.proowner), '{}') = ARRAY['cagework_service'])`),
		[]string{
			`ALTER FUNCTION names_borne(uuid, text, uuid) SECURITY DEFINER`,
			`ALTER FUNCTION erase_from_changes(uuid, text, uuid, boolean) SECURITY INVOKER`,
			`ALTER FUNCTION erase_from_changes(uuid, text, uuid, boolean) SET search_path = public`,
			`ALTER FUNCTION erase_from_changes(uuid, text, uuid, boolean) RESET search_path`,
			`GRANT EXECUTE ON FUNCTION erase_from_changes(uuid, text, uuid, boolean) TO PUBLIC`,
			`REVOKE EXECUTE ON FUNCTION erase_from_changes(uuid, text, uuid, boolean) FROM cagework_service`,
			`ALTER FUNCTION erase_from_changes(uuid, text, uuid, boolean) OWNER TO cagework_service`,
			`ALTER FUNCTION remove_old_accesses(timestamptz) SECURITY INVOKER`,
			`ALTER FUNCTION remove_old_accesses(timestamptz) SET search_path = public`,
			`ALTER FUNCTION remove_old_accesses(timestamptz) RESET search_path`,
			`GRANT EXECUTE ON FUNCTION remove_old_accesses(timestamptz) TO PUBLIC`,
			`REVOKE EXECUTE ON FUNCTION remove_old_accesses(timestamptz) FROM cagework_service`,
			`ALTER FUNCTION remove_old_accesses(timestamptz) OWNER TO cagework_service`,
		}},
	{"ids are not counted", breaking(`SELECT relname::text FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'S'
		UNION SELECT a.attname::text FROM ours JOIN pg_attribute a ON a.attrelid = ours.oid WHERE a.attidentity <> ''`),
		[]string{
			`CREATE SEQUENCE offending`,
			`ALTER TABLE goalies ADD COLUMN offending bigint GENERATED ALWAYS AS IDENTITY`,
		}},
	{"the service's role has no powers", breaking(`SELECT rolname::text FROM pg_roles WHERE rolname = 'cagework_service'
			AND (rolcanlogin OR rolsuper OR rolbypassrls OR rolcreatedb OR rolcreaterole OR rolreplication)
		UNION ALL SELECT 'owns ' || pg_describe_object(d.classid, d.objid, d.objsubid) FROM pg_shdepend d
			WHERE d.refobjid = 'cagework_service'::regrole AND d.deptype = 'o' AND d.dbid IN
				(0, (SELECT oid FROM pg_database WHERE datname = current_database()))
		UNION ALL SELECT 'is in ' || roleid::regrole FROM pg_auth_members WHERE member = 'cagework_service'::regrole`),
		[]string{
			`ALTER ROLE cagework_service BYPASSRLS`, `ALTER ROLE cagework_service SUPERUSER`, `ALTER ROLE cagework_service LOGIN`,
			`ALTER TABLE goalies OWNER TO cagework_service`,
			`GRANT pg_read_all_data TO cagework_service`,
		}},
	{"the service may do what it must", breaking(`SELECT name || ': ' || coalesce(have, 'nothing') FROM (
			SELECT name, string_agg(g.grantee::regrole || ' ' || g.privilege_type, ', ' ORDER BY g.privilege_type) AS have
			FROM ours LEFT JOIN LATERAL (SELECT * FROM aclexplode(relacl) e
				WHERE e.grantee <> (SELECT relowner FROM pg_class WHERE oid = ours.oid)) g ON true
			GROUP BY name) granted
		WHERE have IS DISTINCT FROM CASE
			WHEN name IN ('changes', 'fits', 'erasures', 'record_ids', 'accesses') THEN 'cagework_service INSERT, cagework_service SELECT'
			WHEN name IN ('sessions', 'sign_in_codes') THEN 'cagework_service DELETE, cagework_service INSERT, cagework_service SELECT'
			WHEN name = 'programs' THEN 'cagework_service INSERT, cagework_service SELECT, cagework_service UPDATE'
			ELSE 'cagework_service DELETE, cagework_service INSERT, cagework_service SELECT, cagework_service UPDATE' END
		UNION ALL SELECT attname::text FROM ours JOIN pg_attribute a ON a.attrelid = ours.oid WHERE a.attacl IS NOT NULL
		UNION ALL SELECT 'may create' WHERE has_schema_privilege('cagework_service', 'public', 'CREATE')`),
		[]string{
			`GRANT DELETE ON changes TO cagework_service`, `GRANT UPDATE ON changes TO cagework_service`,
			`GRANT DELETE ON record_ids TO cagework_service`, `GRANT UPDATE ON record_ids TO cagework_service`,
			`GRANT DELETE ON erasures TO cagework_service`, `GRANT UPDATE ON erasures TO cagework_service`,
			`GRANT DELETE ON accesses TO cagework_service`, `GRANT UPDATE ON accesses TO cagework_service`,
			`GRANT DELETE ON fits TO cagework_service`, `GRANT UPDATE ON fits TO cagework_service`,
			`GRANT TRUNCATE ON goalies TO cagework_service`, `GRANT SELECT ON goalies TO PUBLIC`,
			`REVOKE DELETE ON goalies FROM cagework_service`, `GRANT UPDATE (noun) ON changes TO cagework_service`,
			`GRANT CREATE ON SCHEMA public TO cagework_service`,
			`CREATE TABLE things (program_id uuid NOT NULL)`,
		}},
}
