package postgres_test

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/summary"
	"cagework/postgres"
)

// TestEveryTextIsAccountedFor reads the catalog: whoever adds a column that can hold text must say what an erasure does with it.
func TestEveryTextIsAccountedFor(t *testing.T) {
	t.Parallel()
	w := newWorld(t)
	columns := func() []string {
		return all(t, w, pgx.RowTo[string], `SELECT r.relname || '.' || a.attname FROM pg_attribute a JOIN pg_class r ON r.oid = a.attrelid
			WHERE r.relnamespace = 'public'::regnamespace AND r.relkind IN ('r', 'p') AND a.attnum > 0 AND NOT a.attisdropped
			AND format_type(a.atttypid, NULL) !~ '^(uuid|bigint|integer|boolean|double precision|date|timestamp with time zone|bytea|inet)(\[\])?$'`)
	}
	var told []string
	for table, its := range postgres.TextColumns() {
		for column := range its {
			told = append(told, table+"."+column)
		}
	}
	require.ElementsMatch(t, columns(), told)

	w.exec(t, `ALTER TABLE goalies ADD COLUMN nickname varchar(20)`)
	require.Contains(t, columns(), "goalies.nickname", "a new column is seen")
}

// planted are texts about the goalie that is erased: names borne, and words of others.
const (
	firstName  = "Wren"
	secondName = "Wren O'Abbot (Jr.)"
	ownWords   = "flinches at high balls"
)

// plant puts the names into every column of a kind of record that holds anybody's words, of every row.
func (s *scene) plant(t *testing.T, table string) {
	t.Helper()
	quoted := "'" + strings.ReplaceAll("beside "+secondName+", wren o'abbot (jr.) and "+firstName+" too", "'", "''") + "'"
	for column, holds := range postgres.TextColumns()[table] {
		switch holds {
		case "prose":
			s.exec(t, "UPDATE "+table+" SET "+column+" = "+quoted)
		case "proses":
			s.exec(t, "UPDATE "+table+" SET "+column+" = ARRAY['first', "+quoted+"]")
		case "marks":
			member := map[string]string{"rates": "source"}[column]
			if member == "" {
				member = "name"
			}
			s.exec(t, "UPDATE "+table+" SET "+column+" = jsonb_set("+column+", '{0,"+member+"}', to_jsonb("+quoted+"::text)) WHERE jsonb_array_length("+column+") > 0")
		}
	}
}

// known makes the scene one in which a goalie with a record of every kind beside it is written about everywhere, in rows and in
// the history, and gives a viewer who is named after the goalie.
func (s *scene) known(t *testing.T) domain.Member {
	t.Helper()
	goalie := s.goalie.Fields
	goalie.Name, goalie.AgeBand, goalie.Availability = secondName, new(domain.Level("14u")), domain.Limited
	_, err := s.stores.Goalies.Patch(t.Context(), s.director, s.goalie.ID, anyRev, to(goalie))
	require.NoError(t, err)
	viewer := made(t, s.stores.Members, s.director, "viewer", domain.MemberFields{Name: secondName + "'s mother", Role: domain.Viewer,
		TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{s.goalie.ID}})
	for _, k := range s.kinds() {
		_, _, err := k.put(t.Context(), s.director, id("known "+k.field), k.full)
		require.NoError(t, err, k.field)
		_, _, err = k.put(t.Context(), s.director, id("gone "+k.field), k.full)
		if code := domain.CodeOf(err); code == domain.Conflict || code == domain.InTheWay { // the same code, time or shot
			err = nil
		}
		require.NoError(t, err, k.field)
	}
	s.fitted(t, "a fit", "2026-04-11")
	for table := range postgres.TextColumns() {
		s.plant(t, table)
	}
	s.exec(t, `UPDATE assignments SET reason = $1 WHERE goalie_id = $2`, ownWords, s.goalie.ID)
	for _, k := range s.kinds() { // what was planted is now what the records were before
		if !k.fixed {
			_, err := k.patch(t.Context(), s.director, id("known "+k.field), anyRev, k.bare)
			require.NoError(t, err, k.field)
		}
		if err := k.remove(t.Context(), s.director, id("gone "+k.field), anyRev); domain.CodeOf(err) != domain.NotFound {
			require.NoError(t, err, k.field)
		}
	}
	program := s.program.Fields
	program.Name = "Another"
	_, err = s.stores.Programs.Patch(t.Context(), s.director, anyRev, to(program))
	require.NoError(t, err)
	for table := range postgres.TextColumns() {
		s.plant(t, table)
	}
	s.exec(t, `UPDATE assignments SET reason = $1 WHERE goalie_id = $2`, ownWords, s.goalie.ID)
	return viewer
}

