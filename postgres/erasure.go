package postgres

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
)

// erasures erases persons. An erasure rewrites rows as the service may, and the history through the one database function
// that may; see migrations/000026_erase_from_changes.up.sql and the account of all columns in erasuretext.go.
type erasures struct {
	db      *DB
	stores  *Stores
	records *records[domain.ErasureFields, domain.None]
	list    domain.ErasureList // nil: nothing is kept apart
}

func newErasures(db *DB, s *Stores) *erasures {
	return &erasures{db: db, stores: s, records: newRecords[domain.ErasureFields, domain.None](db, domain.NounErasure, "erasures")}
}

// KeepApart has the ids of who is erased from now on written to a list outside the database, too.
func (e *erasures) KeepApart(list domain.ErasureList) { e.list = list }

// List gives a page of receipts.
func (e *erasures) List(ctx context.Context, a domain.Actor, q domain.Query) (domain.Page[domain.Erasure], error) {
	return e.records.List(ctx, a, q)
}

// Get gives one receipt.
func (e *erasures) Get(ctx context.Context, a domain.Actor, id domain.ID) (domain.Erasure, error) {
	return e.records.Get(ctx, a, id)
}

// Plan says what an erasure would do, or gives its receipt.
func (e *erasures) Plan(ctx context.Context, a domain.Actor, noun domain.Noun, id domain.ID) (domain.ErasurePlan, *domain.Erasure, error) {
	var plan domain.ErasurePlan
	var done *domain.Erasure
	err := e.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		p, err := e.begin(ctx, t, a, noun, id, true)
		if err != nil {
			return err
		}
		if done = p.done; done == nil {
			plan = p.plan()
			return e.refuseLast(ctx, t, p)
		}
		plan = domain.ErasurePlan{Noun: noun, ID: id, Counts: done.Fields.Counts, Elsewhere: []domain.ErasedRecord{}}
		return nil
	})
	return plan, done, err
}

// Erase erases a person. The list that is kept apart is told before the commit and after it: what happens in between, the
// list has whatever the database has.
func (e *erasures) Erase(ctx context.Context, a domain.Actor, noun domain.Noun, id domain.ID, consent domain.ErasureConsent) (domain.Erasure, error) {
	var out domain.Erasure
	line := domain.ErasureEntry{ProgramID: a.ProgramID, ID: id, Noun: noun, Attempt: domain.NewID(e.db.now()), Step: domain.ErasureBegun}
	err := e.db.inProgram(ctx, a.ProgramID, func(ctx context.Context, t *tx) error {
		p, err := e.begin(ctx, t, a, noun, id, false)
		if err != nil {
			return err
		}
		if p.done != nil {
			out = *p.done
			return nil
		}
		if err := p.agreed(consent); err != nil {
			return err
		}
		if err := e.refuseLast(ctx, t, p); err != nil {
			return err
		}
		if out, err = e.carryOut(ctx, t, a, p, t.now); err != nil || e.list == nil {
			return err
		}
		line.At = t.now // a repeat of the transaction writes the line of the same try again
		return e.told(line)
	})
	return out, e.conclude(line, err)
}

// told appends to the list that is kept apart.
func (e *erasures) told(line domain.ErasureEntry) error {
	if err := e.list.Append(line); err != nil {
		return &domain.Error{Code: domain.Unavailable, Retry: 10 * time.Second, Cause: err,
			Message: "The list of erasures that is kept apart from the database cannot be written, so nothing was erased."}
	}
	return nil
}

// conclude tells the list how a try ended. Of one whose commit got no answer nothing is known: it stays begun, which counts.
func (e *erasures) conclude(line domain.ErasureEntry, err error) error {
	if e.list == nil || line.At.IsZero() {
		return err
	}
	line.Step = domain.ErasureDone
	if err != nil {
		if _, unknown := errors.AsType[*commitError](err); unknown {
			return err
		}
		line.Step = domain.ErasureFailed
	}
	if told := e.list.Append(line); told != nil && err == nil {
		return nil // it is there as begun, which counts as done
	}
	return err
}

