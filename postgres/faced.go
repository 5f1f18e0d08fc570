package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// faced reads what a goalie faced over a span: the shots with their games and counted readings, and the stints.
func (s *Stores) faced(ctx context.Context, t *tx, goalie domain.ID, span domain.Span) (domain.FacedRecords, error) {
	out := domain.FacedRecords{From: span.From, To: span.To, Shots: []*domain.CountedShot{}, Stints: []domain.CountedStint{}}
	games, err := s.gamesOf(ctx, t, goalie, span)
	if err != nil {
		return out, err
	}
	ids := make([]domain.ID, 0, len(games))
	for id := range games {
		ids = append(ids, id)
	}
	shots, err := s.facedShots(ctx, t, goalie, ids)
	if err != nil {
		return out, err
	}
	readings, err := s.countedReadings(ctx, t, shots)
	if err != nil {
		return out, err
	}
	for _, shot := range shots {
		g := games[shot.Fields.GameID]
		out.Shots = append(out.Shots, &domain.CountedShot{
			Shot: shot, Game: g.game, Competition: g.competition, Reading: readings[shot.ID],
		})
	}
	stints, err := s.Stints.where(ctx, t, "goalie_id = $2 AND game_id = ANY($3) ORDER BY game_id, start_elapsed_s, id",
		goalie, ids)
	for _, stint := range stints {
		g := games[stint.Fields.GameID]
		out.Stints = append(out.Stints, domain.CountedStint{Stint: stint, Game: g.game, Competition: g.competition})
	}
	return out, err
}

type gameWithCompetition struct {
	game        domain.Game
	competition domain.CompetitionFields
}

// gamesOf gives the games of a span in which the goalie faced a shot or had a stint.
func (s *Stores) gamesOf(ctx context.Context, t *tx, goalie domain.ID, span domain.Span) (map[domain.ID]gameWithCompetition, error) {
	comp := columnsOf[domain.CompetitionFields]()
	rows, err := t.Query(ctx, `SELECT `+s.Games.selectList()+", "+comp.qualified("competitions")+` FROM games
		JOIN competitions ON competitions.program_id = games.program_id AND competitions.id = games.competition_id
		WHERE games.program_id = $1
		AND ($3::date IS NULL OR games.played_on >= $3) AND ($4::date IS NULL OR games.played_on <= $4)
		AND (EXISTS (SELECT 1 FROM shots f WHERE f.program_id = games.program_id AND f.game_id = games.id
				AND f.faced_goalie_id = $2)
			OR EXISTS (SELECT 1 FROM stints f WHERE f.program_id = games.program_id AND f.game_id = games.id
				AND f.goalie_id = $2))`,
		t.program, goalie, dateOrNull(span.From), dateOrNull(span.To))
	if err != nil {
		return nil, err
	}
	found, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (gameWithCompetition, error) {
		var g gameWithCompetition
		return g, row.Scan(append(s.Games.scanInto(&g.game), comp.pointers(&g.competition)...)...)
	})
	games := make(map[domain.ID]gameWithCompetition, len(found))
	for _, g := range found {
		games[g.game.ID] = g
	}
	return games, err
}

func dateOrNull(d domain.Date) *domain.Date {
	if d.IsZero() {
		return nil
	}
	return &d
}

// facedShots gives the goalie's shots of the games, by day, game and time: clock first, then film.
func (s *Stores) facedShots(ctx context.Context, t *tx, goalie domain.ID, games []domain.ID) ([]domain.Shot, error) {
	rows, err := t.Query(ctx, `SELECT `+s.Shots.selectList()+` FROM shots
		JOIN games ON games.program_id = shots.program_id AND games.id = shots.game_id
		WHERE shots.program_id = $1 AND shots.faced_goalie_id = $2 AND shots.game_id = ANY($3)
		ORDER BY games.played_on, games.id, shots.elapsed_s, shots.film_ms, shots.id`, t.program, goalie, games)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, s.Shots.scan)
}

// countedReadings gives for each shot the reading that counts.
func (s *Stores) countedReadings(ctx context.Context, t *tx, shots []domain.Shot) (map[domain.ID]*domain.Reading, error) {
	ids := make([]domain.ID, len(shots))
	for i := range shots {
		ids[i] = shots[i].ID
	}
	readings, err := s.Readings.where(ctx, t, "shot_id = ANY($2)", ids)
	if err != nil {
		return nil, err
	}
	byShot := map[domain.ID][]domain.Reading{}
	for _, r := range readings {
		byShot[r.Fields.ShotID] = append(byShot[r.Fields.ShotID], r)
	}
	counted := make(map[domain.ID]*domain.Reading, len(byShot))
	for shot, all := range byShot {
		counted[shot] = domain.CountedReading(all)
	}
	return counted, nil
}
