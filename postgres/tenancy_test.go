package postgres_test

import (
	"context"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

// peopled gives a scene with a record of every kind in it, and a director of another program.
func peopled(t *testing.T) (*scene, map[string]row, domain.Actor) {
	t.Helper()
	s := newScene(t)
	rows := map[string]row{}
	for _, k := range s.kinds() {
		one, how, err := k.put(t.Context(), s.director, id("mine "+k.field), k.full)
		require.NoError(t, err, k.field)
		require.Equal(t, domain.Created, how)
		rows[k.field] = one
	}
	fit := s.fitted(t, "mine Fits", "2026-04-11")
	rows["Fits"] = row{fit.ID, fit.Rev, fit.Fields, fit.Found}
	gone := made(t, s.stores.Goalies, s.director, "erased", goalieCalled("Sable"))
	_, err := s.stores.Erasures.Erase(t.Context(), s.director, domain.NounGoalie, gone.ID, domain.ErasureConsent{Rev: at(gone.Rev)})
	require.NoError(t, err)
	require.NoError(t, s.stores.Accesses.Write(t.Context(), s.program.ID, []domain.Access{s.looked("peopled", noon)}))
	s.signedIn(t)
	_, stranger := s.another(t, "Millbrook")
	return s, rows, stranger
}

// TestAnotherProgramReachesNothing tries every method of every store of records from another program.
func TestAnotherProgramReachesNothing(t *testing.T) {
	t.Parallel()
	s, mine, stranger := peopled(t)
	own := map[string]bool{"Members": true, "Competitions": true, "Habits": true, "Targets": true, "Drills": true, "Rules": true} // the starter data
	digest := s.program0(t)
	filters := map[string]domain.Filter{
		"none": {}, "team": {TeamID: &s.team.ID}, "goalie": {GoalieID: &s.goalie.ID}, "game": {GameID: &s.game.ID},
		"member": {MemberID: &s.director.MemberID},
	}
	for _, k := range s.kinds() {
		one := mine[k.field]
		_, err := k.get(t.Context(), stranger, one.id)
		refused(t, domain.NotFound, err)
		_, err = k.patch(t.Context(), stranger, one.id, anyRev, k.bare)
		refused(t, domain.NotFound, err)
		refused(t, domain.NotFound, k.remove(t.Context(), stranger, one.id, anyRev))
		for name, filter := range filters {
			listed, _, err := k.list(t.Context(), stranger, domain.Query{Limit: domain.MaxLimit, Filter: filter})
			if name != "none" && (err != nil || !own[k.field]) { // another program's is nothing to narrow by
				refused(t, domain.Invalid, err)
				continue
			}
			require.NoError(t, err)
			for _, r := range listed {
				require.NotEqual(t, one.id, r.id)
				require.False(t, ask[bool](t, s.world, `SELECT EXISTS (SELECT FROM `+k.table+` WHERE program_id = $1 AND id = $2)`,
					s.program.ID, r.id), "%s by %s", k.field, name)
			}
			if !own[k.field] {
				require.Empty(t, listed, "%s by %s", k.field, name)
			}
		}
		theirs, how, err := k.put(t.Context(), stranger, one.id, k.full)
		if err != nil {
			require.NotEmpty(t, refused(t, domain.Invalid, err).Fields, "what it names is not there: %s", k.field)
		} else {
			require.Equal(t, domain.Created, how, "%s: an id is a program's own", k.field)
			require.NoError(t, k.remove(t.Context(), stranger, one.id, at(theirs.rev)))
		}
	}
	require.Equal(t, digest, s.program0(t), "nothing of the first program has changed")
}

// program0 is a digest of the first program alone.
func (s *scene) program0(t *testing.T) string {
	t.Helper()
	digest := ""
	for _, table := range tenantTables[1:] {
		digest += ask[string](t, s.world, `SELECT coalesce(md5(string_agg(r::text, '|' ORDER BY r::text)), '') FROM `+table+` r
			WHERE program_id = $1`, s.program.ID)
	}
	return digest
}

func TestAnotherProgramReachesNoSummary(t *testing.T) {
	t.Parallel()
	s, _, stranger := peopled(t)
	_, err := s.stores.Lines.Goalie(t.Context(), stranger, s.goalie.ID, domain.Span{}, nil)
	refused(t, domain.NotFound, err)
	_, err = s.stores.Weeks.Goalie(t.Context(), stranger, s.goalie.ID, domain.Week{Year: 2026, Number: 15})
	refused(t, domain.NotFound, err)
	week := domain.Week{Year: 2026, Number: 15}
	_, err = s.stores.Weeks.Team(t.Context(), stranger, s.team.ID, week)
	refused(t, domain.NotFound, err)
	board, err := s.stores.Weeks.Program(t.Context(), stranger, week)
	require.NoError(t, err)
	require.Empty(t, board.Teams)
	require.Empty(t, board.Weeks)
	require.Empty(t, board.Games)
	theirs := made(t, s.stores.Goalies, stranger, "theirs", goalieCalled("Juno"))
	_, err = s.stores.Lines.Goalie(t.Context(), stranger, theirs.ID, domain.Span{}, new(id("mine Seasons")))
	require.Equal(t, "season_id", refused(t, domain.Invalid, err).Fields[0].Pointer)

	program, err := s.stores.Programs.Get(t.Context(), stranger)
	require.NoError(t, err)
	require.Equal(t, stranger.ProgramID, program.ID)
	_, err = s.stores.Fits.Get(t.Context(), stranger, id("mine Fits"))
	refused(t, domain.NotFound, err)
	fits, err := s.stores.Fits.List(t.Context(), stranger, domain.Query{})
	require.NoError(t, err)
	require.Empty(t, fits.Items)
	posing := stranger
	posing.MemberID = s.director.MemberID
	_, _, err = s.stores.Me.Get(t.Context(), posing)
	refused(t, domain.NotFound, err)
	_, _, err = s.stores.Me.Get(t.Context(), domain.Actor{ProgramID: id("nowhere"), MemberID: s.director.MemberID, Role: domain.Director})
	refused(t, domain.NotFound, err)
}

func TestATokenOpensItsOwnProgram(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	_, stranger := s.another(t, "Millbrook")
	token := made(t, s.stores.Tokens, s.director, "token", domain.TokenFields{
		MemberID: s.director.MemberID, Label: "phone", ExpiresAt: noon.AddDate(0, 1, 0),
	})
	a, err := s.stores.Tokens.Authenticate(t.Context(), *token.Found.Secret)
	require.NoError(t, err)
	require.Equal(t, domain.Actor{
		ProgramID: s.program.ID, MemberID: s.director.MemberID, Role: domain.Director, TeamIDs: []domain.ID{}, GoalieIDs: []domain.ID{},
		TokenID: token.ID,
	}, a)
	for _, secret := range []string{"", "cw_", *token.Found.Secret + "A", domain.NewSecret(s.program.ID), domain.NewSecret(stranger.ProgramID), domain.NewSecret(id("nowhere"))} {
		_, err := s.stores.Tokens.Authenticate(t.Context(), secret)
		refused(t, domain.Unauthenticated, err)
	}
	s.exec(t, `UPDATE tokens SET expires_at = $1`, noon)
	_, err = s.stores.Tokens.Authenticate(t.Context(), *token.Found.Secret)
	refused(t, domain.Unauthenticated, err)
	s.exec(t, `UPDATE tokens SET expires_at = $1`, noon.AddDate(0, 1, 0))
	require.NoError(t, s.stores.Tokens.Remove(t.Context(), s.director, token.ID, anyRev))
	_, err = s.stores.Tokens.Authenticate(t.Context(), *token.Found.Secret)
	refused(t, domain.Unauthenticated, err)
}

// asService runs statements as the service's role with a setting of the program, "" for none, and takes them back.
func asService(t *testing.T, conn *pgx.Conn, setting string, do func(pgx.Tx)) {
	t.Helper()
	tx, err := conn.Begin(t.Context())
	require.NoError(t, err)
	defer func() { require.NoError(t, tx.Rollback(context.WithoutCancel(t.Context()))) }()
	_, err = tx.Exec(t.Context(), `SET LOCAL ROLE cagework_service`)
	require.NoError(t, err)
	if setting != "" {
		_, err = tx.Exec(t.Context(), `SET LOCAL app.program_id = '`+setting+`'`)
		require.NoError(t, err)
	}
	do(tx)
}

// TestRowSecurityHoldsForPlainSQL is about a query that forgets its program: row security is the second wall.
func TestRowSecurityHoldsForPlainSQL(t *testing.T) {
	t.Parallel()
	s, _, stranger := peopled(t)
	nobody := id("nowhere").String()
	for name, address := range map[string]string{"login": s.db.URL, "superuser": s.db.AdminURL} {
		conn := dial(t, address)
		for _, table := range tenantTables {
			key := "program_id"
			if table == "programs" {
				key = "id"
			}
			sample := ask[string](t, s.world, `SELECT to_jsonb(r)::text FROM `+table+` r WHERE `+key+` = $1 LIMIT 1`, s.program.ID)
			for _, setting := range []string{"", nobody, stranger.ProgramID.String()} {
				asService(t, conn, setting, func(tx pgx.Tx) {
					var rows int
					require.NoError(t, tx.QueryRow(t.Context(), `SELECT count(*) FROM `+table+` WHERE `+key+` = $1`, s.program.ID).Scan(&rows))
					require.Zero(t, rows, "%s reads %s", name, table)
					if setting != stranger.ProgramID.String() {
						require.NoError(t, tx.QueryRow(t.Context(), `SELECT count(*) FROM `+table).Scan(&rows))
						require.Zero(t, rows, "%s reads %s", name, table)
					}
					_, err := tx.Exec(t.Context(), `INSERT INTO `+table+` SELECT * FROM jsonb_populate_record(NULL::`+table+`, $1::jsonb)`, sample)
					require.Equal(t, "42501", sqlState(t, err), "%s inserts into %s", name, table)
				})
			}
			asService(t, conn, s.program.ID.String(), func(tx pgx.Tx) {
				var rows int
				require.NoError(t, tx.QueryRow(t.Context(), `SELECT count(*) FROM `+table).Scan(&rows))
				require.Positive(t, rows, "with its own program's setting it reads %s", table)
			})
		}
	}
}

// TestASettingIsGoneAfterItsTransaction keeps one request's program from reaching the next on a pooled connection.
func TestASettingIsGoneAfterItsTransaction(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	conn := dial(t, s.db.URL)
	asService(t, conn, s.program.ID.String(), func(pgx.Tx) {})
	asService(t, conn, "", func(tx pgx.Tx) {
		var rows int
		require.NoError(t, tx.QueryRow(t.Context(), `SELECT count(*) FROM goalies`).Scan(&rows), "an empty setting is no error")
		require.Zero(t, rows)
		_, err := tx.Exec(t.Context(), `UPDATE changes SET noun = ''`)
		require.Equal(t, "42501", sqlState(t, err), "the history cannot be changed")
	})
}

func sqlState(t *testing.T, err error) string {
	t.Helper()
	var pg *pgconn.PgError
	require.ErrorAs(t, err, &pg)
	return pg.Code
}

// TestEveryTransactionStepsDown lets the database itself look at who writes: even a superuser's login must act as the
// service's role and name its program.
func TestEveryTransactionStepsDown(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.exec(t, `CREATE FUNCTION looks() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
			IF current_user <> 'cagework_service' OR current_setting('app.program_id') <> NEW.program_id::text THEN
				RAISE EXCEPTION '% writes', current_user;
			END IF;
			RETURN NEW;
		END $$;
		CREATE TRIGGER looks BEFORE INSERT OR UPDATE ON changes FOR EACH ROW EXECUTE FUNCTION looks()`)
	for name, address := range map[string]string{"login": s.db.URL, "superuser": s.db.AdminURL} {
		stores := postgres.NewStores(open(t, address, 2), judgement.Judge{})
		made(t, stores.Goalies, s.director, "of "+name, s.goalie.Fields)
	}
}

// TestAnotherProgramReachesNoHistoryAndNoBatch is about the methods that go beyond one kind of record.
func TestAnotherProgramReachesNoHistoryAndNoBatch(t *testing.T) {
	t.Parallel()
	s, mine, stranger := peopled(t)
	before := s.program0(t)
	for field, one := range mine {
		_, err := s.stores.Changes.Of(t.Context(), stranger, one.id, 0, 0)
		refused(t, domain.NotFound, err)
		_, err = s.stores.Changes.Undo(t.Context(), stranger, one.id, at(1), 0)
		refused(t, domain.NotFound, err)
		_, err = s.stores.Changes.Of(t.Context(), s.director, one.id, 0, 0)
		require.NoError(t, err, "%s: its own program reads it", field)
	}
	_, err := s.stores.Lines.Team(t.Context(), stranger, s.team.ID, domain.Span{}, nil)
	refused(t, domain.NotFound, err)
	shot := s.fullShot()
	results, err := s.stores.Shots.PutMany(t.Context(), stranger, []domain.ShotItem{{ID: s.shot.ID, ShotFields: shot}, {ID: id("new"), ShotFields: shot}})
	require.NoError(t, err)
	for _, r := range results {
		require.Equal(t, domain.ItemInvalid, r.Status)
		require.NotEmpty(t, refused(t, domain.Invalid, r.Err).Fields)
	}
	require.Equal(t, before, s.program0(t))
}
