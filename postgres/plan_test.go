package postgres_test

import (
	"context"
	"encoding/json"
	"slices"
	"strings"
	"sync"
	"testing"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"
)

// recorder keeps every query that the stores send, with its arguments.
type queryRecorder struct {
	mu      sync.Mutex
	queries []pgx.TraceQueryStartData
}

func (r *queryRecorder) TraceQueryStart(ctx context.Context, _ *pgx.Conn, q pgx.TraceQueryStartData) context.Context {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.queries = append(r.queries, q)
	return ctx
}

func (r *queryRecorder) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

// take gives the queries since the last take.
func (r *queryRecorder) take() []pgx.TraceQueryStartData {
	r.mu.Lock()
	defer r.mu.Unlock()
	out := r.queries
	r.queries = nil
	return out
}

// season fills the scene with a season of 10,000 shots in 200 games of two teams, with a stint a game, a reading a
// shot and a clear for every second one, straight into the tables.
func (s *scene) season(t testing.TB) (other domain.Team) {
	t.Helper()
	other = made(t, s.stores.Teams, s.director, "other team",
		domain.TeamFields{Name: "Junior varsity", CompetitionID: s.competition.ID, PracticeMinutes: 45})
	made(t, s.stores.Seasons, s.director, "season",
		domain.SeasonFields{Name: "Spring", StartsOn: day("2026-02-01"), EndsOn: day("2026-06-30")})
	member := s.director.MemberID
	s.exec(t, `INSERT INTO games (program_id, id, rev, team_id, competition_id, played_on, kind)
		SELECT $1, md5('game' || g)::uuid, 1, CASE WHEN g % 2 = 0 THEN $2::uuid ELSE $3::uuid END, $4,
		date '2026-02-02' + g / 2, 'game' FROM generate_series(1, 200) g`,
		s.program.ID, s.team.ID, other.ID, s.competition.ID)
	s.exec(t, `INSERT INTO stints (program_id, id, rev, game_id, goalie_id, start_period, start_clock_s, end_period,
		end_clock_s, start_elapsed_s, end_elapsed_s)
		SELECT $1, md5('stint' || g)::uuid, 1, md5('game' || g)::uuid, $2, 1, 720, 4, 0, 0, 2880
		FROM generate_series(1, 200) g`, s.program.ID, s.goalie.ID)
	s.exec(t, `INSERT INTO shots (program_id, id, rev, game_id, outcome, deflected, goalie_out, waved_off, period, clock_s,
		elapsed_s, faced_goalie_id, faced_how)
		SELECT $1, md5('shot' || g || '/' || n)::uuid, 1, md5('game' || g)::uuid, (ARRAY['save', 'goal', 'wide'])[1 + n % 3],
		false, false, false, 1, 700 - n, 20 + n, CASE WHEN n % 25 > 0 THEN $2::uuid END,
		CASE WHEN n % 25 > 0 THEN 'only_goalie' ELSE 'unresolved' END
		FROM generate_series(1, 200) g, generate_series(1, 50) n`, s.program.ID, s.goalie.ID)
	s.exec(t, `INSERT INTO readings (program_id, id, rev, shot_id, how_read, habits, member_id, game_id)
		SELECT program_id, md5('reading' || id)::uuid, 1, id, 'film', '{"set_before_release": "yes"}', $2, game_id
		FROM shots WHERE program_id = $1`, s.program.ID, member)
	s.exec(t, `INSERT INTO clears (program_id, id, rev, game_id, shot_id, result, cage_goalie_id, cage_how)
		SELECT program_id, md5('clear' || id)::uuid, 1, game_id, id, 'cleared', faced_goalie_id, faced_how
		FROM shots WHERE program_id = $1 AND clock_s % 2 = 0`, s.program.ID)
	s.exec(t, `ANALYZE`)
	return other
}

// node is a node of a plan as EXPLAIN writes it.
type node struct {
	Type     string  `json:"Node Type"`
	Relation string  `json:"Relation Name"`
	Rows     float64 `json:"Plan Rows"`
	Plans    []node  `json:"Plans"`
}

// chartedTables are the tables that grow with every shot.
var chartedTables = []string{"shots", "readings", "clears", "changes"}

