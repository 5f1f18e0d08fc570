package postgres

import (
	"context"
	"encoding/json"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

type programs struct {
	db     *DB
	stores *Stores
}

// Create makes a program with the starter targets, drills and rules, and its first director.
func (p *programs) Create(ctx context.Context, id domain.ID, fields domain.ProgramFields, director string) (domain.Program, domain.Member, error) {
	program := domain.Program{ID: id, Fields: fields, Rev: 1}
	var member domain.Member
	err := p.db.inProgram(ctx, id, func(ctx context.Context, t *tx) error {
		member = domain.Member{ID: domain.NewID(t.now), Fields: domain.MemberFields{
			Name: director, Role: domain.Director, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{},
		}}
		faults := append(fields.Check(), member.Fields.Check()...)
		if err := domain.Refusal(faults); err != nil {
			return err
		}
		present, err := p.load(ctx, t, "")
		if err != nil {
			return err
		}
		if present != nil {
			return &domain.Error{Code: domain.Conflict, Rev: present.Rev, Message: "There is a program of that id already."}
		}
		if err := p.insert(ctx, t, program); err != nil {
			return err
		}
		if err := p.stores.Members.insert(ctx, t, nil, &member); err != nil {
			return err
		}
		return p.stores.insertStarter(ctx, t)
	})
	return program, member, err
}

// insertStarter copies the starter data into a new program.
func (s *Stores) insertStarter(ctx context.Context, t *tx) error {
	data := domain.Starter(t.program)
	for _, rec := range data.Competitions {
		if err := s.Competitions.insert(ctx, t, nil, &rec); err != nil {
			return err
		}
	}
	for _, rec := range data.Habits {
		if err := s.Habits.insert(ctx, t, nil, &rec); err != nil {
			return err
		}
	}
	for _, rec := range data.Targets {
		if err := s.Targets.insert(ctx, t, nil, &rec); err != nil {
			return err
		}
	}
	for _, rec := range data.Drills {
		if err := s.Drills.insert(ctx, t, nil, &rec); err != nil {
			return err
		}
	}
	for _, rec := range data.Rules {
		if err := s.Rules.insert(ctx, t, nil, &rec); err != nil {
			return err
		}
	}
	return nil
}

// Get gives the actor's program.
func (p *programs) Get(ctx context.Context, a domain.Actor) (domain.Program, error) {
	var program domain.Program
	err := p.db.inReading(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Read, domain.NounProgram); err != nil {
			return err
		}
		var err error
		program, err = p.present(ctx, t, "")
		return err
	})
	return program, err
}

// Patch changes the actor's program.
func (p *programs) Patch(ctx context.Context, a domain.Actor, rev domain.Rev, change func(domain.ProgramFields) (domain.ProgramFields, error)) (domain.Program, error) {
	var program domain.Program
	err := p.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		if err := domain.MayAny(a, domain.Write, domain.NounProgram); err != nil {
			return err
		}
		before, err := p.present(ctx, t, "FOR NO KEY UPDATE")
		if err != nil {
			return err
		}
		program = before
		if program.Fields, err = change(before.Fields); err != nil {
			return err
		}
		if sameContent(before.Fields, program.Fields) {
			program = before
			return nil
		}
		if !rev.Matches(before.Rev) {
			return stale(before.Rev)
		}
		if err := domain.Refusal(program.Fields.Check()); err != nil {
			return err
		}
		return p.update(ctx, t, a.MemberID, before, &program)
	})
	return program, err
}

func (p *programs) present(ctx context.Context, t *tx, lock string) (domain.Program, error) {
	program, err := p.load(ctx, t, lock)
	if err != nil {
		return domain.Program{}, err
	}
	if program == nil {
		return domain.Program{}, notFound(domain.NounProgram)
	}
	return *program, nil
}

func (p *programs) load(ctx context.Context, t *tx, lock string) (*domain.Program, error) {
	rows, err := t.Query(ctx, `SELECT id, rev, name, time_zone, units, judgement FROM programs WHERE id = $1 `+lock, t.program)
	if err != nil {
		return nil, err
	}
	found, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (domain.Program, error) {
		var r domain.Program
		return r, row.Scan(&r.ID, &r.Rev, &r.Fields.Name, &r.Fields.TimeZone, &r.Fields.Units, &r.Fields.Judgement)
	})
	if err != nil || len(found) == 0 {
		return nil, err
	}
	return &found[0], nil
}

// insert makes the program's row and its first change; a change needs the row first, so they are two statements.
func (p *programs) insert(ctx context.Context, t *tx, program domain.Program) error {
	f := program.Fields
	_, err := t.Exec(ctx, `INSERT INTO programs (id, rev, last_rev, name, time_zone, units, judgement)
		VALUES ($1, 1, 1, $2, $3, $4, $5)`, t.program, f.Name, f.TimeZone, f.Units, f.Judgement)
	if err != nil {
		return err
	}
	_, err = t.Exec(ctx, `WITH k AS (INSERT INTO record_ids (program_id, id, noun) VALUES ($1, $1, $3))
		INSERT INTO changes (program_id, rev, at, noun, record_id, op) VALUES ($1, 1, $2, $3, $1, 'create')`,
		t.program, t.now, domain.NounProgram)
	return err
}

func (p *programs) update(ctx context.Context, t *tx, by domain.ID, before domain.Program, program *domain.Program) error {
	was, err := json.Marshal(before.Fields)
	if err != nil {
		return err
	}
	f := program.Fields
	err = t.QueryRow(ctx, `UPDATE programs SET last_rev = last_rev + 1, rev = last_rev + 1,
		name = $2, time_zone = $3, units = $4, judgement = $5 WHERE id = $1 RETURNING rev`,
		t.program, f.Name, f.TimeZone, f.Units, f.Judgement).Scan(&program.Rev)
	if err != nil {
		return err
	}
	_, err = t.Exec(ctx, `INSERT INTO changes (program_id, rev, at, member_id, noun, record_id, op, before)
		VALUES ($1, $2, $3, $4, $5, $1, 'change', $6)`,
		t.program, program.Rev, t.now, by, domain.NounProgram, json.RawMessage(was))
	return err
}
