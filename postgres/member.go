package postgres

import (
	"context"
	"fmt"

	"cagework/domain"
)

func newMembers(db *DB) *records[domain.MemberFields, domain.None] {
	r := newRecords[domain.MemberFields, domain.None](db, domain.NounMember, "members")
	r.filters = map[string]string{"team": "(@team = ANY(members.team_ids)) IS TRUE"}
	r.check = func(ctx context.Context, t *tx, _ domain.Actor, before, after *domain.Member) error {
		if err := refuseUnknown(ctx, t, "teams", item("/team_ids"), "team", after.Fields.TeamIDs); err != nil {
			return err
		}
		if err := refuseUnknown(ctx, t, "goalies", item("/goalie_ids"), "goalie", after.Fields.GoalieIDs); err != nil {
			return err
		}
		if before != nil && before.Fields.Role == domain.Director && after.Fields.Role != domain.Director {
			return refuseLastDirector(ctx, t, after.ID) // last: every writer locks the program's row last
		}
		return nil
	}
	r.isPerson()
	r.removable = func(ctx context.Context, t *tx, _ domain.Actor, m domain.Member) error {
		if m.Fields.Role != domain.Director {
			return nil
		}
		return refuseLastDirector(ctx, t, m.ID)
	}
	return r
}

// refuseLastDirector keeps a program from locking itself out. The program's row is locked, so that two directors
// cannot take each other away at once.
func refuseLastDirector(ctx context.Context, t *tx, id domain.ID) error {
	if _, err := t.Exec(ctx, `SELECT 1 FROM programs WHERE id = $1 FOR NO KEY UPDATE`, t.program); err != nil {
		return err
	}
	var others bool
	err := t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM members
		WHERE program_id = $1 AND role = 'director' AND id <> $2)`, t.program, id).Scan(&others)
	if err != nil {
		return err
	}
	if !others {
		return domain.Errorf(domain.InUse, "This is the program's last director; make another one first.")
	}
	return nil
}

// item gives the pointers of a list's items.
func item(list string) func(int) string {
	return func(i int) string { return fmt.Sprintf("%s/%d", list, i) }
}

// refuseUnknown refuses ids that name nothing in the program. Lists of ids have no foreign key, so the rows are
// locked until the commit, against whoever holds them to remove them: FOR KEY SHARE would let a removal that has
// asked who names the row already go on.
func refuseUnknown(ctx context.Context, t *tx, table string, pointer func(int) string, noun string, ids []domain.ID) error {
	rows, err := t.Query(ctx, `SELECT id FROM `+table+` WHERE program_id = $1 AND id = ANY($2) FOR SHARE`,
		t.program, ids)
	if err != nil {
		return err
	}
	known, err := collectIDs(rows)
	if err != nil {
		return err
	}
	var faults []domain.FieldError
	for i, id := range ids {
		if !known[id] {
			faults = append(faults, domain.FieldError{Pointer: pointer(i), Detail: "there is no such " + noun})
		}
	}
	return domain.Refusal(faults)
}
