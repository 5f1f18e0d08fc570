package postgres

import (
	"context"

	"cagework/domain"
)

type me struct {
	db     *DB
	stores *Stores
}

// Get gives the caller and their program.
func (m *me) Get(ctx context.Context, a domain.Actor) (domain.Member, domain.Program, error) {
	var member domain.Member
	var program domain.Program
	err := m.db.inReading(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Read, domain.NounMe); err != nil {
			return err
		}
		found, err := m.stores.Members.load(ctx, t, a.MemberID, "")
		if err != nil {
			return err
		}
		if found == nil {
			return notFound(domain.NounMember)
		}
		member = *found
		program, err = m.stores.Programs.present(ctx, t, "")
		return err
	})
	return member, program, err
}
