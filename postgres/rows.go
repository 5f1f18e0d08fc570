package postgres

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// The SQL of records: each write is one statement that takes the program's next number, writes the change and
// writes the row. The number is taken by an update of the program's row, which stays locked until the commit; so
// numbers follow commit order and have no gaps.

const nextRev = `WITH n AS (UPDATE programs SET last_rev = last_rev + 1 WHERE id = $1 RETURNING last_rev AS rev), `

func (r *records[F, K]) selectList() string {
	list := r.table + ".id, " + r.table + ".rev, " + r.fields.qualified(r.table)
	if len(r.found.names) > 0 {
		list += ", " + r.found.qualified(r.table)
	}
	return list
}

func (r *records[F, K]) scanInto(rec *domain.Record[F, K]) []any {
	into := append([]any{&rec.ID, &rec.Rev}, r.fields.pointers(&rec.Fields)...)
	return append(into, r.found.pointers(&rec.Found)...)
}

func (r *records[F, K]) scan(row pgx.CollectableRow) (domain.Record[F, K], error) {
	var rec domain.Record[F, K]
	err := row.Scan(r.scanInto(&rec)...)
	return rec, err
}

// load gives one record, nil when the program has none of that id. lock is "" or a locking clause.
func (r *records[F, K]) load(ctx context.Context, t *tx, id domain.ID, lock string) (*domain.Record[F, K], error) {
	recs, err := r.where(ctx, t, "id = $2 "+lock, id)
	if err != nil || len(recs) == 0 {
		return nil, err
	}
	return &recs[0], nil
}

// where gives the records under a condition on columns; $1 is the program, args start at $2.
func (r *records[F, K]) where(ctx context.Context, t *tx, condition string, args ...any) ([]domain.Record[F, K], error) {
	sql := "SELECT " + r.selectList() + " FROM " + r.table + " WHERE program_id = $1 AND " + condition
	rows, err := t.Query(ctx, sql, append([]any{t.program}, args...)...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, r.scan)
}

// insert writes the row, takes its id for the noun, and writes the change. An id that another noun holds is refused by the
// key of record_ids; that comes last, so that whoever lost a race to make the same record is told so by the record's own key.
func (r *records[F, K]) insert(ctx context.Context, t *tx, by *domain.ID, rec *domain.Record[F, K]) error {
	names := append([]string{"program_id", "id", "rev"}, slices.Concat(r.fields.names, r.found.names)...)
	args := arguments{t.program, rec.ID, t.now, by, r.noun}
	values := []string{"$1", "$2", "(SELECT rev FROM n)"}
	for _, v := range slices.Concat(r.fields.values(rec.Fields), r.found.values(rec.Found)) {
		values = append(values, args.add(v))
	}
	teams, member := r.homeOf(*rec).sql(&args)
	if r.madeBy {
		names, values, member = append(names, "made_by"), append(values, madeBy), madeBy
	}
	sql := nextRev + `r AS (INSERT INTO ` + r.table + " (" + strings.Join(names, ", ") + ") VALUES (" + strings.Join(values, ", ") +
		`) RETURNING id, rev), ` + takeID + `, c AS (INSERT INTO changes
			(program_id, rev, at, member_id, noun, record_id, op, of_team_ids, of_member_id)
			SELECT $1, rev, $3, $4, $5, id, 'create', ` + teams + ", " + member + " FROM r) SELECT rev FROM r"
	return t.QueryRow(ctx, sql, args...).Scan(&rec.Rev)
}

// takeID takes the ids of the new rows r for the noun $5; one that is brought back has its own already.
const takeID = `k AS (INSERT INTO record_ids (program_id, id, noun) SELECT $1, id, $5 FROM r
	WHERE NOT EXISTS (SELECT 1 FROM record_ids k WHERE k.program_id = $1 AND k.id = r.id AND k.noun = $5))`

// arguments are those of a statement that is put together.
type arguments []any

// add appends an argument and gives its place.
func (a *arguments) add(v any) string {
	*a = append(*a, v)
	return fmt.Sprintf("$%d", len(*a))
}

