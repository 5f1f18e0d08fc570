package postgres

import (
	"context"

	"cagework/domain"
)

func newReadings(db *DB) *records[domain.ReadingFields, domain.ReadingFound] {
	r := newRecords[domain.ReadingFields, domain.ReadingFound](db, domain.NounReading, "readings")
	const ofGame = `EXISTS (SELECT 1 FROM shots s JOIN games g ON g.program_id = s.program_id AND g.id = s.game_id
		WHERE s.program_id = readings.program_id AND s.id = readings.shot_id AND `
	r.own = "(" + ofGame + "g.team_id = ANY(@own_teams)) AND (NOT @recorder OR readings.member_id = @own_member))"
	r.filters = map[string]string{"game": ofGame + "g.id = @game)", "member": "readings.member_id = @member"}
	r.subject = func(ctx context.Context, t *tx, rec domain.Reading) (domain.Subject, error) {
		var team domain.ID
		err := t.QueryRow(ctx, `SELECT g.team_id FROM shots s
			JOIN games g ON g.program_id = s.program_id AND g.id = s.game_id
			WHERE s.program_id = $1 AND s.id = $2`, t.program, rec.Fields.ShotID).Scan(&team)
		on := domain.Subject{TeamIDs: []domain.ID{team}}
		if !rec.Found.MemberID.IsZero() { // a new reading is the actor's own
			on.MemberID = &rec.Found.MemberID
		}
		return on, missingIfNone(err, "/shot_id", "shot")
	}
	r.check = func(_ context.Context, _ *tx, a domain.Actor, before, after *domain.Reading) error {
		if before == nil {
			after.Found.MemberID = a.MemberID
		} else if before.Fields.ShotID != after.Fields.ShotID {
			return domain.InvalidField("/shot_id", "cannot change; remove the reading and put one for the other shot")
		}
		return refuseUnknownHabits(after.Fields)
	}
	return r
}

// refuseUnknownHabits refuses answers to habits that the program does not have.
func refuseUnknownHabits(f domain.ReadingFields) error {
	var faults []domain.FieldError
	for code := range f.Habits {
		if field, ok := domain.ShotFieldNamed(code); !ok || field.Type != domain.HabitField {
			faults = append(faults, domain.FieldError{Pointer: "/habits/" + code, Detail: "there is no such habit"})
		}
	}
	return domain.Refusal(faults)
}
