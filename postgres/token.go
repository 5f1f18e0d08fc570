package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// tokens is a store of records whose secret is made here and given once.
type tokens struct {
	*records[domain.TokenFields, domain.TokenFound]
}

func newTokens(db *DB) *tokens {
	r := newRecords[domain.TokenFields, domain.TokenFound](db, domain.NounToken, "tokens")
	r.filters = map[string]string{"member": "tokens.member_id = @member"}
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

// Authenticate gives the member behind a secret.
func (s *tokens) Authenticate(ctx context.Context, secret string) (domain.Actor, error) {
	program, ok := domain.ProgramOfSecret(secret)
	if !ok {
		return domain.Actor{}, unknownToken()
	}
	a := domain.Actor{ProgramID: program}
	err := s.db.inProgram(ctx, program, func(ctx context.Context, t *tx) error {
		row := t.QueryRow(ctx, `SELECT m.id, m.role, m.team_ids, m.goalie_ids
			FROM tokens t JOIN members m ON m.program_id = t.program_id AND m.id = t.member_id
			WHERE t.program_id = $1 AND t.secret_sha256 = $2 AND t.expires_at > $3`,
			program, domain.HashSecret(secret), t.now)
		return row.Scan(&a.MemberID, &a.Role, &a.TeamIDs, &a.GoalieIDs)
	})
	if domain.CodeOf(err) == domain.NotFound {
		return domain.Actor{}, unknownToken()
	}
	return a, err
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
