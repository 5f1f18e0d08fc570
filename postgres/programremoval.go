package postgres

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"cagework/domain"
)

// TableCount is how many rows of a table belong to a program.
type TableCount struct {
	Table string
	Rows  int64
}

// Remove takes a whole program away, its history and receipts too, or only counts what there is when dry. The service's role
// may not do it: the database's login must own the schema. name must be the program's, so that nobody removes the wrong one;
// it is not asked for when it is empty, as when a list is replayed. The list that is kept apart is told as for a person.
func (p *programs) Remove(ctx context.Context, id domain.ID, name string, dry bool) ([]TableCount, error) {
	e := p.stores.Erasures
	line := domain.ErasureEntry{ProgramID: id, ID: id, Noun: domain.NounProgram, Attempt: domain.NewID(p.db.now()), Step: domain.ErasureBegun}
	var counts []TableCount
	err := p.db.inTx(ctx, writing, asLogin(id), id, func(ctx context.Context, t *tx) error {
		program, err := p.present(ctx, t, "")
		if err != nil {
			return err
		}
		if name != "" && name != program.Fields.Name {
			return domain.Errorf(domain.Conflict, "The program of this id has another name, so nothing was removed.")
		}
		tables, err := tablesOfPrograms(ctx, t)
		if err != nil {
			return err
		}
		if counts, err = removeRows(ctx, t, tables, dry); err != nil || dry || e.list == nil {
			return err
		}
		line.At = t.now
		return e.told(line)
	})
	err = e.conclude(line, err)
	if pg, ok := errors.AsType[*pgconn.PgError](err); ok && pg.Code == "42501" {
		err = domain.Errorf(domain.Forbidden, "This login may not remove a program: give the one that owns the schema.")
	}
	return counts, err
}

// asLogin begins a transaction that keeps the login's own rights; row security confines it to the program all the same.
func asLogin(program domain.ID) pgx.TxOptions {
	return pgx.TxOptions{BeginQuery: "BEGIN; SET LOCAL app.program_id = '" + program.String() + "'; SET LOCAL lock_timeout = '10s'"}
}

// removeRows deletes a program's rows in an order that no foreign key minds.
func removeRows(ctx context.Context, t *tx, tables []string, dry bool) ([]TableCount, error) {
	if !dry {
		if _, err := t.Exec(ctx, `SELECT 1 FROM programs WHERE id = $1 FOR UPDATE`, t.program); err != nil { // no more writers
			return nil, err
		}
		if _, err := t.Exec(ctx, `UPDATE shots SET counted_reading_id = NULL WHERE program_id = $1`, t.program); err != nil {
			return nil, err
		}
	}
	var counts []TableCount
	for _, table := range tables {
		where := " FROM " + pgx.Identifier{table}.Sanitize() + " WHERE program_id = $1"
		if table == "programs" {
			where = " FROM programs WHERE id = $1"
		}
		count := TableCount{Table: table}
		if dry {
			if err := t.QueryRow(ctx, "SELECT count(*)"+where, t.program).Scan(&count.Rows); err != nil {
				return nil, err
			}
		} else {
			done, err := t.Exec(ctx, "DELETE"+where, t.program)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", table, err)
			}
			count.Rows = done.RowsAffected()
		}
		counts = append(counts, count)
	}
	return counts, nil
}

// tablesOfPrograms reads from the catalog which tables hold rows of a program, those first on which no other stands. A table
// that is added later is so among them. A shot's counted reading points back to what stands on the shot; it is cleared first.
func tablesOfPrograms(ctx context.Context, t *tx) ([]string, error) {
	rows, err := t.Query(ctx, `SELECT r.relname::text, ARRAY(SELECT f.relname::text FROM pg_constraint c JOIN pg_class f ON f.oid = c.conrelid
			WHERE c.confrelid = r.oid AND c.contype = 'f' AND c.conrelid <> r.oid AND c.conname <> 'shots_counted_reading_fk')
		FROM pg_class r WHERE r.relnamespace = 'public'::regnamespace AND r.relkind IN ('r', 'p') AND (r.relname = 'programs' OR EXISTS (
			SELECT FROM pg_attribute a WHERE a.attrelid = r.oid AND a.attname = 'program_id' AND NOT a.attisdropped))
		ORDER BY r.relname`)
	if err != nil {
		return nil, err
	}
	standing := map[string][]string{} // by table, what stands on it
	var table string
	var on []string
	var left []string
	if _, err := pgx.ForEachRow(rows, []any{&table, &on}, func() error {
		standing[table], left = on, append(left, table)
		return nil
	}); err != nil {
		return nil, err
	}
	var order []string
	for len(left) > 0 {
		free := slices.IndexFunc(left, func(table string) bool {
			return !slices.ContainsFunc(standing[table], func(other string) bool { return slices.Contains(left, other) })
		})
		if free < 0 {
			return nil, fmt.Errorf("these tables stand on each other: %v", left)
		}
		order, left = append(order, left[free]), slices.Delete(left, free, free+1)
	}
	return order, nil
}
