package postgres

import (
	"context"
	"encoding/json"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// accesses is the store of who looked at what. It takes no change number and writes no history.
type accesses struct{ db *DB }

const accessColumns = `id, at, member_id, token_id, session_id, action, noun, record_noun, record_id, lost_count, lost_from, lost_to`

// List gives a page, newest first. Ids begin with their instant, so that every order here is that of an index.
func (s *accesses) List(ctx context.Context, a domain.Actor, q domain.Query) (domain.Page[domain.Access], error) {
	var page domain.Page[domain.Access]
	limit := q.Limit
	if limit == 0 {
		limit = domain.DefaultLimit
	}
	limit = min(limit, domain.MaxLimit)
	err := s.db.inList(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Read, domain.NounAccess); err != nil {
			return err
		}
		where, args := accessConditions(q)
		args["program"], args["limit"] = t.program, limit+1
		rows, err := t.Query(ctx, `SELECT `+accessColumns+` FROM accesses WHERE `+where+` ORDER BY id DESC LIMIT @limit`, args)
		if err != nil {
			return err
		}
		items, err := pgx.CollectRows(rows, scanAccess)
		page = domain.Page[domain.Access]{Items: items}
		if len(items) > limit {
			page.Items, page.Next = items[:limit], &items[limit-1].ID
		}
		return err
	})
	return page, err
}

// accessConditions gives what a list asks for. What is asked of the instant is asked of the id too, so that the index is
// entered near it: an id is at most an hour older than its entry.
func accessConditions(q domain.Query) (string, pgx.StrictNamedArgs) {
	where, args := []string{"program_id = @program"}, pgx.StrictNamedArgs{}
	and := func(condition, name string, value any) {
		where, args[name] = append(where, condition), value
	}
	if q.After != nil {
		and("id < @after", "after", *q.After)
	}
	if q.Filter.MemberID != nil {
		and("member_id = @member", "member", *q.Filter.MemberID)
	}
	if q.Filter.RecordID != nil {
		and("record_id = @record", "record", *q.Filter.RecordID)
	}
	if since := q.Filter.Since; since != nil {
		and("at >= @since", "since", *since)
		and("id >= @first", "first", domain.FirstID(since.Truncate(time.Hour)))
	}
	if until := q.Filter.Until; until != nil {
		and("at < @until", "until", *until)
		and("id < @last", "last", domain.FirstID(until.Add(time.Millisecond)))
	}
	return strings.Join(where, " AND "), args
}

func scanAccess(row pgx.CollectableRow) (domain.Access, error) {
	var a domain.Access
	var lost *int64
	var from, to *time.Time
	err := row.Scan(&a.ID, &a.At, &a.MemberID, &a.TokenID, &a.SessionID, &a.Action, &a.Noun, &a.RecordNoun, &a.RecordID, &lost, &from, &to)
	a.At = a.At.UTC()
	if lost != nil && from != nil && to != nil {
		a.Lost = &domain.LostAccesses{Count: *lost, From: from.UTC(), To: to.UTC()}
	}
	return a, err
}

// accessRow is an entry in the columns of its table.
type accessRow struct {
	ProgramID domain.ID `json:"program_id"`
	domain.Access
	LostCount *int64     `json:"lost_count"`
	LostFrom  *time.Time `json:"lost_from"`
	LostTo    *time.Time `json:"lost_to"`
}

// Write adds entries in one statement. They travel as JSON and are taken apart by the table's own row type.
func (s *accesses) Write(ctx context.Context, program domain.ID, entries []domain.Access) error {
	rows := make([]accessRow, len(entries))
	for i, e := range entries {
		rows[i] = accessRow{ProgramID: program, Access: e}
		if e.Lost != nil {
			rows[i].LostCount, rows[i].LostFrom, rows[i].LostTo = &e.Lost.Count, &e.Lost.From, &e.Lost.To
		}
	}
	text, err := json.Marshal(rows)
	if err != nil {
		return &domain.Error{Code: domain.Internal, Message: "The entries cannot be written.", Cause: err}
	}
	const columns = "program_id, " + accessColumns
	return s.db.inProgram(ctx, program, func(ctx context.Context, t *tx) error {
		_, err := t.Exec(ctx, `INSERT INTO accesses (`+columns+`) SELECT `+columns+
			` FROM jsonb_populate_recordset(NULL::accesses, $1) ON CONFLICT (program_id, id) DO NOTHING`, json.RawMessage(text))
		return err
	})
}

// pruneAtOnce is how many entries one call of the database's function takes away at most.
const pruneAtOnce = 5000

// Prune removes old entries by the one function that may.
func (s *accesses) Prune(ctx context.Context, program domain.ID, before time.Time, dry bool) (removed int64, more bool, err error) {
	sql := `SELECT remove_old_accesses($1)`
	if dry {
		sql = `SELECT count(*) FROM accesses WHERE program_id = $2 AND at < least($1, now() - make_interval(days => $3))`
	}
	err = s.db.inProgram(ctx, program, func(ctx context.Context, t *tx) error {
		args := []any{before}
		if dry {
			args = append(args, t.program, domain.LeastAccessDays)
		}
		return t.QueryRow(ctx, sql, args...).Scan(&removed)
	})
	return removed, !dry && removed == pruneAtOnce, err
}
