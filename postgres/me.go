package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

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

// See gives whom the caller has to do with.
func (m *me) See(ctx context.Context, a domain.Actor, on domain.Date) (domain.Sight, error) {
	var sight domain.Sight
	err := m.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Read, domain.NounMe); err != nil {
			return err
		}
		everywhere, viewer := a.Role == domain.Director, a.Role == domain.Viewer
		var err error
		sight.Teams, err = named(ctx, t, `SELECT id, name FROM teams
			WHERE program_id = $1 AND ($2 OR id = ANY($3)) AND NOT $4 ORDER BY name, id`, everywhere, a.TeamIDs, viewer)
		if err != nil {
			return err
		}
		sight.Goalies, err = named(ctx, t, `SELECT id, name FROM goalies g WHERE program_id = $1 AND CASE WHEN $4 THEN id = ANY($5)
			ELSE EXISTS (SELECT FROM roster_spells s WHERE s.program_id = $1 AND s.goalie_id = g.id AND ($2 OR s.team_id = ANY($3))
				AND s.from_on <= $6 AND (s.to_on IS NULL OR s.to_on >= $6)) END ORDER BY name, id`,
			everywhere, a.TeamIDs, viewer, a.GoalieIDs, on)
		return err
	})
	return sight, err
}

// named asks for ids and names in the program.
func named(ctx context.Context, t *tx, query string, args ...any) ([]domain.Named, error) {
	rows, err := t.Query(ctx, query, append([]any{t.program}, args...)...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByPos[domain.Named])
}
