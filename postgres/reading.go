package postgres

import (
	"context"
	"maps"
	"slices"

	"cagework/domain"
)

func newReadings(db *DB, s *Stores) *records[domain.ReadingFields, domain.ReadingFound] {
	r := newRecords[domain.ReadingFields, domain.ReadingFound](db, domain.NounReading, "readings")
	r.game = "readings.game_id"
	r.own = "(NOT @recorder OR readings.member_id = @own_member) IS TRUE"
	r.filters = map[string]string{
		"game": "readings.game_id = @game", "shot": "readings.shot_id = @shot",
		"member": "readings.member_id = @member",
	}
	r.home = func(rec domain.Reading) home {
		h := home{game: &rec.Found.GameID}
		if rec.Found.GameID.IsZero() { // a new reading, or one from before it remembered its game
			h = home{shot: &rec.Fields.ShotID}
		}
		if !rec.Found.MemberID.IsZero() { // a new reading is the actor's own
			h.member = &rec.Found.MemberID
		}
		return h
	}
	r.check = func(ctx context.Context, t *tx, a domain.Actor, before, after *domain.Reading) error {
		if before != nil && before.Fields.ShotID != after.Fields.ShotID {
			return domain.InvalidField("/shot_id", "cannot change; remove the reading and put one for the other shot")
		}
		if before == nil && after.Found.MemberID.IsZero() { // else it is brought back, and stays whose it was
			after.Found.MemberID = a.MemberID
		}
		game, err := gameOfShot(ctx, t, after.Fields.ShotID)
		if err != nil {
			return err
		}
		after.Found.GameID = game
		return s.refuseUnknownHabits(ctx, t, after.Fields)
	}
	return r
}

// gameOfShot gives the game of a shot and, for who writes, keeps the shot until the commit.
func gameOfShot(ctx context.Context, t *tx, shot domain.ID) (domain.ID, error) {
	lock := "FOR KEY SHARE"
	if t.reads {
		lock = ""
	}
	var game domain.ID
	err := t.QueryRow(ctx, `SELECT game_id FROM shots WHERE program_id = $1 AND id = $2 `+lock, t.program, shot).Scan(&game)
	return game, missingIfNone(err, "/shot_id", "shot")
}

// refuseUnknownHabits refuses answers to habits that the program does not have, and keeps those that it has.
func (s *Stores) refuseUnknownHabits(ctx context.Context, t *tx, f domain.ReadingFields) error {
	codes := slices.Sorted(maps.Keys(f.Habits))
	habits, err := s.Habits.where(ctx, t, "code = ANY($2) FOR SHARE", codes)
	if err != nil {
		return err
	}
	var faults []domain.FieldError
	for _, code := range codes {
		if domain.HabitNamed(habits, code) == nil {
			faults = append(faults, domain.FieldError{Pointer: "/habits/" + code, Detail: "there is no such habit"})
		}
	}
	return domain.Refusal(faults)
}