// readsCharted tells whether a query gives rows of a charted table. What only looks into one to choose among games,
// of which there are few, may put these in order.
func readsCharted(sql string) bool {
	_, after, _ := strings.Cut(sql, " FROM ")
	return slices.ContainsFunc(chartedTables, func(table string) bool { return strings.HasPrefix(after, table+" ") })
}

// faults names what a plan must not do: read a charted table from end to end, or put its rows in order by sorting.
func (n node) faults(charted bool) []string {
	var out []string
	if n.Type == "Seq Scan" {
		for _, table := range chartedTables {
			if n.Relation == table {
				out = append(out, "scans "+table)
			}
		}
	}
	if charted && strings.Contains(n.Type, "Sort") {
		out = append(out, n.Type)
	}
	for _, child := range n.Plans {
		out = append(out, child.faults(charted)...)
	}
	return out
}

// plans explains every SELECT that was recorded, under the service's role and program.
func (s *scene) plans(t *testing.T, queries []pgx.TraceQueryStartData) map[string][]string {
	t.Helper()
	tx, err := s.admin.Begin(t.Context())
	require.NoError(t, err)
	defer func() { require.NoError(t, tx.Rollback(t.Context())) }()
	_, err = tx.Exec(t.Context(), "SET LOCAL ROLE cagework_service")
	require.NoError(t, err)
	_, err = tx.Exec(t.Context(), "SET LOCAL app.program_id = '"+s.program.ID.String()+"'")
	require.NoError(t, err)
	bad := map[string][]string{}
	for _, q := range queries {
		// The settings of a list are part of how it begins; other transactions take them back.
		if strings.HasPrefix(q.SQL, "BEGIN") {
			sort := "on"
			if strings.Contains(q.SQL, "enable_sort = off") {
				sort = "off"
			}
			_, err := tx.Exec(t.Context(), "SET LOCAL enable_sort = "+sort+"; SET LOCAL enable_seqscan = "+sort)
			require.NoError(t, err)
		}
		if !strings.HasPrefix(strings.TrimSpace(q.SQL), "SELECT") {
			continue
		}
		var text []byte
		require.NoError(t, tx.QueryRow(t.Context(), "EXPLAIN (FORMAT JSON) "+q.SQL, q.Args...).Scan(&text), q.SQL)
		var plan []struct{ Plan node }
		require.NoError(t, json.Unmarshal(text, &plan))
		if faults := plan[0].Plan.faults(readsCharted(q.SQL)); len(faults) > 0 {
			bad[q.SQL] = append(faults, string(text))
		}
	}
	return bad
}