// dumped gives every row of every table as text, as the administrator sees it.
func (w *world) dumped(t testing.TB) map[string][]string {
	t.Helper()
	rows := map[string][]string{}
	for _, table := range all(t, w, pgx.RowTo[string], `SELECT relname::text FROM pg_class
		WHERE relnamespace = 'public'::regnamespace AND relkind IN ('r', 'p', 'v', 'm')`) {
		rows[table] = all(t, w, pgx.RowTo[string], `SELECT to_jsonb(r)::text FROM `+table+` r`)
	}
	return rows
}

// holding gives the tables with a row that holds one of some texts, whatever its capitals.
func holding(rows map[string][]string, texts ...string) []string {
	found := map[string]bool{}
	for table, its := range rows {
		for _, row := range its {
			for _, text := range texts {
				if strings.Contains(strings.ToLower(row), strings.ToLower(text)) {
					found[table] = true
				}
			}
		}
	}
	return slices.Sorted(maps.Keys(found))
}

// erase erases as a director does: a dry run, then its digest.
func (w *world) erase(t testing.TB, noun domain.Noun, id domain.ID) domain.Erasure {
	t.Helper()
	plan, done, err := w.stores.Erasures.Plan(t.Context(), w.director, noun, id)
	require.NoError(t, err)
	require.Nil(t, done)
	receipt, err := w.stores.Erasures.Erase(t.Context(), w.director, noun, id, domain.ErasureConsent{Digest: plan.Digest})
	require.NoError(t, err)
	require.Equal(t, plan.Counts, receipt.Fields.Counts)
	return receipt
}

func TestAnErasedGoalieIsNamedNowhere(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	viewer := s.known(t)
	before := s.dumped(t)
	found := holding(before, firstName, "Abbot", ownWords)
	for table, columns := range postgres.TextColumns() {
		if slices.ContainsFunc(slices.Collect(maps.Values(columns)), func(h string) bool { return strings.HasPrefix(h, "prose") || h == "marks" || h == "history" }) {
			require.Contains(t, found, table, "nothing was planted in it")
		}
	}
	receipt := s.erase(t, domain.NounGoalie, s.goalie.ID)
	after := s.dumped(t)
	require.Empty(t, holding(after, firstName, "Abbot", ownWords))
	require.Equal(t, s.director.MemberID, *receipt.Fields.MemberID)
	require.False(t, receipt.Fields.KeptApart)
	require.Len(t, after["shots"], len(before["shots"]))
	require.ElementsMatch(t, before["shots"], after["shots"], "what was charted is untouched")
	require.ElementsMatch(t, before["fits"], after["fits"])
	require.ElementsMatch(t, before["readings"], after["readings"])
	require.Len(t, after["goalies"], len(before["goalies"]))
	s.lastRev(t, s.program.ID)

	goalie, err := s.stores.Goalies.Get(t.Context(), s.director, s.goalie.ID)
	require.NoError(t, err)
	require.Equal(t, s.goalie.Fields.Nameless(), goalie.Fields)
	require.Equal(t, receipt.Rev, goalie.Rev)
	member, err := s.stores.Members.Get(t.Context(), s.director, viewer.ID)
	require.NoError(t, err)
	require.Equal(t, domain.MemberFields{Name: "[erased]'s mother", Role: domain.Viewer, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{}}, member.Fields)
	other, err := s.stores.Goalies.Get(t.Context(), s.director, id("known Goalies"))
	require.NoError(t, err)
	require.Equal(t, "Juno", other.Fields.Name)

	page, err := s.stores.Changes.Of(t.Context(), s.director, s.goalie.ID, 0, 0)
	require.NoError(t, err)
	require.Equal(t, domain.OpErase, page.Items[len(page.Items)-1].Op)
	for _, k := range s.kinds() { // whose history was rewritten can still be read
		_, err := s.stores.Changes.Of(t.Context(), s.director, id("gone "+k.field), 0, 0)
		if domain.CodeOf(err) != domain.NotFound {
			require.NoError(t, err, k.field)
		}
	}
	list, err := s.stores.Erasures.List(t.Context(), s.director, domain.Query{})
	require.NoError(t, err)
	require.Equal(t, []domain.Erasure{receipt}, list.Items)

	again, err := s.stores.Erasures.Erase(t.Context(), s.director, domain.NounGoalie, s.goalie.ID, domain.ErasureConsent{Digest: "whatever"})
	require.NoError(t, err)
	require.Equal(t, receipt, again, "sent again, it answers the same")
	require.Equal(t, fmt.Sprint(after), fmt.Sprint(s.dumped(t)))
}