// Replay erases who stands on a list that was kept apart, in a database that is older than the list, such as a restored
// backup. Who is erased already stays as they are; of an id that the database does not have, the list is all that is known,
// and the id takes nothing any more. It gives how many were erased anew. A program that is not there needs nothing. It
// works under the login's own rights: who restores owns the schema, and need not be a member of the service's role.
func (e *erasures) Replay(ctx context.Context, list []domain.ErasureEntry) (anew int, err error) {
	for _, line := range domain.EffectiveErasures(list) {
		if line.Noun == domain.NounProgram {
			continue // see RemoveProgram
		}
		a := domain.Actor{ProgramID: line.ProgramID, Role: domain.Director}
		err := e.db.inTx(ctx, writing, asLogin(line.ProgramID), line.ProgramID, func(ctx context.Context, t *tx) error {
			if program, err := e.stores.Programs.load(ctx, t, ""); err != nil || program == nil {
				return err
			}
			p, err := e.begin(ctx, t, a, line.Noun, line.ID, false)
			if domain.CodeOf(err) == domain.NotFound {
				err = nil
			}
			if err != nil || p.done != nil {
				return err
			}
			p.replayed = true
			if _, err = e.carryOut(ctx, t, a, p, line.At.UTC().Truncate(time.Microsecond)); err == nil {
				anew++
			}
			return err
		})
		if err != nil {
			return anew, fmt.Errorf("%s %s of program %s: %w", line.Noun, line.ID, line.ProgramID, err)
		}
	}
	return anew, nil
}

// erasing is one erasure on its way: who, and what of theirs is there.
type erasing struct {
	noun     domain.Noun
	id       domain.ID
	rev      int64           // of the record, or of its removal
	done     *domain.Erasure // it is done already
	replayed bool

	names           []string
	blocks, viewers []domain.ID
	rows            map[scrub][]domain.ID
	tokens          []domain.Token
	history         map[domain.ErasedRecord]int
}

// begin holds the person against all who write about them, and looks what there is. Without anything it is not found; the
// erasing is given all the same.
func (e *erasures) begin(ctx context.Context, t *tx, a domain.Actor, noun domain.Noun, id domain.ID, dry bool) (*erasing, error) {
	if err := domain.MayAny(a, domain.Write, domain.NounErasure); err != nil {
		return nil, err
	}
	p := &erasing{noun: noun, id: id, rows: map[scrub][]domain.ID{}, history: map[domain.ErasedRecord]int{}}
	hold := "pg_advisory_xact_lock"
	if dry {
		hold = "pg_advisory_xact_lock_shared"
	}
	if err := holdPerson(ctx, t, hold, id); err != nil {
		return nil, err
	}
	var err error
	if p.done, err = e.records.load(ctx, t, id, ""); err != nil {
		return nil, err
	}
	if p.done != nil {
		if p.done.Fields.Noun != noun {
			return p, notFound(noun)
		}
		return p, nil
	}
	if err := e.look(ctx, t, p, dry); err != nil {
		return nil, err
	}
	if p.rev == 0 {
		return p, notFound(noun)
	}
	return p, nil
}

// look finds what an erasure would touch. Rows are locked, unless it is dry.
func (e *erasures) look(ctx context.Context, t *tx, p *erasing, dry bool) error {
	const ever = `FROM changes WHERE program_id = $1 AND noun = `
	err := t.QueryRow(ctx, `SELECT names_borne($1, $2, $3),
		ARRAY(SELECT id FROM assignments WHERE program_id = $1 AND goalie_id = $3
			UNION SELECT record_id `+ever+`'assignment' AND before->>'goalie_id' = $3::text),
		ARRAY(SELECT id FROM members WHERE program_id = $1 AND $3 = ANY(goalie_ids)
			UNION SELECT record_id `+ever+`'member' AND before->'goalie_ids' ? $3::text),
		coalesce((SELECT max(rev) `+ever+`$2 AND record_id = $3), 0)`,
		t.program, p.noun, p.id).Scan(&p.names, &p.blocks, &p.viewers, &p.rev)
	if err != nil || p.rev == 0 {
		return err
	}
	for _, s := range scrubs(p.noun) {
		if p.rows[s], err = s.find(ctx, t, p, dry); err != nil {
			return err
		}
	}
	if p.noun == domain.NounMember {
		if p.tokens, err = e.stores.Tokens.where(ctx, t, "member_id = $2 ORDER BY id", p.id); err != nil {
			return err
		}
	}
	return p.readHistory(ctx, t, true)
}

