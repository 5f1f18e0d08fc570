package postgres

import (
	"context"
	"fmt"
	"time"
)

// Readiness is what stands between the service and its work.
type Readiness struct {
	Problem string // "" when the service can work
	Warning string // does not hinder the work, but somebody should know
}

// Ready tells whether the database answers, within a second, at the schema version that this program needs, and
// whether its login could bypass row security.
func (db *DB) Ready(ctx context.Context, version uint) Readiness {
	ctx, cancel := context.WithTimeout(ctx, time.Second)
	defer cancel()
	var have int64
	var dirty, bypass, member bool
	err := db.pool.QueryRow(ctx, `SELECT version, dirty FROM schema_migrations`).Scan(&have, &dirty)
	if err != nil {
		return Readiness{Problem: "the database does not answer, or was never migrated"}
	}
	err = db.pool.QueryRow(ctx, `SELECT rolsuper OR rolbypassrls, pg_has_role(oid, 'cagework_service', 'MEMBER')
		FROM pg_roles WHERE rolname = current_user`).Scan(&bypass, &member)
	switch {
	case err != nil:
		return Readiness{Problem: "the database does not answer, or lacks the role cagework_service"}
	case dirty:
		return Readiness{Problem: fmt.Sprintf("migration %d failed half-way; see cagework migrate --help", have)}
	case have != int64(version): //nolint:gosec // a small number
		return Readiness{Problem: fmt.Sprintf("the database is at schema version %d, this program needs %d; run cagework migrate",
			have, version)}
	case !member:
		return Readiness{Problem: "the database login is not a member of the role cagework_service"}
	case bypass:
		return Readiness{Warning: "the database login is a superuser or bypasses row security; " +
			"every transaction steps down to cagework_service, but give the service a plainer login"}
	}
	return Readiness{}
}
