package postgres

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"cagework/domain"
)

// tokens is a store of records whose secret is made here and given once.
type tokens struct {
	*records[domain.TokenFields, domain.TokenFound]
}

func newTokens(db *DB) *tokens {
	r := newRecords[domain.TokenFields, domain.TokenFound](db, domain.NounToken, "tokens")
	r.filters = map[string]string{"member": "tokens.member_id = @member"}
	r.person = func(_ domain.ID, f domain.TokenFields) (domain.Noun, domain.ID) { return domain.NounMember, f.MemberID }
	r.check = func(_ context.Context, t *tx, _ domain.Actor, _, after *domain.Token) error {
		if !after.Fields.ExpiresAt.After(t.now) {
			return domain.InvalidField("/expires_at", "must lie in the future")
		}
		secret := domain.NewSecret(t.program)
		after.Found = domain.TokenFound{Secret: &secret, Hash: domain.HashSecret(secret)}
		return nil
	}
	return &tokens{r}
}

// Authenticate gives the member behind a secret. One that has expired is found too, to tell whose it was.
func (s *tokens) Authenticate(ctx context.Context, secret string) (domain.Actor, error) {
	program, ok := domain.ProgramOfSecret(secret)
	if !ok {
		return domain.Actor{}, unknownToken()
	}
	now := s.db.now().UTC().Format(time.RFC3339Nano)
	return s.db.who(ctx, program, "t.id, NULL, t.expires_at > '"+now+"'", fmt.Sprintf(
		`tokens t JOIN members m ON m.program_id = t.program_id AND m.id = t.member_id
		WHERE t.program_id = '%s' AND t.secret_sha256 = '\x%x'`, program, domain.HashSecret(secret)))
}

// who finds the one member m of a FROM clause, with the ids of the token and the session behind, and whether they still hold. Every request asks, so the
// whole transaction travels in one round trip: as one text of several statements, which can take no arguments. What is put
// into it is a typed UUID, a hash in hexadecimal and an instant, so nothing can be injected.
func (db *DB) who(ctx context.Context, program domain.ID, behind, from string) (domain.Actor, error) {
	sql := begin(readOnly, program, "").BeginQuery + `; SELECT m.id, m.role, array_to_string(m.team_ids, ' '),
		array_to_string(m.goalie_ids, ' '), ` + behind + ` FROM ` + from + `; COMMIT`
	var results []*pgconn.Result
	err := again(ctx, func() (err error) {
		results, err = db.ask(ctx, sql)
		return err
	})
	if err != nil {
		return domain.Actor{}, err
	}
	for _, r := range results {
		if len(r.Rows) == 1 {
			a, err := actorOf(program, r.Rows[0])
			if err == nil && string(r.Rows[0][6]) != "t" {
				return domain.Actor{ProgramID: program, MemberID: a.MemberID, TokenID: a.TokenID}, unknownToken()
			}
			return a, err
		}
	}
	return domain.Actor{}, unknownToken()
}

// ask sends one text of several statements that only read, so that it may be sent again when the connection was dead. It
// takes no turn: authentication has connections of its own.
func (db *DB) ask(ctx context.Context, sql string) ([]*pgconn.Result, error) {
	conn, err := db.acquire(ctx)
	if err != nil {
		return nil, err
	}
	defer letGo(conn)
	limited, cancel := context.WithTimeout(ctx, beginLimit)
	defer cancel()
	results, err := conn.Conn().PgConn().Exec(limited, sql).ReadAll()
	if err != nil {
		return nil, db.notBegun(ctx, err)
	}
	return results, nil
}

// actorOf reads a member's row as text.
func actorOf(program domain.ID, row [][]byte) (domain.Actor, error) {
	a := domain.Actor{ProgramID: program, Role: domain.Role(row[1])}
	var errs [5]error
	a.MemberID, errs[0] = domain.ParseID(string(row[0]))
	a.TeamIDs, errs[1] = idsOf(string(row[2]))
	a.GoalieIDs, errs[2] = idsOf(string(row[3]))
	for i, id := range []*domain.ID{&a.TokenID, &a.SessionID} {
		if row[4+i] != nil { // NULL
			*id, errs[3+i] = domain.ParseID(string(row[4+i])) //nolint:gosec // errs has a place for each
		}
	}
	return a, errors.Join(errs[:]...)
}

func idsOf(text string) ([]domain.ID, error) {
	ids := []domain.ID{}
	for _, word := range strings.Fields(text) {
		id, err := domain.ParseID(word)
		if err != nil {
			return nil, err
		}
		ids = append(ids, id)
	}
	return ids, nil
}

func unknownToken() error {
	return domain.Errorf(domain.Unauthenticated, "The token is unknown, expired or revoked.")
}

func collectIDs(rows pgx.Rows) (map[domain.ID]bool, error) {
	ids, err := pgx.CollectRows(rows, pgx.RowTo[domain.ID])
	known := make(map[domain.ID]bool, len(ids))
	for _, id := range ids {
		known[id] = true
	}
	return known, err
}
