package main

import (
	"archive/zip"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
	"cagework/postgres/pgtest"
)

// peopled is a database with one program, its director and a goalie, the same ids each time.
type peopled struct {
	*pgtest.Database
	stores            *postgres.Stores
	actor             domain.Actor
	goalie            domain.ID
	program, director string
}

func newPeopled(t *testing.T) *peopled {
	t.Helper()
	p := &peopled{Database: pgtest.New(t), goalie: domain.NameID(demoProgramID, "a goalie who leaves")}
	program := domain.NameID(demoProgramID, "a program that is left")
	p.program, p.director, _ = newProgram(t, p.URL, "--id="+program.String())
	db, err := postgres.Open(t.Context(), postgres.Config{URL: p.URL, MaxConns: 2})
	require.NoError(t, err)
	t.Cleanup(db.Close)
	p.stores, p.actor = postgres.NewStores(db, judgement.Judge{}), domain.Actor{ProgramID: program, Role: domain.Director}
	p.put(t, p.goalie, "Wren Abbot")
	return p
}

func (p *peopled) put(t *testing.T, id domain.ID, name string) {
	t.Helper()
	_, _, err := p.stores.Goalies.Put(t.Context(), p.actor, id, domain.GoalieFields{Name: name, StickHand: "left",
		Availability: domain.Full, AllowedDrillIDs: []domain.ID{}})
	require.NoError(t, err)
}

func (p *peopled) name(t *testing.T, id domain.ID) string {
	t.Helper()
	goalie, err := p.stores.Goalies.Get(t.Context(), p.actor, id)
	require.NoError(t, err)
	return goalie.Fields.Name
}

// erased erases the goalie by command: a dry run, then its digest.
func (p *peopled) erased(t *testing.T, more ...string) string {
	t.Helper()
	args := append([]string{"person", "erase", "--database-url=" + p.URL, "--program=" + p.program, "--goalie=" + p.goalie.String()}, more...)
	digest := regexp.MustCompile(`--digest=\S+`).FindString(ok(t, args...))
	require.Equal(t, "Wren Abbot", p.name(t, p.goalie), "a dry run writes nothing")
	return ok(t, append(args, digest)...)
}

func TestAPersonIsExportedAndErasedByCommand(t *testing.T) {
	t.Parallel()
	p := newPeopled(t)
	list := filepath.Join(t.TempDir(), "erasures")
	for who, files := range map[string][]string{
		"--goalie=" + p.goalie.String(): {"goalie.json", "shots.csv", "changes.json", "README.txt"},
		"--member=" + p.director:        {"member.json", "tokens.json", "writes.json", "README.txt"},
	} {
		file := filepath.Join(t.TempDir(), "export.zip")
		args := []string{"person", "export", "--database-url=" + p.URL, "--program=" + p.program, who, "--out=" + file}
		require.Contains(t, ok(t, args...), file)
		z, err := zip.OpenReader(file)
		require.NoError(t, err)
		for _, name := range files {
			f, err := z.Open(name)
			require.NoError(t, err, name)
			require.NoError(t, f.Close())
		}
		require.NoError(t, z.Close())
		_, _, err = cagework(t, args...)
		require.ErrorIs(t, err, os.ErrExist, "what was exported is not written over")
	}
	missing := filepath.Join(t.TempDir(), "export.zip")
	_, _, err := cagework(t, "person", "export", "--database-url="+p.URL, "--program="+p.program, "--goalie="+p.director, "--out="+missing)
	require.Equal(t, domain.NotFound, domain.CodeOf(err))
	require.NoFileExists(t, missing)
	_, _, err = cagework(t, "person", "erase", "--database-url="+p.URL, "--program="+p.program, "--member="+p.director)
	require.Equal(t, domain.InUse, domain.CodeOf(err), "the last director")

	said := p.erased(t, "--erasures-file="+list)
	require.Contains(t, said, "was erased at")
	require.NotContains(t, said, "NOT kept apart")
	require.Equal(t, domain.ErasedGoalie, p.name(t, p.goalie))
	lines, err := os.ReadFile(list)
	require.NoError(t, err)
	require.Regexp(t, `^\{.*"begun"\}\n\{.*"done"\}\n$`, string(lines))
	require.NotContains(t, string(lines), "Wren")
	require.Contains(t, ok(t, "person", "erase", "--database-url="+p.URL, "--program="+p.program, "--goalie="+p.goalie.String()), "was erased at")
}