// readHistory counts the changes that hold the person, or rewrites them.
func (p *erasing) readHistory(ctx context.Context, t *tx, dry bool) error {
	rows, err := t.Query(ctx, `SELECT of_noun, of_record, rewritten FROM erase_from_changes($1, $2, $3, $4)`,
		t.program, p.noun, p.id, dry)
	if err != nil {
		return err
	}
	var record domain.ErasedRecord
	var n int
	_, err = pgx.ForEachRow(rows, []any{&record.Noun, &record.ID, &n}, func() error {
		p.history[record] = n
		return nil
	})
	return err
}

func (s scrub) args(t *tx, p *erasing, more pgx.NamedArgs) pgx.NamedArgs {
	args := pgx.NamedArgs{"program": t.program, "person": p.id, "names": p.names, "blocks": p.blocks, "viewers": p.viewers}
	for name, value := range more {
		args[name] = value
	}
	return args
}

// find gives the rows that are rewritten, in the order of ids.
func (s scrub) find(ctx context.Context, t *tx, p *erasing, dry bool) ([]domain.ID, error) {
	lock := " FOR NO KEY UPDATE"
	if dry {
		lock = ""
	}
	rows, err := t.Query(ctx, `SELECT id FROM `+s.table+` WHERE `+s.program()+` = @program AND (`+s.where+`) ORDER BY id`+lock, s.args(t, p, nil))
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[domain.ID])
}

// rewrite gives rows what the scrub says, each with its new number.
func (s scrub) rewrite(ctx context.Context, t *tx, p *erasing, revs map[domain.ErasedRecord]int64) error {
	ids := p.rows[s]
	if len(ids) == 0 {
		return nil
	}
	numbers := make([]int64, len(ids))
	for i, id := range ids {
		numbers[i] = revs[domain.ErasedRecord{Noun: s.noun, ID: id}]
	}
	_, err := t.Exec(ctx, `UPDATE `+s.table+` SET rev = n.number, `+s.set+` FROM unnest(@ids::uuid[], @numbers::bigint[]) AS n (of_id, number)
		WHERE `+s.program()+` = @program AND id = n.of_id`, s.args(t, p, pgx.NamedArgs{"ids": ids, "numbers": numbers}))
	return err
}

// touched gives every record that gets a change which tells of the erasure, in an order that depends on ids alone. Tokens
// that are taken away tell of it by their removal.
func (p *erasing) touched() []domain.ErasedRecord {
	there := map[domain.ErasedRecord]bool{{Noun: p.noun, ID: p.id}: true}
	for s, ids := range p.rows {
		for _, id := range ids {
			there[domain.ErasedRecord{Noun: s.noun, ID: id}] = true
		}
	}
	for record := range p.history {
		there[record] = true
	}
	for _, token := range p.tokens {
		delete(there, domain.ErasedRecord{Noun: domain.NounToken, ID: token.ID})
	}
	list := make([]domain.ErasedRecord, 0, len(there))
	for record := range there {
		list = append(list, record)
	}
	slices.SortFunc(list, func(a, b domain.ErasedRecord) int {
		return cmp.Or(cmp.Compare(a.Noun, b.Noun), cmp.Compare(a.ID.String(), b.ID.String()))
	})
	return list
}