// TestAnErasureLeavesTheNumbers compares what weeks and lines say of the goalies before and after.
func TestAnErasureLeavesTheNumbers(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.manyShots(t)
	one, other := id("goalie 0"), id("goalie 1")
	named := goalieCalled("Gale Orr")
	_, err := s.stores.Goalies.Patch(t.Context(), s.director, one, anyRev, to(named))
	require.NoError(t, err)
	for _, g := range []domain.ID{one, other} {
		made(t, s.stores.RosterSpells, s.director, "spell of "+g.String(), domain.RosterSpellFields{TeamID: s.team.ID, GoalieID: g, FromOn: day("2026-01-01")})
	}
	numbers := func() string {
		ctx, st, week := t.Context(), s.stores, domain.Week{Year: 2026, Number: 15}
		own, err := st.Weeks.Goalie(ctx, s.director, one, week)
		require.NoError(t, err)
		peer, err := st.Weeks.Goalie(ctx, s.director, other, week)
		require.NoError(t, err)
		lines, err := st.Lines.Goalie(ctx, s.director, one, domain.Span{}, nil)
		require.NoError(t, err)
		team, err := st.Lines.Team(ctx, s.director, s.team.ID, domain.Span{}, nil)
		require.NoError(t, err)
		text, err := json.MarshalIndent([]any{
			summary.OfGoalie(own).Plays, summary.OfGoalie(peer), summary.GoalieLines(lines, summary.ByGame), summary.TeamLines(team, summary.ByGame),
		}, "", " ")
		require.NoError(t, err)
		return strings.ReplaceAll(string(text), "Gale Orr", domain.ErasedGoalie)
	}
	before := numbers()
	require.Contains(t, before, domain.ErasedGoalie)
	s.erase(t, domain.NounGoalie, one)
	require.Equal(t, before, numbers())
}

