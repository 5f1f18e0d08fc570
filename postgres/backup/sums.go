package backup

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
)

// Versions is where the schema's version stands.
const versions = "public.schema_migrations"

// pinned makes a row's text the same on every server, whatever is set there, and any query fail that row security would
// answer with fewer rows.
const pinned = `SET LOCAL row_security = off; SET LOCAL search_path = ''; SET LOCAL TimeZone = 'UTC'; SET LOCAL DateStyle = 'ISO, YMD';
	SET LOCAL IntervalStyle = 'postgres'; SET LOCAL extra_float_digits = 1; SET LOCAL bytea_output = 'hex'`

// ordinary are the tables of our own schemas that hold rows.
const ordinary = `FROM pg_catalog.pg_class c JOIN pg_catalog.pg_namespace n ON n.oid = c.relnamespace
	WHERE c.relkind = 'r' AND c.relpersistence <> 't' AND n.nspname NOT LIKE 'pg\_%' AND n.nspname NOT IN ('information_schema', '` + marker + `')`

// tables lists the tables, as they are named in SQL, in an order that depends on the names only.
func tables(ctx context.Context, q querier) ([]Table, error) {
	rows, err := q.Query(ctx, `SELECT name, forced FROM (SELECT pg_catalog.format('%I.%I', n.nspname, c.relname) AS name,
		c.relrowsecurity AND c.relforcerowsecurity AS forced `+ordinary+`) t ORDER BY name COLLATE "C"`)
	if err != nil {
		return nil, fmt.Errorf("list the tables: %w", err)
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (t Table, err error) { return t, row.Scan(&t.Name, &t.Forced) })
}

// named are the tables' names, as SQL lists them.
func named(all []Table) string {
	var names []string
	for _, t := range all {
		names = append(names, t.Name)
	}
	return strings.Join(names, ", ")
}

type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
}

// count counts tables as the transaction sees them. The sum is that of the first 64 bits of SHA-256 of each row's text: it
// does not depend on the order of rows, nor on the version of the server.
func count(ctx context.Context, tx pgx.Tx, all []Table) error {
	if _, err := tx.Exec(ctx, pinned); err != nil {
		return err
	}
	for i, t := range all {
		err := tx.QueryRow(ctx, `SELECT count(*), coalesce(sum(('x' || encode(substr(sha256(convert_to("the row"::text, 'UTF8')), 1, 8), 'hex'))
			::bit(64)::bigint), 0)::text FROM `+t.Name+` AS "the row"`).Scan(&all[i].Rows, &all[i].Sum)
		if err != nil {
			return fmt.Errorf("count %s: %w", t.Name, err)
		}
	}
	return nil
}

// grantees are the roles that hold rights on what is in the database, its owners apart: a dump names them and does not
// make them.
func grantees(ctx context.Context, q querier) ([]string, error) {
	rows, err := q.Query(ctx, `
		WITH rights (owner, list) AS (
			SELECT relowner, relacl FROM pg_catalog.pg_class UNION ALL SELECT nspowner, nspacl FROM pg_catalog.pg_namespace
			UNION ALL SELECT proowner, proacl FROM pg_catalog.pg_proc UNION ALL SELECT typowner, typacl FROM pg_catalog.pg_type
			UNION ALL SELECT c.relowner, a.attacl FROM pg_catalog.pg_attribute a JOIN pg_catalog.pg_class c ON c.oid = a.attrelid
			UNION ALL SELECT defaclrole, defaclacl FROM pg_catalog.pg_default_acl
		), named (oid) AS (
			SELECT e.grantee FROM rights, aclexplode(list) e WHERE e.grantee NOT IN (0, owner)
			UNION SELECT unnest(polroles) FROM pg_catalog.pg_policy
		)
		SELECT rolname::text FROM pg_catalog.pg_roles JOIN named USING (oid) WHERE rolname NOT LIKE 'pg\_%' ORDER BY rolname COLLATE "C"`)
	if err != nil {
		return nil, fmt.Errorf("list the roles: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}