// counts sums up what is touched.
func (p *erasing) counts() []domain.ErasedCount {
	sums := map[domain.Noun]*domain.ErasedCount{}
	of := func(noun domain.Noun) *domain.ErasedCount {
		if sums[noun] == nil {
			sums[noun] = &domain.ErasedCount{Noun: noun}
		}
		return sums[noun]
	}
	for s, ids := range p.rows {
		if len(ids) > 0 {
			of(s.noun).Records += len(ids)
		}
	}
	for record, n := range p.history {
		of(record.Noun).Changes += n
	}
	for range p.tokens {
		of(domain.NounToken).Records++
	}
	counts := []domain.ErasedCount{}
	for _, sum := range sums {
		counts = append(counts, *sum)
	}
	slices.SortFunc(counts, func(a, b domain.ErasedCount) int { return cmp.Compare(a.Noun, b.Noun) })
	return counts
}

// plan gives what is shown of an erasure before it is done.
func (p *erasing) plan() domain.ErasurePlan {
	plan := domain.ErasurePlan{Noun: p.noun, ID: p.id, Counts: p.counts(), Elsewhere: []domain.ErasedRecord{}, Digest: p.digest()}
	for _, record := range p.touched() {
		own := record.ID == p.id || slices.Contains(p.blocks, record.ID) && p.noun == domain.NounGoalie
		if !own && len(plan.Elsewhere) < domain.MaxElsewhere {
			plan.Elsewhere = append(plan.Elsewhere, record)
		}
	}
	return plan
}

// digest names what is touched and the state that the person's record is in.
func (p *erasing) digest() string {
	var text strings.Builder
	fmt.Fprintln(&text, p.noun, p.id, p.rev, p.counts())
	for _, record := range p.touched() {
		fmt.Fprintln(&text, record.Noun, record.ID, p.history[record])
	}
	for _, token := range p.tokens {
		fmt.Fprintln(&text, token.ID)
	}
	sum := sha256.Sum256([]byte(text.String()))
	return hex.EncodeToString(sum[:])
}

// agreed asks for consent to what is there now.
func (p *erasing) agreed(c domain.ErasureConsent) error {
	switch {
	case !c.Given():
		return domain.Errorf(domain.PreconditionRequired, "Make a dry run first and send its digest, or the record's ETag in If-Match.")
	case c.Digest != "" && c.Digest != p.digest(), c.Digest == "" && !c.Rev.Matches(p.rev):
		return stale(p.rev)
	}
	return nil
}

// refuseLast keeps a program from losing its last director.
func (e *erasures) refuseLast(ctx context.Context, t *tx, p *erasing) error {
	if p.noun != domain.NounMember {
		return nil
	}
	m, err := e.stores.Members.load(ctx, t, p.id, "")
	if err != nil || m == nil || m.Fields.Role != domain.Director {
		return err
	}
	return refuseLastDirector(ctx, t, p.id)
}

