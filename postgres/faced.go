package postgres

import (
	"cmp"
	"context"
	"maps"
	"slices"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// cage says whose records are read: what some goalies faced, or what a team's cage saw whoever stood in it.
type cage struct {
	ids                         []domain.ID
	games, shot, stint, clearBy string // conditions; $2 is the ids
}

// OFFSET 0 keeps the planner from answering the question for all games at once, with the whole table.
func ofGoalies(ids ...domain.ID) cage {
	const in = "EXISTS (SELECT 1 FROM "
	return cage{
		ids: ids,
		games: "(" + in + `shots f WHERE f.program_id = $1 AND f.game_id = games.id AND f.faced_goalie_id = ANY($2) OFFSET 0)
			OR ` + in + `stints f WHERE f.program_id = $1 AND f.game_id = games.id AND f.goalie_id = ANY($2) OFFSET 0)
			OR ` + in + `clears f WHERE f.program_id = $1 AND f.game_id = games.id AND f.cage_goalie_id = ANY($2) OFFSET 0))`,
		shot: "faced_goalie_id = ANY($2)", stint: "goalie_id = ANY($2)", clearBy: "cage_goalie_id = ANY($2)",
	}
}

func ofTeam(id domain.ID) cage {
	const any = "$2::uuid[] IS NOT NULL" // the games say it already
	return cage{ids: []domain.ID{id}, games: "games.team_id = ANY($2)", shot: any, stint: any, clearBy: any}
}

// faced reads what a cage saw over a span: the shots with their games and counted readings, in the order of day,
// game and time, the stints and the clears.
func (s *Stores) faced(ctx context.Context, t *tx, who cage, span domain.Span) (domain.FacedRecords, error) {
	out := domain.FacedRecords{From: span.From, To: span.To, Stints: []domain.CountedStint{}}
	games, ids, err := s.gamesOf(ctx, t, who, span)
	if err != nil {
		return out, err
	}
	if out.Shots, err = s.facedShots(ctx, t, who, games, ids); err != nil {
		return out, err
	}
	stints, err := s.Stints.where(ctx, t, who.stint+" AND game_id = ANY($3)", who.ids, ids)
	if err != nil {
		return out, err
	}
	for _, stint := range stints {
		g := games[stint.Fields.GameID]
		out.Stints = append(out.Stints, domain.CountedStint{Stint: stint, Game: g.game, Competition: g.competition})
	}
	out.Clears, err = s.facedClears(ctx, t, who, games, ids)
	return out, err
}

type gameWithCompetition struct {
	game        domain.Game
	competition domain.CompetitionFields
}

// gamesOf gives the games of a span in which the cage was, and their ids.
func (s *Stores) gamesOf(ctx context.Context, t *tx, who cage, span domain.Span) (map[domain.ID]gameWithCompetition, []domain.ID, error) {
	games, err := s.gamesWhere(ctx, t, `($3::date IS NULL OR games.played_on >= $3)
		AND ($4::date IS NULL OR games.played_on <= $4) AND `+who.games, who.ids, dateOrNull(span.From), dateOrNull(span.To))
	return games, slices.Collect(maps.Keys(games)), err
}

func (s *Stores) gamesByID(ctx context.Context, t *tx, ids []domain.ID) (map[domain.ID]gameWithCompetition, error) {
	return s.gamesWhere(ctx, t, "games.id = ANY($2)", ids)
}

// gamesWhere gives games with their competitions, by id; $1 is the program, args start at $2.
func (s *Stores) gamesWhere(ctx context.Context, t *tx, condition string, args ...any) (map[domain.ID]gameWithCompetition, error) {
	rows, err := t.Query(ctx, `SELECT `+s.Games.selectList()+", "+competitionColumns.qualified("competitions")+` FROM games
		JOIN competitions ON competitions.program_id = games.program_id AND competitions.id = games.competition_id
		WHERE games.program_id = $1 AND `+condition, append([]any{t.program}, args...)...)
	if err != nil {
		return nil, err
	}
	found, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (gameWithCompetition, error) {
		var g gameWithCompetition
		return g, row.Scan(append(s.Games.scanInto(&g.game), competitionColumns.pointers(&g.competition)...)...)
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

// facedShots gives the shots of the games, each with the reading that counts and the program's habits.
func (s *Stores) facedShots(ctx context.Context, t *tx, who cage, games map[domain.ID]gameWithCompetition, ids []domain.ID) ([]*domain.CountedShot, error) {
	shots, err := s.Shots.where(ctx, t, who.shot+" AND game_id = ANY($3)", who.ids, ids)
	if err != nil {
		return nil, err
	}
	readings, err := s.countedReadings(ctx, t, shots, ids)
	if err != nil {
		return nil, err
	}
	clears, err := s.clearsOfShots(ctx, t, ids)
	if err != nil {
		return nil, err
	}
	habits, err := s.Habits.where(ctx, t, "true ORDER BY cause, code")
	if err != nil {
		return nil, err
	}
	hands, err := s.handsOf(ctx, t, shots)
	if err != nil {
		return nil, err
	}
	out := make([]*domain.CountedShot, len(shots))
	for i, shot := range shots {
		g := games[shot.Fields.GameID]
		shot.Fields = shot.Fields.With(shot.Found.ShotSpots)
		out[i] = &domain.CountedShot{
			Shot: shot, Game: g.game, Competition: g.competition, Reading: readings[shot.ID], Clear: clears[shot.ID],
			Habits: habits,
		}
		if id := shot.Found.FacedGoalieID; id != nil {
			out[i].StickHand = hands[*id]
		}
		out[i].Remember()
	}
	slices.SortFunc(out, inTime)
	return out, nil
}

// handsOf gives the side on which each goalie who faced one of the shots holds the stick.
func (s *Stores) handsOf(ctx context.Context, t *tx, shots []domain.Shot) (map[domain.ID]domain.Hand, error) {
	hands := map[domain.ID]domain.Hand{}
	for _, shot := range shots {
		if id := shot.Found.FacedGoalieID; id != nil {
			hands[*id] = ""
		}
	}
	goalies, err := s.Goalies.where(ctx, t, "id = ANY($2)", slices.Collect(maps.Keys(hands)))
	for _, g := range goalies {
		hands[g.ID] = g.Fields.StickHand
	}
	return hands, err
}

// inTime orders shots by day, game, clock, film and id; what has no such time comes last.
func inTime(a, b *domain.CountedShot) int {
	return cmp.Or(
		a.Game.Fields.PlayedOn.Time().Compare(b.Game.Fields.PlayedOn.Time()),
		slices.Compare(a.Game.ID[:], b.Game.ID[:]),
		nilLast(a.Shot.Found.ElapsedS, b.Shot.Found.ElapsedS),
		nilLast(a.Shot.Fields.FilmMs, b.Shot.Fields.FilmMs),
		slices.Compare(a.Shot.ID[:], b.Shot.ID[:]),
	)
}

func nilLast(a, b *int) int {
	switch {
	case a == nil && b == nil:
		return 0
	case a == nil:
		return 1
	case b == nil:
		return -1
	}
	return cmp.Compare(*a, *b)
}

// countedReadings gives for each shot the reading that counts: the one that somebody settled, else by the rule.
func (s *Stores) countedReadings(ctx context.Context, t *tx, shots []domain.Shot, games []domain.ID) (map[domain.ID]*domain.Reading, error) {
	readings, err := s.Readings.where(ctx, t, "game_id = ANY($2)", games)
	if err != nil {
		return nil, err
	}
	byShot := map[domain.ID][]domain.Reading{}
	for _, r := range readings {
		byShot[r.Fields.ShotID] = append(byShot[r.Fields.ShotID], r)
	}
	counted := make(map[domain.ID]*domain.Reading, len(byShot))
	for _, shot := range shots {
		counted[shot.ID] = domain.CountedReading(byShot[shot.ID], shot.Fields.CountedReadingID)
	}
	return counted, nil
}

// clearsOfShots gives how the clear ended that names a shot, for the shots of games; of several the last id counts.
func (s *Stores) clearsOfShots(ctx context.Context, t *tx, games []domain.ID) (map[domain.ID]*domain.ClearResult, error) {
	clears, err := s.Clears.where(ctx, t, "game_id = ANY($2) AND shot_id IS NOT NULL ORDER BY clears.id", games)
	out := make(map[domain.ID]*domain.ClearResult, len(clears))
	for i := range clears {
		out[*clears[i].Fields.ShotID] = &clears[i].Fields.Result
	}
	return out, err
}

// facedClears gives the clears of the games, and of each whether it followed a save.
func (s *Stores) facedClears(ctx context.Context, t *tx, who cage, games map[domain.ID]gameWithCompetition, ids []domain.ID) ([]domain.CountedClear, error) {
	clears, err := s.Clears.where(ctx, t, who.clearBy+" AND game_id = ANY($3)", who.ids, ids)
	if err != nil {
		return nil, err
	}
	var after []domain.ID
	for _, c := range clears {
		if c.Fields.ShotID != nil {
			after = append(after, *c.Fields.ShotID)
		}
	}
	rows, err := t.Query(ctx, `SELECT id FROM shots WHERE program_id = $1 AND id = ANY($2) AND outcome = 'save'`,
		t.program, after)
	if err != nil {
		return nil, err
	}
	saved, err := collectIDs(rows)
	out := make([]domain.CountedClear, len(clears))
	for i, c := range clears {
		g := games[c.Fields.GameID]
		out[i] = domain.CountedClear{Clear: c, Game: g.game, Competition: g.competition,
			AfterSave: c.Fields.ShotID != nil && saved[*c.Fields.ShotID]}
	}
	return out, err
}
