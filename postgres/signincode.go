package postgres

import (
	"context"

	"cagework/domain"
)

// mostCodes is how many sign-in codes wait for a member at most: the oldest goes for a new one.
const mostCodes = 8

// signInCodes is the store of sign-in codes. A code that a person can type has no room for the program, and row security
// shows no row before the program is named: so beside the code, which lies in its program like anything else, one table
// across programs says which program a code's hash is of.
type signInCodes struct{ db *DB }

func unknownCode() error {
	return domain.Errorf(domain.Unauthenticated, "The code is unknown, used or expired; ask for a new one.")
}

// Make makes a code.
func (s *signInCodes) Make(ctx context.Context, a domain.Actor, fields domain.SignInCodeFields) (domain.SignInCode, error) {
	code := domain.NewCode()
	made := domain.SignInCode{Code: domain.ShownCode(code), MemberID: a.MemberID}
	if fields.MemberID != nil {
		made.MemberID = *fields.MemberID
	}
	err := s.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayMakeCode(a, made.MemberID); err != nil {
			return err
		}
		var who holder
		err := noneIs(domain.InvalidField("/member_id", "there is no such member"), who.one(t.program, t.QueryRow(ctx,
			`SELECT `+holderColumns+` FROM members m LEFT JOIN tokens t ON t.program_id = m.program_id AND t.id = $3
			WHERE m.program_id = $1 AND m.id = $2`, t.program, made.MemberID, behind(a))))
		if err != nil {
			return err
		}
		made.ExpiresAt = who.until(t.now, domain.SignInCodeLife)
		if err := sweepCodes(ctx, t, made.MemberID); err != nil {
			return err
		}
		hash := domain.HashSecret(code)
		_, err = t.Exec(ctx, `INSERT INTO sign_in_codes (program_id, code_sha256, member_id, token_id, expires_at)
			VALUES ($1, $2, $3, $4, $5)`, t.program, hash, made.MemberID, behind(a), made.ExpiresAt)
		if err != nil {
			return err
		}
		_, err = t.Exec(ctx, `INSERT INTO sign_in_code_programs (code_sha256, program_id, expires_at) VALUES ($1, $2, $3)`,
			hash, t.program, made.ExpiresAt)
		return err
	})
	return made, err
}

// sweepCodes takes away what has expired and what is too much for a member.
func sweepCodes(ctx context.Context, t *tx, member domain.ID) error {
	_, err := t.Exec(ctx, `DELETE FROM sign_in_codes WHERE program_id = $1 AND (expires_at <= $2 OR code_sha256 IN (
		SELECT code_sha256 FROM sign_in_codes WHERE program_id = $1 AND member_id = $3
		ORDER BY expires_at DESC, code_sha256 OFFSET $4))`, t.program, t.now, member, mostCodes-1)
	if err != nil {
		return err
	}
	_, err = t.Exec(ctx, `DELETE FROM sign_in_code_programs WHERE expires_at <= $1`, t.now)
	return err
}

// programOfCode finds the program of a code. Its transaction names no program, so that it sees no program's rows.
func programOfCode(ctx context.Context, db *DB, hash []byte) (domain.ID, error) {
	var program domain.ID
	err := db.inProgram(ctx, domain.ID{}, func(ctx context.Context, t *tx) error {
		return noneIs(unknownCode(), t.QueryRow(ctx,
			`SELECT program_id FROM sign_in_code_programs WHERE code_sha256 = $1 AND expires_at > $2`, hash, t.now).Scan(&program))
	})
	return program, err
}