func TestAnErasedIDTakesNoTextAgain(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	st, a := s.stores, s.director
	block := domain.AssignmentFields{GoalieID: s.goalie.ID, TargetID: s.target.ID, DrillID: s.drill.ID,
		Dose: domain.Dose{Minutes: 10, Repetitions: 10, TimesAWeek: 2}, StartsOn: day("2026-04-13"), Weeks: 2,
		Status: domain.Dropped, Reason: new(ownWords)}
	made(t, st.Assignments, a, "block", block)
	made(t, st.Assignments, a, "gone block", block)
	require.NoError(t, st.Assignments.Remove(t.Context(), a, id("gone block"), anyRev))
	member := made(t, st.Members, a, "member", domain.MemberFields{Name: "Ode Fell", Role: domain.Coach, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{}})
	token := made(t, st.Tokens, a, "token", domain.TokenFields{MemberID: member.ID, Label: "Ode's phone", ExpiresAt: noon.AddDate(0, 1, 0)})
	gone := made(t, st.Goalies, a, "gone", goalieCalled("Juno Reed"))
	require.NoError(t, st.Goalies.Remove(t.Context(), a, gone.ID, anyRev))
	named := made(t, st.Seasons, a, "named", domain.SeasonFields{Name: "The spring of Juno Reed", StartsOn: day("2026-01-01"), EndsOn: day("2026-02-01")})

	s.erase(t, domain.NounGoalie, s.goalie.ID)
	s.erase(t, domain.NounMember, member.ID)
	s.erase(t, domain.NounGoalie, gone.ID)
	require.Empty(t, holding(s.dumped(t), s.goalie.Fields.Name, ownWords, "Ode Fell", "Ode's", "Juno"))
	_, err := st.Tokens.Authenticate(t.Context(), *token.Found.Secret)
	refused(t, domain.Unauthenticated, err)
	erased := s.digest(t)

	is := func(err error, what string) {
		t.Helper()
		refused(t, domain.Erased, err)
		require.Equal(t, erased, s.digest(t), what)
	}
	for _, g := range []domain.Goalie{s.goalie, gone} {
		_, _, err = st.Goalies.Put(t.Context(), a, g.ID, g.Fields)
		is(err, "a late repeat")
		_, _, err = st.Goalies.Put(t.Context(), a, g.ID, goalieCalled("Somebody else"))
		is(err, "a name anew")
		for rev := range int64(20) { // every change of it, and some that are not its own
			_, err = st.Changes.Undo(t.Context(), a, g.ID, anyRev, rev+1)
			require.Contains(t, []domain.Code{domain.Erased, domain.NotFound, domain.InUse}, domain.CodeOf(err), "undo of %d: %v", rev+1, err)
		}
		require.Equal(t, erased, s.digest(t))
	}
	_, err = st.Goalies.Patch(t.Context(), a, s.goalie.ID, anyRev, to(s.goalie.Fields))
	is(err, "a patch")
	_, _, err = st.Assignments.Put(t.Context(), a, id("block"), block)
	is(err, "a block sent again")
	_, _, err = st.Assignments.Put(t.Context(), a, id("new block"), block)
	is(err, "a new block")
	_, err = st.Assignments.Patch(t.Context(), a, id("block"), anyRev, to(block))
	is(err, "a block's reason")
	err = s.takeBack(t.Context(), a, id("gone block"))
	is(err, "an undone erasure")
	for _, c := range s.history(t, s.program.ID, id("gone block")) {
		if c.Op == "remove" {
			_, err = st.Changes.Undo(t.Context(), a, id("gone block"), anyRev, c.Rev)
			is(err, "a removed block brought back")
		}
	}
	_, _, err = st.Members.Put(t.Context(), a, member.ID, member.Fields)
	is(err, "a member sent again")
	_, err = st.Members.Patch(t.Context(), a, member.ID, anyRev, to(member.Fields))
	is(err, "a member's patch")
	_, _, err = st.Tokens.Put(t.Context(), a, token.ID, token.Fields)
	is(err, "a token sent again")
	_, _, err = st.Tokens.Put(t.Context(), a, id("another token"), token.Fields)
	is(err, "a new token")
	_, _, err = st.Seasons.Put(t.Context(), a, named.ID, named.Fields)
	refused(t, domain.Conflict, err)
	require.Equal(t, erased, s.digest(t), "others' words sent again")

	shot := s.shotAt(2, 300, domain.Goal)
	shot.GoalieID = &s.goalie.ID
	made(t, st.Shots, a, "late shot", shot) // what is charted late counts, for a nameless goalie
}