// carryOut does it: the receipt first, for the database function asks for it, then the history, then the rows and the changes
// that tell of it.
func (e *erasures) carryOut(ctx context.Context, t *tx, a domain.Actor, p *erasing, at time.Time) (domain.Erasure, error) {
	touched := p.touched()
	var last int64
	err := t.QueryRow(ctx, `UPDATE programs SET last_rev = last_rev + $2 WHERE id = $1 RETURNING last_rev`, t.program, len(touched)).Scan(&last)
	if err != nil {
		return domain.Erasure{}, err
	}
	revs := map[domain.ErasedRecord]int64{}
	for i, record := range touched {
		revs[record] = last - int64(len(touched)-1-i)
	}
	out := domain.Erasure{ID: p.id, Rev: revs[domain.ErasedRecord{Noun: p.noun, ID: p.id}], Fields: domain.ErasureFields{
		Noun: p.noun, At: at, MemberID: by(a), KeptApart: e.list != nil || p.replayed, Counts: p.counts(),
	}}
	_, err = t.Exec(ctx, `INSERT INTO erasures (program_id, id, rev, noun, at, member_id, kept_apart, counts) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
		t.program, out.ID, out.Rev, out.Fields.Noun, at, out.Fields.MemberID, out.Fields.KeptApart, out.Fields.Counts)
	if err != nil {
		return out, err
	}
	if err := p.readHistory(ctx, t, false); err != nil {
		return out, err
	}
	for s := range p.rows {
		if err := s.rewrite(ctx, t, p, revs); err != nil {
			return out, err
		}
	}
	if err := tell(ctx, t, a, touched, last); err != nil {
		return out, err
	}
	if err := signOutEverywhere(ctx, t, p.id); err != nil {
		return out, err
	}
	for _, token := range p.tokens {
		token.Fields.Label = domain.ErasedText
		if err := e.stores.Tokens.delete(ctx, t, by(a), token); err != nil {
			return out, err
		}
	}
	return out, nil
}

// tell writes the changes that say erased. Of a record that was removed before, what it was stands in the change again,
// without the words: so whose it was can still be told. An id of which the list alone knows is taken by it.
func tell(ctx context.Context, t *tx, a domain.Actor, touched []domain.ErasedRecord, last int64) error {
	nouns, ids := make([]domain.Noun, len(touched)), make([]domain.ID, len(touched))
	for i, record := range touched {
		nouns[i], ids[i] = record.Noun, record.ID
	}
	_, err := t.Exec(ctx, `WITH told AS (
			SELECT * FROM unnest($5::text[], $6::uuid[]) WITH ORDINALITY AS told (noun, record_id, number)
		), k AS (INSERT INTO record_ids (program_id, id, noun) SELECT $1, record_id, noun FROM told
			WHERE NOT EXISTS (SELECT 1 FROM record_ids k WHERE k.program_id = $1 AND k.id = told.record_id))
		INSERT INTO changes
			(program_id, rev, at, member_id, noun, record_id, op, before, before_found, of_team_ids, of_member_id)
		SELECT $1, $2 + told.number, $3, $4, told.noun, told.record_id, 'erase', removed.before, removed.before_found,
			removed.of_team_ids, removed.of_member_id
		FROM told
		LEFT JOIN LATERAL (SELECT c.op, c.before, c.before_found, c.of_team_ids, c.of_member_id FROM changes c
			WHERE c.program_id = $1 AND c.record_id = told.record_id AND c.noun = told.noun ORDER BY c.rev DESC LIMIT 1
		) removed ON removed.op IN ('remove', 'erase')`,
		t.program, last-int64(len(touched)), t.now, by(a), nouns, ids)
	return err
}

// holdPerson keeps an erasure and those who write about its person apart: an erasure holds alone, writers share.
func holdPerson(ctx context.Context, t *tx, how string, id domain.ID) error {
	_, err := t.Exec(ctx, `SELECT `+how+`(hashtextextended($1, 0))`, t.program.String()+" "+id.String())
	return err
}

// refuseErased refuses a write about somebody who was erased, and keeps them from being erased until the commit. The two are
// two statements, for what is asked must be seen after what was waited for.
func refuseErased(ctx context.Context, t *tx, noun domain.Noun, id domain.ID) error {
	if err := holdPerson(ctx, t, "pg_advisory_xact_lock_shared", id); err != nil {
		return err
	}
	var erased bool
	err := t.QueryRow(ctx, `SELECT EXISTS (SELECT 1 FROM erasures WHERE program_id = $1 AND id = $2 AND noun = $3)`,
		t.program, id, noun).Scan(&erased)
	if err == nil && erased {
		return domain.RefuseErased(noun)
	}
	return err
}

// refuseErased refuses a record about somebody who was erased.
func (r *records[F, K]) refuseErased(ctx context.Context, t *tx, id domain.ID, fields F) error {
	if r.person == nil {
		return nil
	}
	noun, person := r.person(id, fields)
	return refuseErased(ctx, t, noun, person)
}

// isPerson makes the records of a store persons: whoever writes one holds it against its erasure first.
func (r *records[F, K]) isPerson() {
	r.person = func(id domain.ID, _ F) (domain.Noun, domain.ID) { return r.noun, id }
	r.first = func(ctx context.Context, t *tx, id domain.ID) error {
		return holdPerson(ctx, t, "pg_advisory_xact_lock_shared", id)
	}
}
