package postgres

import (
	"bytes"
	"context"
	"encoding/json"
	"reflect"
	"strings"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// sameContent tells whether two versions of a record say the same. The history is jsonb, which has no negative
// zero; so what differs in its digits may still be the same number.
func sameContent[F any](a, b F) bool {
	x, errX := json.Marshal(a)
	y, errY := json.Marshal(b)
	if errX != nil || errY != nil {
		return false
	}
	if bytes.Equal(x, y) {
		return true
	}
	var v, w any
	return json.Unmarshal(x, &v) == nil && json.Unmarshal(y, &w) == nil && reflect.DeepEqual(v, w)
}

// contentBefore tells whether a record ever had this content: then a Put of it is a late repeat, not a change.
func contentBefore[F any](ctx context.Context, t *tx, noun domain.Noun, id domain.ID, fields F) (bool, error) {
	rows, err := t.Query(ctx, `SELECT before FROM changes
		WHERE program_id = $1 AND record_id = $2 AND noun = $3 AND before IS NOT NULL`, t.program, id, noun)
	if err != nil {
		return false, err
	}
	versions, err := pgx.CollectRows(rows, pgx.RowTo[F])
	if err != nil {
		return false, err
	}
	for _, v := range versions {
		if sameContent(v, fields) {
			return true, nil
		}
	}
	return false, nil
}

// refuseSpent refuses a new record under an id that was used before: another noun holds it, for good, or a late repeat of a
// Put would bring back what was removed meanwhile. Of what holds the id nothing is told, whoever asks.
func refuseSpent(ctx context.Context, t *tx, noun domain.Noun, id domain.ID) error {
	var taken, removed bool
	err := t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM record_ids WHERE program_id = $1 AND id = $2 AND noun <> $3),
		EXISTS (SELECT 1 FROM changes WHERE program_id = $1 AND record_id = $2 AND noun = $3 AND op = 'remove')`,
		t.program, id, noun).Scan(&taken, &removed)
	switch {
	case err != nil:
		return err
	case taken:
		return takenError()
	case removed:
		return removedError(noun)
	}
	return nil
}

// idTaken is all that is told of an id that another noun holds.
const idTaken = "This id is taken. Use a new one."

func takenError() error { return &domain.Error{Code: domain.Conflict, Message: idTaken} }

func removedError(noun domain.Noun) error {
	return domain.Errorf(domain.Removed, "This id belonged to a %s that was removed. Use a new id.", spoken(noun))
}

// by gives who a change is written under: nobody for a chore of whoever runs the service.
func by(a domain.Actor) *domain.ID {
	if a.MemberID.IsZero() {
		return nil
	}
	return &a.MemberID
}

func checkID(id domain.ID) error {
	if id.IsZero() {
		return &domain.Error{Code: domain.Invalid, Message: "The id must not be the nil UUID."}
	}
	return nil
}

func notFound(noun domain.Noun) error {
	return domain.Errorf(domain.NotFound, "There is no such %s.", spoken(noun))
}

func stale(rev int64) error {
	return &domain.Error{Code: domain.Stale, Rev: rev,
		Message: "The record has changed since you read it. Read it again and decide anew."}
}

func spoken(noun domain.Noun) string { return strings.ReplaceAll(string(noun), "_", " ") }