// TestARestoredBackupIsBroughtUpToTheList plays the backup by a database that was never told.
func TestARestoredBackupIsBroughtUpToTheList(t *testing.T) {
	t.Parallel()
	newer, older := newPeopled(t), newPeopled(t)
	list := filepath.Join(t.TempDir(), "erasures")
	newer.erased(t, "--erasures-file="+list)
	file, err := os.OpenFile(list, os.O_APPEND|os.O_WRONLY, 0)
	require.NoError(t, err)
	_, err = file.WriteString(`{"program_id":"` + newer.program + `","id":"019`) // cut off by a crash
	require.NoError(t, err)
	require.NoError(t, file.Close())
	other := newPeopled(t)
	other.erased(t, "--erasures-file="+list) // goes on after it

	replay := []string{"erasures", "replay", "--database-url=" + older.URL, list}
	require.Equal(t, "erased 1 persons and 0 programs that were still there\n", ok(t, replay...))
	require.Equal(t, domain.ErasedGoalie, older.name(t, older.goalie))
	require.Equal(t, "erased 0 persons and 0 programs that were still there\n", ok(t, replay...))

	require.Contains(t, ok(t, "program", "remove", "--database-url="+newer.AdminURL, "--program="+newer.program, "--erasures-file="+list), "Nothing was removed")
	_, _, err = cagework(t, "program", "remove", "--database-url="+newer.AdminURL, "--program="+newer.program, "--confirm=Harbor Hill")
	require.Equal(t, domain.Conflict, domain.CodeOf(err))
	_, _, err = cagework(t, "program", "remove", "--database-url="+newer.URL, "--program="+newer.program, "--confirm=Harbor Hill Lacrosse", "--erasures-file="+list)
	require.ErrorContains(t, err, "owns the schema")
	_, _, err = cagework(t, replay...)
	require.NoError(t, err, "a try that failed removes nothing elsewhere")
	require.Contains(t, ok(t, "program", "remove", "--database-url="+newer.AdminURL, "--program="+newer.program, "--confirm=Harbor Hill Lacrosse",
		"--erasures-file="+list), "The program was removed.")
	require.Equal(t, "erased 0 persons and 1 programs that were still there\n", ok(t, "erasures", "replay", "--database-url="+older.AdminURL, list))
	_, err = older.stores.Goalies.Get(t.Context(), older.actor, older.goalie)
	require.Equal(t, domain.NotFound, domain.CodeOf(err))

	require.NoError(t, os.WriteFile(list, []byte("{\"program_id\":7}\n"), 0o600))
	_, _, err = cagework(t, replay...)
	require.ErrorContains(t, err, "line 1 of")
	_, _, err = cagework(t, append(replay[:3:3], list+" that is not there")...)
	require.ErrorIs(t, err, os.ErrNotExist)
}

func TestRetentionIsOffUnlessSet(t *testing.T) {
	t.Parallel()
	p := newPeopled(t)
	recent, removed, team := domain.NewID(time.Now()), domain.NewID(time.Now()), domain.NewID(time.Now())
	onRoster := domain.NewID(time.Now())
	for id, name := range map[domain.ID]string{recent: "Recent", removed: "Removed", onRoster: "On a roster"} {
		p.put(t, id, name)
	}
	competitions, err := p.stores.Competitions.List(t.Context(), p.actor, domain.Query{Limit: 1})
	require.NoError(t, err)
	_, _, err = p.stores.Teams.Put(t.Context(), p.actor, team, domain.TeamFields{Name: "Varsity", CompetitionID: competitions.Items[0].ID, PracticeMinutes: 60})
	require.NoError(t, err)
	_, _, err = p.stores.RosterSpells.Put(t.Context(), p.actor, domain.NewID(time.Now()), domain.RosterSpellFields{TeamID: team, GoalieID: onRoster,
		FromOn: domain.DateOf(time.Now().AddDate(-3, 0, 0))})
	require.NoError(t, err)
	require.NoError(t, p.stores.Goalies.Remove(t.Context(), p.actor, removed, domain.Rev{Any: true}))
	execute(t, p.AdminURL, `UPDATE changes SET at = at - interval '25 months' WHERE record_id <> $1`, recent)

	args := []string{"retention", "--database-url=" + p.URL, "--program=" + p.program}
	require.Contains(t, ok(t, args...), "Retention is off")
	dry := ok(t, append(args, "--months=24")...)
	for _, id := range []domain.ID{p.goalie, removed} {
		require.Contains(t, dry, "would erase goalie "+id.String()+"\n")
	}
	require.Equal(t, 3, strings.Count(dry, "\n"), dry)
	require.NotContains(t, dry, "Wren")
	require.Equal(t, "Wren Abbot", p.name(t, p.goalie))
	require.Contains(t, ok(t, append(args, "--months=26", "--apply")...), "0 goalies")
	require.Contains(t, ok(t, append(args, "--months=24", "--apply")...), "2 goalies")
	require.Equal(t, domain.ErasedGoalie, p.name(t, p.goalie))
	require.Equal(t, "Recent", p.name(t, recent))
	require.Equal(t, "On a roster", p.name(t, onRoster))
	require.Contains(t, ok(t, append(args, "--months=24", "--apply")...), "0 goalies")
}

func TestServeWantsAListThatCanBeWritten(t *testing.T) {
	t.Parallel()
	d := pgtest.New(t)
	_, _, err := cagework(t, "serve", "--database-url="+d.URL, "--address=127.0.0.1:0", "--metrics-address=", "--erasures-file="+filepath.Join(t.TempDir(), "no folder", "list"))
	require.ErrorContains(t, err, "--erasures-file")
}
