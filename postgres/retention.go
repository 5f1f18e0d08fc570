package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// Unused gives the goalies of a program, removed ones too, about whom nothing is from a day on: no time in a team, no game, no
// practice, no block, no change of their record. Who was erased is not among them.
func (e *erasures) Unused(ctx context.Context, program domain.ID, from domain.Date) ([]domain.ID, error) {
	var ids []domain.ID
	err := e.db.inProgram(ctx, program, func(ctx context.Context, t *tx) error {
		rows, err := t.Query(ctx, `SELECT c.record_id FROM changes c WHERE c.program_id = $1 AND c.noun = 'goalie'
			AND NOT EXISTS (SELECT 1 FROM erasures x WHERE x.program_id = $1 AND x.id = c.record_id)
			AND NOT EXISTS (SELECT 1 FROM roster_spells s WHERE s.program_id = $1 AND s.goalie_id = c.record_id AND (s.to_on IS NULL OR s.to_on >= $2))
			AND NOT EXISTS (SELECT 1 FROM games g WHERE g.program_id = $1 AND g.played_on >= $2 AND (
				EXISTS (SELECT 1 FROM shots f WHERE f.program_id = $1 AND f.game_id = g.id AND (f.faced_goalie_id = c.record_id OR f.goalie_id = c.record_id))
				OR EXISTS (SELECT 1 FROM stints f WHERE f.program_id = $1 AND f.game_id = g.id AND f.goalie_id = c.record_id)
				OR EXISTS (SELECT 1 FROM clears f WHERE f.program_id = $1 AND f.game_id = g.id AND (f.cage_goalie_id = c.record_id OR f.goalie_id = c.record_id))))
			AND NOT EXISTS (SELECT 1 FROM practice_logs l WHERE l.program_id = $1 AND l.goalie_id = c.record_id AND l.practised_on >= $2)
			AND NOT EXISTS (SELECT 1 FROM assignments a WHERE a.program_id = $1 AND a.goalie_id = c.record_id AND a.starts_on + 7 * a.weeks > $2)
			GROUP BY c.record_id HAVING max(c.at) < $2::date::timestamptz ORDER BY c.record_id`, t.program, from)
		if err != nil {
			return err
		}
		ids, err = pgx.CollectRows(rows, pgx.RowTo[domain.ID])
		return err
	})
	return ids, err
}