func TestAnErasureIsOfWhatWasLookedAt(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	ctx, a, e := t.Context(), s.director, s.stores.Erasures
	before := s.digest(t)
	erase := func(c domain.ErasureConsent) error {
		_, err := e.Erase(ctx, a, domain.NounGoalie, s.goalie.ID, c)
		return err
	}
	plan, _, err := e.Plan(ctx, a, domain.NounGoalie, s.goalie.ID)
	require.NoError(t, err)
	refused(t, domain.PreconditionRequired, erase(domain.ErasureConsent{}))
	refused(t, domain.Stale, erase(domain.ErasureConsent{Digest: "ab"}))
	refused(t, domain.Stale, erase(domain.ErasureConsent{Rev: at(1)}))
	require.Equal(t, before, s.digest(t), "a dry run and refusals write nothing")
	made(t, s.stores.Seasons, a, "named", domain.SeasonFields{Name: "Wren", StartsOn: day("2026-01-01"), EndsOn: day("2026-02-01")})
	refused(t, domain.Stale, erase(domain.ErasureConsent{Digest: plan.Digest}))
	plan, _, err = e.Plan(ctx, a, domain.NounGoalie, s.goalie.ID)
	require.NoError(t, err)
	require.Equal(t, []domain.ErasedRecord{{Noun: domain.NounSeason, ID: id("named")}}, plan.Elsewhere)

	for noun, of := range map[domain.Noun]domain.ID{domain.NounMember: s.goalie.ID, domain.NounGoalie: id("nobody")} {
		_, _, err = e.Plan(ctx, a, noun, of)
		refused(t, domain.NotFound, err)
	}
	_, _, err = e.Plan(ctx, a, domain.NounMember, a.MemberID)
	refused(t, domain.InUse, err)
	_, err = e.Erase(ctx, a, domain.NounMember, a.MemberID, domain.ErasureConsent{Rev: anyRev})
	refused(t, domain.InUse, err)
	_, stranger := s.another(t, "Millbrook")
	_, err = e.Erase(ctx, stranger, domain.NounGoalie, s.goalie.ID, domain.ErasureConsent{Rev: anyRev})
	refused(t, domain.NotFound, err)
	for _, role := range []domain.Role{domain.Coach, domain.Recorder, domain.Viewer} {
		weak := domain.Actor{ProgramID: a.ProgramID, MemberID: a.MemberID, Role: role, TeamIDs: []domain.ID{s.team.ID}}
		_, _, err = e.Plan(ctx, weak, domain.NounGoalie, s.goalie.ID)
		refused(t, domain.Forbidden, err)
		_, err = e.Erase(ctx, weak, domain.NounGoalie, s.goalie.ID, domain.ErasureConsent{Digest: plan.Digest})
		refused(t, domain.Forbidden, err)
		_, err = e.List(ctx, weak, domain.Query{})
		refused(t, domain.Forbidden, err)
	}
	require.NoError(t, erase(domain.ErasureConsent{Rev: at(s.goalie.Rev)}))
}

// TestTheServiceRewritesNoHistory is about plain SQL in the service's role.
func TestTheServiceRewritesNoHistory(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	_, stranger := s.another(t, "Millbrook")
	_, err := s.stores.Goalies.Patch(t.Context(), s.director, s.goalie.ID, anyRev, to(goalieCalled("Juno")))
	require.NoError(t, err)
	before := s.digest(t)
	conn := dial(t, s.db.URL)
	const erase = `SELECT erase_from_changes($1, $2, $3, $4)`
	for _, c := range []struct {
		state, setting, sql string
		args                []any
	}{
		{"42501", s.program.ID.String(), `UPDATE changes SET before = NULL`, nil},
		{"42501", s.program.ID.String(), `DELETE FROM changes`, nil},
		{"42501", s.program.ID.String(), `TRUNCATE changes`, nil},
		{"42501", s.program.ID.String(), `UPDATE erasures SET counts = '[]'`, nil},
		{"42501", s.program.ID.String(), `DELETE FROM erasures`, nil},
		{"42501", stranger.ProgramID.String(), erase, []any{s.program.ID, "goalie", s.goalie.ID, false}},
		{"42501", "", erase, []any{s.program.ID, "goalie", s.goalie.ID, true}},
		{"42501", s.program.ID.String(), erase, []any{stranger.ProgramID, "goalie", s.goalie.ID, true}},
		{"42501", s.program.ID.String(), erase, []any{s.program.ID, "goalie", s.goalie.ID, false}}, // nothing is written down
		{"22023", s.program.ID.String(), erase, []any{s.program.ID, "shot", s.shot.ID, true}},
		{"22023", s.program.ID.String(), erase, []any{s.program.ID, nil, s.goalie.ID, true}},
		{"22023", s.program.ID.String(), erase, []any{s.program.ID, "goalie", s.goalie.ID, nil}},
		{"42501", s.program.ID.String(), `CREATE FUNCTION public.erase_from_changes() RETURNS int LANGUAGE sql AS 'SELECT 1'`, nil},
		{"42501", s.program.ID.String(), `ALTER FUNCTION erase_from_changes(uuid, text, uuid, boolean) RESET search_path`, nil},
	} {
		asService(t, conn, c.setting, func(tx pgx.Tx) {
			_, err := tx.Exec(t.Context(), c.sql, c.args...)
			require.Equal(t, c.state, sqlState(t, err), c.sql)
		})
	}
	require.Equal(t, before, s.digest(t))
	_, err = conn.Exec(context.WithoutCancel(t.Context()), erase, s.program.ID, "goalie", s.goalie.ID, true)
	require.Equal(t, "42501", sqlState(t, err), "outside of a program")
}
