package migrations

import (
	"context"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"
)

func inspect(ctx context.Context, conn *pgx.Conn, files fs.FS, version int) ([]Fault, error) {
	s, err := setupOf(files, version)
	if err != nil {
		return nil, err
	}
	var there, bypass, login bool
	err = conn.QueryRow(ctx, `SELECT count(*) > 0, coalesce(bool_or(rolsuper OR rolbypassrls), false),
		EXISTS (SELECT FROM pg_roles l JOIN pg_roles r ON r.rolname = $1
			WHERE l.rolcanlogin AND NOT l.rolsuper AND l.oid <> r.oid AND pg_has_role(l.oid, r.oid, 'MEMBER'))
		FROM pg_roles WHERE rolname = $1`, ServiceRole).Scan(&there, &bypass, &login)
	if err != nil {
		return nil, err
	}
	var faults []Fault
	if !there {
		faults = append(faults, Fault{What: "the role " + ServiceRole + " is missing on this server",
			Mend: "CREATE ROLE " + ServiceRole + " NOLOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOBYPASSRLS"})
	}
	if bypass {
		faults = append(faults, Fault{What: "the role " + ServiceRole + " bypasses row security",
			Mend: "ALTER ROLE " + ServiceRole + " NOSUPERUSER NOBYPASSRLS"})
	}
	for _, look := range []func(context.Context, *pgx.Conn, setup, bool) ([]Fault, error){missingRights, openFunctions, missingPolicies} {
		more, err := look(ctx, conn, s, there)
		if err != nil {
			return nil, err
		}
		faults = append(faults, more...)
	}
	if !login {
		faults = append(faults, Fault{What: "no login is a member of the role " + ServiceRole, Hand: true,
			Mend: "CREATE ROLE cagework_login LOGIN PASSWORD '...' IN ROLE " + ServiceRole})
	}
	return faults, nil
}

// missingRights asks for each right of the role, and gives the faults an object each.
func missingRights(ctx context.Context, conn *pgx.Conn, s setup, role bool) ([]Fault, error) {
	type lack struct{ kind, object string }
	lacks := map[lack][]string{}
	var order []lack
	for _, r := range s.rights {
		has := false
		if role {
			var err error
			if has, err = hasRight(ctx, conn, r); err != nil {
				return nil, err
			}
		}
		if !has {
			of := lack{r.kind, r.object}
			if lacks[of] == nil {
				order = append(order, of)
			}
			privilege := r.privilege
			if r.column != "" {
				privilege += " (" + r.column + ")"
			}
			lacks[of] = append(lacks[of], privilege)
		}
	}
	var faults []Fault
	for _, of := range order {
		privileges := strings.Join(lacks[of], ", ")
		faults = append(faults, Fault{
			What: fmt.Sprintf("the role %s lacks %s on %s %s", ServiceRole, privileges, strings.ToLower(of.kind), of.object),
			Mend: fmt.Sprintf("GRANT %s ON %s %s TO %s", privileges, of.kind, of.object, ServiceRole),
		})
	}
	return faults, nil
}

func hasRight(ctx context.Context, conn *pgx.Conn, r right) (has bool, err error) {
	switch {
	case r.kind == "TABLE" && r.column != "":
		err = conn.QueryRow(ctx, `SELECT to_regclass($2) IS NOT NULL AND has_column_privilege($1::name, to_regclass($2), $3, $4)`,
			ServiceRole, r.object, r.column, r.privilege).Scan(&has)
	case r.kind == "TABLE":
		err = conn.QueryRow(ctx, `SELECT to_regclass($2) IS NOT NULL AND has_table_privilege($1::name, to_regclass($2), $3)`,
			ServiceRole, r.object, r.privilege).Scan(&has)
	case r.kind == "FUNCTION":
		err = conn.QueryRow(ctx, `SELECT to_regprocedure($2) IS NOT NULL AND has_function_privilege($1::name, to_regprocedure($2), $3)`,
			ServiceRole, r.object, r.privilege).Scan(&has)
	case r.kind == "SCHEMA":
		err = conn.QueryRow(ctx, `SELECT has_schema_privilege($1::name, $2, $3)`, ServiceRole, r.object, r.privilege).Scan(&has)
	default:
		err = fmt.Errorf("a right on a %s is of an unknown kind", r.kind)
	}
	return has, err
}

// openFunctions looks for functions that everybody may run although a file took that away.
func openFunctions(ctx context.Context, conn *pgx.Conn, s setup, _ bool) ([]Fault, error) {
	var faults []Fault
	for _, function := range s.guarded {
		var open bool
		err := conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_proc p, aclexplode(coalesce(p.proacl, acldefault('f', p.proowner))) a
			WHERE p.oid = to_regprocedure($1) AND a.grantee = 0)`, function).Scan(&open)
		if err != nil {
			return nil, err
		}
		if open {
			faults = append(faults, Fault{What: "everybody may run the function " + function,
				Mend: "REVOKE ALL ON FUNCTION " + function + " FROM PUBLIC"})
		}
	}
	return faults, nil
}

// missingPolicies looks for tables whose rows are not kept apart.
func missingPolicies(ctx context.Context, conn *pgx.Conn, s setup, _ bool) ([]Fault, error) {
	var faults []Fault
	for _, key := range slices.Sorted(maps.Keys(s.policies)) {
		table, policy, _ := strings.Cut(key, ".")
		var there, on, has bool
		err := conn.QueryRow(ctx, `SELECT count(*) > 0, coalesce(bool_and(relrowsecurity AND relforcerowsecurity), false),
			EXISTS (SELECT FROM pg_policy WHERE polrelid = to_regclass($1) AND polname = $2)
			FROM pg_class WHERE oid = to_regclass($1)`, table, policy).Scan(&there, &on, &has)
		switch {
		case err != nil:
			return nil, err
		case !there:
			faults = append(faults, Fault{What: "the table " + table + " is missing", Hand: true,
				Mend: "restore the database whole"})
			continue
		case !on:
			faults = append(faults, Fault{What: "row security is not forced on the table " + table,
				Mend: "ALTER TABLE " + table + " ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY"})
		}
		if !has {
			faults = append(faults, Fault{What: "the table " + table + " lacks its policy " + policy, Mend: s.policies[key]})
		}
	}
	return faults, nil
}