// insertMany writes new records of games and their changes in three statements, whatever their number. The rows travel as
// JSON and are taken apart by the table's own row type.
func (r *records[F, K]) insertMany(ctx context.Context, t *tx, by *domain.ID, recs []*domain.Record[F, K]) error {
	if len(recs) == 0 {
		return nil
	}
	var last int64
	err := t.QueryRow(ctx, `UPDATE programs SET last_rev = last_rev + $2 WHERE id = $1 RETURNING last_rev`,
		t.program, len(recs)).Scan(&last)
	if err != nil {
		return err
	}
	names := slices.Concat(r.fields.names, r.found.names)
	rows, ids, games := make([]map[string]any, len(recs)), make([]domain.ID, len(recs)), make([]*domain.ID, len(recs))
	for i, rec := range recs {
		ids[i], games[i] = rec.ID, r.homeOf(*rec).game
		rec.Rev = last - int64(len(recs)-1-i)
		row := map[string]any{"program_id": t.program, "id": rec.ID, "rev": rec.Rev}
		for k, v := range slices.Concat(r.fields.values(rec.Fields), r.found.values(rec.Found)) {
			row[names[k]] = v
		}
		rows[i] = row
	}
	text, err := json.Marshal(rows)
	if err != nil {
		return err
	}
	columns := strings.Join(append([]string{"program_id", "id", "rev"}, names...), ", ")
	_, err = t.Exec(ctx, "INSERT INTO "+r.table+" ("+columns+") SELECT "+columns+
		" FROM jsonb_populate_recordset(NULL::"+r.table+", $1)", json.RawMessage(text))
	if err != nil {
		return err
	}
	_, err = t.Exec(ctx, `WITH r AS (SELECT * FROM unnest($6::uuid[], $7::uuid[]) WITH ORDINALITY AS made (id, game, number)), `+takeID+`
		INSERT INTO changes (program_id, rev, at, member_id, noun, record_id, op, of_team_ids)
		SELECT $1, $2 + number, $3, $4, $5, id, 'create', `+teamOfGame("r.game")+` FROM r`,
		t.program, last-int64(len(recs)), t.now, by, r.noun, ids, games)
	return err
}

func (r *records[F, K]) update(ctx context.Context, t *tx, by *domain.ID, before, rec *domain.Record[F, K]) error {
	change, args, err := r.changeOf(t, "change", by, *before)
	if err != nil {
		return err
	}
	sets := []string{"rev = (SELECT rev FROM n)"}
	values := slices.Concat(r.fields.values(rec.Fields), r.found.values(rec.Found))
	for i, name := range slices.Concat(r.fields.names, r.found.names) {
		sets = append(sets, name+" = "+args.add(values[i]))
	}
	sql := nextRev + "c AS (" + change + ") UPDATE " + r.table + " SET " + strings.Join(sets, ", ") +
		" WHERE program_id = $1 AND id = $2 RETURNING rev"
	return t.QueryRow(ctx, sql, args...).Scan(&rec.Rev)
}

func (r *records[F, K]) delete(ctx context.Context, t *tx, by *domain.ID, before domain.Record[F, K]) error {
	change, args, err := r.changeOf(t, "remove", by, before)
	if err != nil {
		return err
	}
	sql := nextRev + "c AS (" + change + ") DELETE FROM " + r.table + " WHERE program_id = $1 AND id = $2"
	_, err = t.Exec(ctx, sql, args...)
	return inUse(err)
}

// changeOf gives the statement that writes the change of an existing record, and its arguments. The change belongs to whom
// the record belonged to before it: that is what it shows.
func (r *records[F, K]) changeOf(t *tx, op string, by *domain.ID, before domain.Record[F, K]) (string, arguments, error) {
	fields, err := json.Marshal(before.Fields)
	if err != nil {
		return "", nil, err
	}
	found, err := json.Marshal(before.Found)
	if err != nil {
		return "", nil, err
	}
	args := arguments{t.program, before.ID, t.now, by, r.noun, json.RawMessage(fields), json.RawMessage(found)}
	teams, member := r.homeOf(before).sql(&args)
	return `INSERT INTO changes
		(program_id, rev, at, member_id, noun, record_id, op, before, before_found, of_team_ids, of_member_id)
		VALUES ($1, (SELECT rev FROM n), $3, $4, $5, $2, '` + op + `', $6, $7, ` + teams + ", " + member + ")", args, nil
}
