package postgres

import (
	"context"
	"encoding/json"
	"strconv"
	"time"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// exports hands over what is held on one person. It reads by pages, so that a long career needs no more memory than a short
// one, and all in one snapshot.
type exports struct {
	db     *DB
	stores *Stores
}

// exportPage is how many records are read at once.
const exportPage = 500

// exporting is one export on its way: of whom, and where to.
type exporting struct {
	t  *tx
	id domain.ID
	to domain.ExportSink
}

// Goalie hands over what is held on a goalie.
func (e *exports) Goalie(ctx context.Context, a domain.Actor, id domain.ID, to domain.ExportSink) error {
	return e.of(ctx, a, domain.NounGoalie, id, to, func(ctx context.Context, x *exporting) error {
		const faced = "(faced_goalie_id = $2 OR goalie_id = $2)"
		const shots = "SELECT id FROM shots WHERE program_id = $1 AND " + faced
		s := e.stores
		for _, step := range []func() error{
			func() error { return export(ctx, x, s.Goalies, "goalie.json", "the goalie's record", "id = $2") },
			func() error {
				return export(ctx, x, s.RosterSpells, "roster_spells.json", "in which teams the goalie was, from day to day", "goalie_id = $2")
			},
			func() error {
				return export(ctx, x, s.Stints, "stints.json", "the goalie's times in the cage", "goalie_id = $2")
			},
			func() error { return export(ctx, x, s.Shots.records, "shots.json", "the shots faced", faced) },
			func() error {
				return export(ctx, x, s.Shots.records, "shots.csv", "the same shots as a table", faced)
			},
			func() error {
				return export(ctx, x, s.Readings, "readings.json", "what was read off these shots, and by whom", "shot_id IN ("+shots+")")
			},
			func() error {
				return export(ctx, x, s.Clears, "clears.json", "the clears with the goalie in the cage", "(cage_goalie_id = $2 OR goalie_id = $2)")
			},
			func() error {
				return export(ctx, x, s.Games, "games.json", "the games of all these", `id IN (SELECT game_id FROM shots WHERE program_id = $1 AND `+faced+`
					UNION SELECT game_id FROM stints WHERE program_id = $1 AND goalie_id = $2
					UNION SELECT game_id FROM clears WHERE program_id = $1 AND (cage_goalie_id = $2 OR goalie_id = $2))`)
			},
			func() error {
				return export(ctx, x, s.Assignments, "assignments.json", "the drills given, and what was known when they were", "goalie_id = $2")
			},
			func() error {
				return export(ctx, x, s.PracticeLogs, "practice_logs.json", "what was done in practice", "goalie_id = $2")
			},
			func() error { return x.viewers(ctx) },
			func() error {
				return x.accesses(ctx, "who looked at what of the goalie, and when", "record_id = $2")
			},
			func() error { return x.changes(ctx, goaliesRecords) },
		} {
			if err := step(); err != nil {
				return err
			}
		}
		return nil
	})
}

// goaliesRecords are the ids of all records that are or were about the goalie, removed ones too.
const goaliesRecords = `WITH faced AS (
		SELECT id FROM shots WHERE program_id = $1 AND (faced_goalie_id = $2 OR goalie_id = $2)
		UNION SELECT record_id FROM changes WHERE program_id = $1 AND noun = 'shot'
			AND (before_found->>'faced_goalie_id' = $2::uuid::text OR before->>'goalie_id' = $2::uuid::text))
	SELECT $2 UNION SELECT id FROM faced
	UNION SELECT id FROM roster_spells WHERE program_id = $1 AND goalie_id = $2
	UNION SELECT id FROM stints WHERE program_id = $1 AND goalie_id = $2
	UNION SELECT id FROM clears WHERE program_id = $1 AND (cage_goalie_id = $2 OR goalie_id = $2)
	UNION SELECT id FROM assignments WHERE program_id = $1 AND goalie_id = $2
	UNION SELECT id FROM practice_logs WHERE program_id = $1 AND goalie_id = $2
	UNION SELECT r.id FROM readings r JOIN faced f ON r.program_id = $1 AND r.shot_id = f.id
	UNION SELECT record_id FROM changes WHERE program_id = $1 AND noun IN ('roster_spell', 'stint', 'clear', 'assignment', 'practice_log')
		AND (before->>'goalie_id' = $2::uuid::text OR before_found->>'cage_goalie_id' = $2::uuid::text)
	UNION SELECT c.record_id FROM changes c JOIN faced f ON c.program_id = $1 AND c.noun = 'reading' AND c.before->>'shot_id' = f.id::text`

// Member hands over what is held on a member.
func (e *exports) Member(ctx context.Context, a domain.Actor, id domain.ID, to domain.ExportSink) error {
	return e.of(ctx, a, domain.NounMember, id, to, func(ctx context.Context, x *exporting) error {
		s := e.stores
		for _, step := range []func() error{
			func() error { return export(ctx, x, s.Members, "member.json", "the member's record", "id = $2") },
			func() error {
				return export(ctx, x, s.Tokens.records, "tokens.json", "the member's tokens, without their secrets", "member_id = $2")
			},
			func() error {
				return export(ctx, x, s.Readings, "readings.json", "the habits that the member read", "member_id = $2")
			},
			func() error { return x.writes(ctx) },
			func() error {
				return x.accesses(ctx, "what the member looked at, when, and when they signed in", "member_id = $2 OR record_id = $2")
			},
			func() error {
				return x.changes(ctx, `SELECT $2::uuid UNION SELECT id FROM tokens WHERE program_id = $1 AND member_id = $2
					UNION SELECT record_id FROM changes WHERE program_id = $1 AND noun = 'token' AND before->>'member_id' = $2::uuid::text`)
			},
		} {
			if err := step(); err != nil {
				return err
			}
		}
		return nil
	})
}

func (e *exports) of(ctx context.Context, a domain.Actor, noun domain.Noun, id domain.ID, to domain.ExportSink, write func(context.Context, *exporting) error) error {
	return e.db.inSnapshot(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Read, domain.NounExport); err != nil {
			return err
		}
		var known bool
		err := t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM changes WHERE program_id = $1 AND record_id = $2 AND noun = $3)`,
			t.program, id, noun).Scan(&known)
		if err != nil {
			return err
		}
		if !known {
			return notFound(noun)
		}
		return write(ctx, &exporting{t, id, to})
	})
}

// export writes the records under a condition; $1 is the program, $2 the person.
func export[F domain.Fields, K any](ctx context.Context, x *exporting, r *records[F, K], file, about, condition string) error {
	if err := x.to.File(file, about); err != nil {
		return err
	}
	for after := (domain.ID{}); ; {
		recs, err := r.where(ctx, x.t, condition+" AND id > $3 ORDER BY id LIMIT $4", x.id, after, exportPage)
		if err != nil {
			return err
		}
		for _, rec := range recs {
			if err := x.to.Add(rec); err != nil {
				return err
			}
			after = rec.ID
		}
		if len(recs) < exportPage {
			return nil
		}
	}
}

// viewers writes who may see the goalie besides the staff.
func (x *exporting) viewers(ctx context.Context) error {
	if err := x.to.File("viewers.json", "the members who may see the goalie besides the program's staff"); err != nil {
		return err
	}
	rows, err := x.t.Query(ctx, `SELECT id FROM members WHERE program_id = $1 AND $2 = ANY(goalie_ids) ORDER BY id`, x.t.program, x.id)
	if err != nil {
		return err
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[domain.ID])
	if err != nil {
		return err
	}
	for _, id := range ids {
		if err := x.to.Add(map[string]domain.ID{"member_id": id}); err != nil {
			return err
		}
	}
	return nil
}

// accesses writes who looked, the oldest entry first.
func (x *exporting) accesses(ctx context.Context, about, condition string) error {
	if err := x.to.File("accesses.json", about); err != nil {
		return err
	}
	for after := (domain.ID{}); ; {
		rows, err := x.t.Query(ctx, `SELECT `+accessColumns+` FROM accesses
			WHERE program_id = $1 AND (`+condition+`) AND id > $3 ORDER BY id LIMIT $4`, x.t.program, x.id, after, exportPage)
		if err != nil {
			return err
		}
		found, err := pgx.CollectRows(rows, scanAccess)
		if err != nil {
			return err
		}
		for _, a := range found {
			if err := x.to.Add(a); err != nil {
				return err
			}
			after = a.ID
		}
		if len(found) < exportPage {
			return nil
		}
	}
}

// changes writes the history of records, the oldest change first.
func (x *exporting) changes(ctx context.Context, records string) error {
	if err := x.to.File("changes.json", "the history of all these records, removed ones too: who changed what, when, and what it was before"); err != nil {
		return err
	}
	rows, err := x.t.Query(ctx, records, x.t.program, x.id)
	if err != nil {
		return err
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[domain.ID])
	if err != nil {
		return err
	}
	return x.history(ctx, "record_id = ANY($2)", ids, func(c domain.Change) any {
		if c.Before == nil { // else encoding/json would refuse the empty text
			c.Before, c.BeforeFound = json.RawMessage("null"), json.RawMessage("null")
		}
		return c
	})
}

// writes writes what the member did to any record, without what that was before: it is not theirs.
func (x *exporting) writes(ctx context.Context) error {
	if err := x.to.File("writes.json", "what the member wrote: which record, when; not what it was before, for that is not theirs"); err != nil {
		return err
	}
	return x.history(ctx, "member_id = $2", x.id, func(c domain.Change) any {
		return domain.ExportedWrite{Rev: c.Rev, At: c.At.Format(time.RFC3339Nano), Noun: c.Noun, RecordID: c.RecordID, Op: c.Op}
	})
}

func (x *exporting) history(ctx context.Context, condition string, arg any, show func(domain.Change) any) error {
	for after := int64(0); ; {
		found, err := changesWhere(ctx, x.t, condition+" AND rev > $3 ORDER BY rev LIMIT "+strconv.Itoa(exportPage), arg, after)
		if err != nil {
			return err
		}
		for _, c := range found {
			if err := x.to.Add(show(c)); err != nil {
				return err
			}
			after = c.Rev
		}
		if len(found) < exportPage {
			return nil
		}
	}
}