// TestASeasonIsNeitherScannedNorSorted: with 10,000 shots every list, filter and sum walks an index.
func TestASeasonIsNeitherScannedNorSorted(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	other := s.season(t)
	rec := &queryRecorder{}
	db, err := postgres.Open(t.Context(), postgres.Config{URL: s.db.URL, MaxConns: 2, Tracer: rec})
	require.NoError(t, err)
	t.Cleanup(db.Close)
	stores := postgres.NewStores(db, fixedJudge{})
	coach := domain.Actor{ProgramID: s.program.ID, MemberID: s.director.MemberID, Role: domain.Coach,
		TeamIDs: []domain.ID{other.ID}}
	season, game, shot := id("season"), md5ID(t, s, "game7"), md5ID(t, s, "shot7/8")
	week, yes, no := domain.Week{Year: 2026, Number: 12}, true, false
	after := domain.MustParseID("40000000-0000-4000-8000-000000000000")

	filters := map[string]domain.Filter{
		"all": {}, "of a game": {GameID: &game}, "of a goalie": {GoalieID: &s.goalie.ID}, "of a team": {TeamID: &s.team.ID},
		"of a season": {SeasonID: &season}, "of a week": {Week: &week}, "of a shot": {ShotID: &shot},
		"of a member": {MemberID: &s.director.MemberID}, "unresolved": {Unresolved: &yes}, "resolved": {Unresolved: &no},
		"of a goalie in a week of a team": {GoalieID: &s.goalie.ID, Week: &week, TeamID: &s.team.ID},
	}
	for name, filter := range filters {
		for who, actor := range map[string]domain.Actor{"director": s.director, "coach": coach} {
			for page, from := range map[string]*domain.ID{"first page": nil, "a later page": &after} {
				q := domain.Query{Filter: filter, After: from}
				what := name + ", " + who + ", " + page
				require.NoError(t, listAll(t, stores, actor, q))
				require.Empty(t, s.plans(t, rec.take()), what)
			}
		}
	}
	for _, span := range []domain.Span{{}, {From: day("2026-03-01"), To: day("2026-03-31")}} {
		for _, in := range []*domain.ID{nil, &season} {
			_, err := stores.Lines.Goalie(t.Context(), coach, s.goalie.ID, span, in)
			require.NoError(t, err)
			_, err = stores.Lines.Team(t.Context(), coach, other.ID, span, in)
			require.NoError(t, err)
		}
	}
	_, err = stores.Weeks.Goalie(t.Context(), s.director, s.goalie.ID, week)
	require.NoError(t, err)
	s.writeSome(t)
	_, err = stores.Weeks.Goalie(t.Context(), s.director, s.goalie.ID, week) // its peers follow what was written
	require.NoError(t, err)
	_, err = stores.Weeks.Program(t.Context(), s.director, week)
	require.NoError(t, err)
	_, err = stores.Changes.Of(t.Context(), s.director, s.shot.ID, 0, 0)
	require.NoError(t, err)
	for range 3 {
		_, _, err = stores.Fits.Put(t.Context(), s.director, domain.NewID(noon), s.fitFields("2026-04-11"))
		require.NoError(t, err)
	}
	q := domain.Query{Filter: domain.Filter{CodeOfPlay: new(domain.CodeOfPlay("mens_field")), Level: new(domain.Level("high_school"))}}
	fits, err := stores.Fits.List(t.Context(), s.director, q)
	require.NoError(t, err)
	require.Len(t, fits.Items, 3)
	require.Positive(t, fits.Items[0].Found.Shots)
	queries := rec.take()
	require.True(t, slices.ContainsFunc(queries, func(q pgx.TraceQueryStartData) bool {
		return strings.HasPrefix(q.SQL, "SELECT s.faced_goalie_id FROM shots s ")
	}), "whose counts a change may have moved is asked")
	require.Empty(t, s.plans(t, queries), "lines, weeks, history and fits")
}

// writeSome writes what can move the counts of peers.
func (s *scene) writeSome(t *testing.T) {
	t.Helper()
	late := s.shotAt(2, 10, domain.Goal)
	late.GoalieID = &s.goalie.ID
	shot := made(t, s.stores.Shots, s.director, "late", late)
	made(t, s.stores.Readings, s.director, "late reading", domain.ReadingFields{ShotID: shot.ID, HowRead: domain.Film, Habits: allHabits()})
	made(t, s.stores.Clears, s.director, "late clear", domain.ClearFields{GameID: s.game.ID, ShotID: &shot.ID, Result: domain.Cleared, FilmMs: new(0)})
	played := s.game.Fields
	played.Opponent = new("Millbrook")
	_, err := s.stores.Games.Patch(t.Context(), s.director, s.game.ID, anyRev, to(played))
	require.NoError(t, err)
}

// fixedJudge counts the shots that it is given, and fits nothing.
type fixedJudge struct{ judgement.Judge }

func (fixedJudge) Fit(_ domain.FitFields, shots []*domain.CountedShot, _ []domain.Habit) (domain.FitFound, error) {
	return domain.FitFound{Shots: len(shots), Habits: json.RawMessage("[]")}, nil
}

func md5ID(t *testing.T, s *scene, text string) domain.ID {
	t.Helper()
	return ask[domain.ID](t, s.world, "SELECT md5($1)::uuid", text)
}

// listAll lists every kind that grows with games.
func listAll(t *testing.T, stores *postgres.Stores, a domain.Actor, q domain.Query) error {
	t.Helper()
	if _, err := stores.Shots.List(t.Context(), a, q); err != nil {
		return err
	}
	if _, err := stores.Readings.List(t.Context(), a, q); err != nil {
		return err
	}
	if _, err := stores.Clears.List(t.Context(), a, q); err != nil {
		return err
	}
	if _, err := stores.Stints.List(t.Context(), a, q); err != nil {
		return err
	}
	_, err := stores.Games.List(t.Context(), a, q)
	return err
}
