package postgres

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

func newGames(db *DB) *records[domain.GameFields, domain.None] {
	r := newRecords[domain.GameFields, domain.None](db, domain.NounGame, "games")
	r.own = "(games.team_id = ANY(@own_teams)) IS TRUE"
	r.filters = map[string]string{
		"team": "games.team_id = @team",
		"from": "(games.played_on BETWEEN @from AND @to) IS TRUE",
		"goalie": `(EXISTS (SELECT 1 FROM shots f WHERE f.program_id = @program AND f.game_id = games.id
			AND f.faced_goalie_id = @goalie) OR EXISTS (SELECT 1 FROM stints f WHERE f.program_id = @program
			AND f.game_id = games.id AND f.goalie_id = @goalie)) IS TRUE`,
	}
	r.home = func(rec domain.Game) home { return home{teams: []domain.ID{rec.Fields.TeamID}} }
	r.check = checkGame
	return r
}

func checkGame(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.Game) error {
	comp, err := competitionShared(ctx, t, after.Fields.CompetitionID)
	if err != nil {
		return err
	}
	if before != nil && before.Fields.CompetitionID != after.Fields.CompetitionID {
		if err := refuseCharted(ctx, t, after.ID); err != nil {
			return err
		}
	}
	if f := after.Fields; f.EndedPeriod != nil && f.EndedClockS != nil {
		if _, ok := comp.Clock().Elapsed(*f.EndedPeriod, *f.EndedClockS); !ok {
			return domain.InvalidField("/ended_clock_s", "is more than period %d of this competition has", *f.EndedPeriod)
		}
	}
	return nil
}

// refuseCharted keeps the clock under a game's shots and stints from changing, and the sizes under the marks by name of its
// views.
func refuseCharted(ctx context.Context, t *tx, game domain.ID) error {
	var charted bool
	err := t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM shots WHERE program_id = $1 AND game_id = $2)
		OR EXISTS (SELECT 1 FROM stints WHERE program_id = $1 AND game_id = $2)
		OR EXISTS (SELECT 1 FROM clears WHERE program_id = $1 AND game_id = $2)
		OR EXISTS (SELECT 1 FROM views WHERE program_id = $1 AND game_id = $2 AND places <> '[]')`, t.program, game).Scan(&charted)
	if err != nil {
		return err
	}
	if charted {
		return domain.Errorf(domain.InUse, "Shots, stints, clears or views stand on this game's competition; it cannot change now.")
	}
	return nil
}

// competitionShared reads a competition and keeps its measures from changing until the commit.
func competitionShared(ctx context.Context, t *tx, id domain.ID) (domain.CompetitionFields, error) {
	var comp domain.CompetitionFields
	err := t.QueryRow(ctx, `SELECT `+competitionColumns.qualified("competitions")+` FROM competitions
		WHERE program_id = $1 AND id = $2 FOR SHARE`, t.program, id).Scan(competitionColumns.pointers(&comp)...)
	return comp, missingIfNone(err, "/competition_id", "competition")
}

// gameLocked reads a game and its competition and holds the game, so that shots, stints and whose shot it was
// change one writer at a time.
func gameLocked(ctx context.Context, t *tx, id domain.ID) (domain.GameFields, domain.CompetitionFields, error) {
	var game domain.GameFields
	err := t.QueryRow(ctx, `SELECT `+gameColumns.qualified("games")+` FROM games
		WHERE program_id = $1 AND id = $2 FOR NO KEY UPDATE`, t.program, id).Scan(gameColumns.pointers(&game)...)
	if err != nil {
		return game, domain.CompetitionFields{}, missingIfNone(err, "/game_id", "game")
	}
	comp, err := competitionShared(ctx, t, game.CompetitionID)
	return game, comp, err
}

// lockGameOf holds the game of a shot or stint before the row itself: writers of stints hold the game and then want
// its shots, and would else meet a writer of a shot that holds it and wants the game.
func lockGameOf(table string) func(context.Context, *tx, domain.ID) error {
	return func(ctx context.Context, t *tx, id domain.ID) error {
		_, err := t.Exec(ctx, `SELECT 1 FROM games WHERE program_id = $1 AND id =
			(SELECT game_id FROM `+table+` WHERE program_id = $1 AND id = $2) FOR NO KEY UPDATE`, t.program, id)
		return err
	}
}

// gameSubject gives the team of a game.
func gameSubject(ctx context.Context, t *tx, game domain.ID) (domain.Subject, error) {
	var team domain.ID
	err := t.QueryRow(ctx, `SELECT team_id FROM games WHERE program_id = $1 AND id = $2`, t.program, game).Scan(&team)
	return domain.Subject{TeamIDs: []domain.ID{team}}, missingIfNone(err, "/game_id", "game")
}

// missingIfNone turns "no rows" into a refusal that names the field that pointed nowhere.
func missingIfNone(err error, pointer, noun string) error {
	if errors.Is(err, pgx.ErrNoRows) {
		return domain.InvalidField(pointer, "there is no such %s", noun)
	}
	return err
}
