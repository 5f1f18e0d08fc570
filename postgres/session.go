package postgres

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// mostSessions is how many sessions a member has at most: the longest open ends for a new one, so that nobody fills the table.
const mostSessions = 100

// sessions is the store of browsers that signed in.
type sessions struct{ db *DB }

// Authenticate gives the member behind a session's secret, in one round trip as for a token's.
func (s *sessions) Authenticate(ctx context.Context, secret string) (domain.Actor, error) {
	program, ok := domain.ProgramOfSession(secret)
	if !ok {
		return domain.Actor{}, unknownSession()
	}
	a, err := s.db.who(ctx, program, "s.token_id, s.id", fmt.Sprintf(
		`sessions s JOIN members m ON m.program_id = s.program_id AND m.id = s.member_id
		WHERE s.program_id = '%s' AND s.secret_sha256 = '\x%x' AND s.expires_at > '%s'`,
		program, domain.HashSecret(secret), s.db.now().UTC().Format(time.RFC3339Nano)))
	if domain.CodeOf(err) == domain.Unauthenticated {
		return a, unknownSession()
	}
	return a, err
}

func unknownSession() error {
	return domain.Errorf(domain.Unauthenticated, "You are not signed in any more; sign in again.")
}

// holder is who gets a session: a member, behind a token that may be none.
type holder struct {
	actor   domain.Actor
	expires *time.Time // when the token expires
}

// holderColumns are read by one into a holder.
const holderColumns = `m.id, m.role, m.team_ids, m.goalie_ids, t.id, t.expires_at`

func (h *holder) one(program domain.ID, row pgx.Row) error {
	h.actor.ProgramID = program
	var token *domain.ID
	err := row.Scan(&h.actor.MemberID, &h.actor.Role, &h.actor.TeamIDs, &h.actor.GoalieIDs, &token, &h.expires)
	if token != nil {
		h.actor.TokenID = *token
	}
	return err
}

// until gives the end of what is made now for so long: the token's end when that comes sooner.
func (h *holder) until(now time.Time, life time.Duration) time.Time {
	end := now.Add(life)
	if h.expires != nil && h.expires.Before(end) {
		return *h.expires
	}
	return end
}

// Open opens a session with a token.
func (s *sessions) Open(ctx context.Context, token string) (domain.Session, error) {
	program, ok := domain.ProgramOfSecret(token)
	if !ok {
		return domain.Session{}, unknownToken()
	}
	var made domain.Session
	err := s.db.inProgram(ctx, program, func(ctx context.Context, t *tx) error {
		var who holder
		err := noneIs(unknownToken(), who.one(program, t.QueryRow(ctx, `SELECT `+holderColumns+`
			FROM tokens t JOIN members m ON m.program_id = t.program_id AND m.id = t.member_id
			WHERE t.program_id = $1 AND t.secret_sha256 = $2 AND t.expires_at > $3`,
			program, domain.HashSecret(token), t.now)))
		if err != nil {
			return err
		}
		made, err = open(ctx, t, who)
		return err
	})
	return made, err
}

// noneIs says what it means that there is no row.
func noneIs(refusal, err error) error {
	if err == pgx.ErrNoRows { //nolint:errorlint // as Scan gives it
		return refusal
	}
	return err
}

// OpenByCode opens a session with a sign-in code. The code's row is taken away by the statement that reads it, so of two at
// once the second finds none.
func (s *sessions) OpenByCode(ctx context.Context, typed string) (domain.Session, error) {
	code, ok := domain.ReadCode(typed)
	if !ok {
		return domain.Session{}, unknownCode()
	}
	hash := domain.HashSecret(code)
	program, err := programOfCode(ctx, s.db, hash)
	if err != nil {
		return domain.Session{}, err
	}
	var made domain.Session
	err = s.db.inProgram(ctx, program, func(ctx context.Context, t *tx) error {
		var who holder
		err := noneIs(unknownCode(), who.one(program, t.QueryRow(ctx, `WITH used AS (DELETE FROM sign_in_codes
			WHERE program_id = $1 AND code_sha256 = $2 AND expires_at > $3 RETURNING member_id, token_id)
			SELECT `+holderColumns+` FROM used u JOIN members m ON m.program_id = $1 AND m.id = u.member_id
			LEFT JOIN tokens t ON t.program_id = $1 AND t.id = u.token_id`, program, hash, t.now)))
		if err != nil {
			return err
		}
		made, err = open(ctx, t, who)
		return err
	})
	return made, err
}

// open makes the session, and sweeps out what has expired and what is too much.
func open(ctx context.Context, t *tx, who holder) (domain.Session, error) {
	_, err := t.Exec(ctx, `DELETE FROM sessions WHERE program_id = $1 AND (expires_at <= $2 OR id IN (
		SELECT id FROM sessions WHERE program_id = $1 AND member_id = $3 ORDER BY made_at DESC, id DESC OFFSET $4))`,
		t.program, t.now, who.actor.MemberID, mostSessions-1)
	if err != nil {
		return domain.Session{}, err
	}
	made := domain.Session{
		Secret: domain.NewSessionSecret(t.program), Actor: who.actor, ExpiresAt: who.until(t.now, domain.SessionLife),
	}
	made.Actor.SessionID = domain.NewID(t.now)
	_, err = t.Exec(ctx, `INSERT INTO sessions (program_id, id, member_id, token_id, secret_sha256, made_at, expires_at)
		VALUES ($1, $2, $3, $4, $5, $6, $7)`,
		t.program, made.Actor.SessionID, made.Actor.MemberID, behind(made.Actor), domain.HashSecret(made.Secret), t.now, made.ExpiresAt)
	return made, err
}

// behind gives the token behind an actor, nil for none.
func behind(a domain.Actor) *domain.ID {
	if a.TokenID.IsZero() {
		return nil
	}
	return &a.TokenID
}

// End ends a session for good.
func (s *sessions) End(ctx context.Context, secret string) (domain.Actor, error) {
	a := domain.Actor{}
	program, ok := domain.ProgramOfSession(secret)
	if !ok {
		return a, unknownSession()
	}
	err := s.db.inProgram(ctx, program, func(ctx context.Context, t *tx) error {
		a.ProgramID = program
		return noneIs(unknownSession(), t.QueryRow(ctx, `WITH ended AS (DELETE FROM sessions
			WHERE program_id = $1 AND secret_sha256 = $2 RETURNING id, member_id)
			SELECT e.id, m.id, m.role FROM ended e JOIN members m ON m.program_id = $1 AND m.id = e.member_id`,
			program, domain.HashSecret(secret)).Scan(&a.SessionID, &a.MemberID, &a.Role))
	})
	return a, err
}

// signOutEverywhere ends all sessions of a member and takes away the codes that wait for them. Of an id that is no member's
// there are none.
func signOutEverywhere(ctx context.Context, t *tx, member domain.ID) error {
	_, err := t.Exec(ctx, `DELETE FROM sessions WHERE program_id = $1 AND member_id = $2`, t.program, member)
	if err == nil {
		_, err = t.Exec(ctx, `DELETE FROM sign_in_codes WHERE program_id = $1 AND member_id = $2`, t.program, member)
	}
	return err
}
