package backup

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// marker is the schema that stands in a database while it is being restored. The service is not ready where it is.
const marker = "cagework_restoring"

// shut marks the database as unfinished and takes the right to connect from everybody but the owner. reopen undoes both in
// one transaction.
func shut(ctx context.Context, conn *pgx.Conn) (reopen func(context.Context) error, err error) {
	rows, err := conn.Query(ctx, `SELECT CASE e.grantee WHEN 0 THEN 'PUBLIC' ELSE quote_ident(r.rolname) END
		FROM pg_database d, aclexplode(coalesce(d.datacl, acldefault('d', d.datdba))) e LEFT JOIN pg_roles r ON r.oid = e.grantee
		WHERE d.datname = current_database() AND e.privilege_type = 'CONNECT' AND e.grantee <> d.datdba`)
	if err != nil {
		return nil, err
	}
	might, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return nil, err
	}
	database := pgx.Identifier{conn.Config().Database}.Sanitize()
	closing, opening := []string{`CREATE SCHEMA ` + marker}, []string{`DROP SCHEMA ` + marker}
	for _, who := range might {
		closing = append(closing, `REVOKE CONNECT ON DATABASE `+database+` FROM `+who)
		opening = append(opening, `GRANT CONNECT ON DATABASE `+database+` TO `+who)
	}
	if err := together(ctx, conn, closing); err != nil {
		return nil, fmt.Errorf("close the database until it is restored: %w", err)
	}
	return func(ctx context.Context) error {
		if err := together(ctx, conn, opening); err != nil {
			return fmt.Errorf("open the database, which is restored: %w", err)
		}
		return nil
	}, nil
}

// alone refuses a database to which somebody is connected already. Workers of the server itself have no user.
func alone(ctx context.Context, conn *pgx.Conn) error {
	var others int
	err := conn.QueryRow(ctx, `SELECT count(*) FROM pg_stat_activity
		WHERE datname = current_database() AND pid <> pg_backend_pid() AND usesysid IS NOT NULL`).Scan(&others)
	if err == nil && others > 0 {
		err = fmt.Errorf("others are connected to %s (%d): stop them first, so that nobody sees it half restored",
			conn.Config().Database, others)
	}
	return err
}

// Lend makes a database's login a member of a role for a while, unless it is one already. back takes that away again.
func Lend(ctx context.Context, databaseURL, role string) (back func(context.Context) error, err error) {
	conn, err := connect(ctx, databaseURL)
	if err != nil {
		return nil, err
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var member bool
	err = conn.QueryRow(ctx, `SELECT pg_has_role(current_user, $1, 'MEMBER')`, role).Scan(&member)
	if err != nil || member {
		return func(context.Context) error { return nil }, err
	}
	quoted := pgx.Identifier{role}.Sanitize()
	if _, err := conn.Exec(ctx, `GRANT `+quoted+` TO CURRENT_USER`); err != nil {
		return nil, fmt.Errorf("act as %s for a while: %w", role, err)
	}
	return func(ctx context.Context) error {
		conn, err := connect(ctx, databaseURL)
		if err != nil {
			return err
		}
		defer conn.Close(context.WithoutCancel(ctx))
		_, err = conn.Exec(ctx, `REVOKE `+quoted+` FROM CURRENT_USER`)
		return err
	}, nil
}

// together runs statements in one transaction.
func together(ctx context.Context, conn *pgx.Conn, statements []string) error {
	return pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error {
		for _, statement := range statements {
			if _, err := tx.Exec(ctx, statement); err != nil {
				return err
			}
		}
		return nil
	})
}

// create makes the database that an address names. drop removes it again.
func create(ctx context.Context, databaseURL string) (drop func(context.Context) error, err error) {
	config, err := pgx.ParseConfig(databaseURL)
	if err != nil {
		return nil, errBadURL
	}
	name := config.Database
	if name == "" {
		return nil, errors.New("the address names no database to make")
	}
	return createOn(ctx, within(databaseURL, "postgres"), name)
}

// createOn makes a database on the server that an address reaches.
func createOn(ctx context.Context, serverURL, name string) (drop func(context.Context) error, err error) {
	on := func(ctx context.Context, statement string) error {
		conn, err := connect(ctx, serverURL)
		if err != nil {
			return err
		}
		defer conn.Close(context.WithoutCancel(ctx))
		_, err = conn.Exec(ctx, statement)
		return err
	}
	quoted := pgx.Identifier{name}.Sanitize()
	if err := on(ctx, `CREATE DATABASE `+quoted+` TEMPLATE template0 ENCODING 'UTF8'`); err != nil {
		return nil, fmt.Errorf("make the database %s: %w", name, err)
	}
	return func(ctx context.Context) error {
		if err := on(ctx, `DROP DATABASE IF EXISTS `+quoted+` WITH (FORCE)`); err != nil {
			return fmt.Errorf("drop the database %s, which holds what was restored so far: %w", name, err)
		}
		return nil
	}, nil
}
