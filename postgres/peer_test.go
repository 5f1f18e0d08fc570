package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

// triesOf gives a goalie's count at a target among those of a week; nothing for a goalie who is not there.
func triesOf(r domain.WeekRecords, goalie, target domain.ID) (hits, tries int) {
	for _, p := range r.Peers {
		for _, c := range p.Counts {
			if p.Goalie == goalie && c.Target == target {
				return c.Hits, c.Tries
			}
		}
	}
	return 0, 0
}

// The week of one goalie counts all of the program's, those whom its reader may not read about too, and counts anew
// after a write.
func TestAWeekCountsThePeers(t *testing.T) {
	t.Parallel()
	s := newSeasoned(t)
	overall := fullTarget()
	overall.Code, overall.Of, overall.Weeks, overall.Active = "overall", []domain.Clause{{Field: "on_goal", Is: true}}, 8, true
	overall.Hit, overall.Kinds = []domain.Clause{{Field: "outcome", Is: "save"}}, []domain.GameKind{domain.KindGame}
	overall.Rates = []domain.TargetRate{{CodeOfPlay: "mens_field", Level: "high_school", Rate: .5, Source: "invented"}}
	target := made(t, s.stores.Targets, s.director, "overall", overall)
	other := made(t, s.stores.Goalies, s.director, "peer", goalieCalled("Ada"))
	shotOf := func(name, game string, goalie domain.ID, outcome domain.Outcome) {
		f := s.shotAt(3, 100, outcome)
		f.GameID, f.GoalieID = id(game), &goalie
		made(t, s.stores.Shots, s.director, name, f)
	}
	shotOf("peer saves", "game", other.ID, domain.Save)
	week := domain.WeekOf(day("2026-04-06"))
	read := func(a domain.Actor) domain.WeekRecords {
		r, err := s.stores.Weeks.Goalie(t.Context(), a, s.goalie.ID, week)
		require.NoError(t, err)
		return r
	}
	for _, a := range []domain.Actor{s.coach, s.director} {
		r := read(a)
		hits, tries := triesOf(r, s.goalie.ID, target.ID)
		require.Equal(t, []int{1, 3}, []int{hits, tries}, "of 1 March, 11 and 12 April; October is before the look-back")
		hits, tries = triesOf(r, other.ID, target.ID)
		require.Equal(t, []int{1, 1}, []int{hits, tries})
	}
	shotOf("peer lets in", "game", other.ID, domain.Goal)
	hits, tries := triesOf(read(s.coach), other.ID, target.ID)
	require.Equal(t, []int{1, 2}, []int{hits, tries}, "what was written counts at once")

	before, err := s.stores.Weeks.Goalie(t.Context(), s.coach, s.goalie.ID, domain.WeekOf(day("2026-03-02")))
	require.NoError(t, err)
	hits, tries = triesOf(before, s.goalie.ID, target.ID)
	require.Equal(t, []int{0, 1}, []int{hits, tries}, "another week counts other days")

	board, err := s.stores.Weeks.Program(t.Context(), s.coach, week)
	require.NoError(t, err)
	for _, w := range board.Weeks {
		hits, tries = triesOf(w, other.ID, target.ID)
		require.Equal(t, []int{1, 2}, []int{hits, tries})
	}

	outside := newScene(t)
	made(t, outside.stores.Targets, outside.director, "overall", overall)
	foreign, err := outside.stores.Weeks.Goalie(t.Context(), outside.director, outside.goalie.ID, week)
	require.NoError(t, err)
	require.Len(t, foreign.Peers, 1, "another program's goalies are no peers")
}

// shotRows counts the rows of shots that stores read.
type shotRows struct{ n atomic.Int64 }

type ofShots struct{}

func (r *shotRows) TraceQueryStart(ctx context.Context, _ *pgx.Conn, q pgx.TraceQueryStartData) context.Context {
	if strings.HasPrefix(q.SQL, "SELECT shots.id, ") {
		return context.WithValue(ctx, ofShots{}, true)
	}
	return ctx
}

func (r *shotRows) TraceQueryEnd(ctx context.Context, _ *pgx.Conn, q pgx.TraceQueryEndData) {
	if ctx.Value(ofShots{}) != nil {
		r.n.Add(q.CommandTag.RowsAffected())
	}
}

// move is a write that moves counts, and of whom beside the page's own goalie it may have.
type move struct {
	what  string
	do    write
	moves []domain.ID
}

func (c *counted) undone(record string) write {
	return func(ctx context.Context) error {
		return c.takeBack(ctx, c.director, id(record))
	}
}

// putting is a put under the id of a name.
func putting[F domain.Fields, K any](store domain.Records[F, K], a domain.Actor, name string, fields F) write {
	return func(ctx context.Context) error {
		_, _, err := store.Put(ctx, a, id(name), fields)
		return err
	}
}

func named(name string) func() domain.ID { return func() domain.ID { return id(name) } }

// nearShot is a shot in the near game.
func (c *counted) nearShot(goalie *domain.ID, clock int, outcome domain.Outcome) domain.ShotFields {
	f := c.shotAt(1, clock, outcome)
	f.GameID, f.GoalieID = id("near game"), goalie
	return f
}

// shotMoves are writes of shots, readings and clears, in the order in which they can be written.
func (c *counted) shotMoves() []move {
	st, a, wren, juno, ada := c.stores, c.director, c.goalies[0], c.goalies[1], c.goalies[2]
	reading := domain.ReadingFields{ShotID: id("j"), HowRead: domain.Film, Habits: map[string]domain.Answer{"set_before_release": domain.Yes}}
	clear := domain.ClearFields{GameID: id("near game"), ShotID: new(id("j")), Result: domain.Cleared, FilmMs: new(1)}
	given := func(goalie *domain.ID) write {
		return patched(st.Shots, a, named("w"), func(f *domain.ShotFields) { f.GoalieID = goalie })
	}
	settled := func(reading *domain.ID) write {
		return patched(st.Shots, a, named("j"), func(f *domain.ShotFields) { f.CountedReadingID = reading })
	}
	after := func(shot *domain.ID) write {
		return patched(st.Clears, a, named("c"), func(f *domain.ClearFields) { f.ShotID = shot })
	}
	return []move{
		{"a shot is put", putting(st.Shots, a, "j", c.nearShot(&juno, 10, domain.Save)), []domain.ID{juno}},
		{"a shot of the page's goalie", putting(st.Shots, a, "w", c.nearShot(&wren, 20, domain.Goal)), nil},
		{"a shot is wide after all", patched(st.Shots, a, named("j"), func(f *domain.ShotFields) { f.Outcome = domain.Wide }), []domain.ID{juno}},
		{"that is undone", c.undone("j"), []domain.ID{juno}},
		{"a shot goes to another goalie", given(&ada), []domain.ID{ada}},
		{"and on to the next", given(&juno), []domain.ID{ada, juno}},
		{"that is undone", c.undone("w"), []domain.ID{ada, juno}},
		{"a shot is removed", removed(st.Shots, a, named("w")), []domain.ID{ada}},
		{"and brought back", c.undone("w"), []domain.ID{ada}},
		{"many shots are put", func(ctx context.Context) error {
			_, err := st.Shots.PutMany(ctx, a, []domain.ShotItem{
				{ID: id("many 1"), ShotFields: c.nearShot(&ada, 80, domain.Save)}, {ID: id("many 2"), ShotFields: c.nearShot(&juno, 90, domain.Goal)}})
			return err
		}, []domain.ID{juno, ada}},
		{"a shot is read", putting(st.Readings, c.readers[1], "r", reading), []domain.ID{juno}},
		{"otherwise", patched(st.Readings, a, named("r"), func(f *domain.ReadingFields) {
			f.Habits = map[string]domain.Answer{"set_before_release": domain.No}
		}), []domain.ID{juno}},
		{"another reading is settled", func(ctx context.Context) error {
			return errors.Join(putting(st.Readings, c.readers[2], "r 2", reading)(ctx), settled(new(id("r 2")))(ctx))
		}, []domain.ID{juno}},
		{"and not settled any more", settled(nil), []domain.ID{juno}},
		{"a reading is removed", removed(st.Readings, a, named("r")), []domain.ID{juno}},
		{"and the other", removed(st.Readings, a, named("r 2")), []domain.ID{juno}},
		{"that is brought back", c.undone("r 2"), []domain.ID{juno}},
		{"a shot is cleared", putting(st.Clears, a, "c", clear), []domain.ID{juno}},
		{"it was after another shot", after(new(id("many 1"))), []domain.ID{juno, ada}},
		{"it was after none", after(nil), []domain.ID{ada}},
		{"that is undone", c.undone("c"), []domain.ID{ada}},
		{"a clear is removed", removed(st.Clears, a, named("c")), []domain.ID{ada}},
	}
}

// otherMoves are writes of what shots stand in and on.
func (c *counted) otherMoves() []move {
	st, a, juno, ada := c.stores, c.director, c.goalies[1], c.goalies[2]
	both := []domain.ID{juno, ada}
	stint := c.stint(&juno, 1, 720, 4, 0)
	stint.GameID = id("near game")
	clicked := c.nearShot(&juno, 50, domain.Save)
	clicked.GroundViewID, clicked.BallUPx, clicked.BallVPx = new(id("view of "+stint.GameID.String())), new(960.), new(20+60*6.5)
	sided := c.nearShot(&ada, 60, domain.Save)
	sided.FinishXM, sided.FinishUpM = new(.6), new(1.)
	travelled := c.nearShot(&ada, 70, domain.Save)
	travelled.BallXM, travelled.BallYM, travelled.PassXM, travelled.PassYM = new(-4.), new(4.), new(5.), new(5.)
	return []move{
		{"a shot is nobody's yet, then found", func(ctx context.Context) error {
			return errors.Join(putting(st.Shots, a, "found", c.nearShot(nil, 100, domain.Save))(ctx), putting(st.Stints, a, "s", stint)(ctx))
		}, []domain.ID{juno}},
		{"it was the other's stint", patched(st.Stints, a, named("s"), func(f *domain.StintFields) { f.GoalieID = &ada }), both},
		{"that is undone", c.undone("s"), both},
		{"the stint is removed", removed(st.Stints, a, named("s")), []domain.ID{juno}},
		{"a shot is clicked", putting(st.Shots, a, "clicked", clicked), []domain.ID{juno}},
		{"its view is corrected", patched(st.Views, a, func() domain.ID { return *clicked.GroundViewID }, func(f *domain.ViewFields) {
			*f = viewFields(stint.GameID, 75)
		}), []domain.ID{juno}},
		{"a game was a scrimmage", patched(st.Games, a, named("near game"), func(f *domain.GameFields) { f.Kind = domain.KindScrimmage }), both},
		{"that is undone", c.undone("near game"), both},
		{"a game was before the look-back", patched(st.Games, a, named("near game"), func(f *domain.GameFields) { f.PlayedOn = day("2026-01-10") }), both},
		{"and is within it", c.undone("near game"), both},
		{"a shot to a side is put", putting(st.Shots, a, "sided", sided), []domain.ID{ada}},
		{"the goalie holds the stick on the other", patched(st.Goalies, a, func() domain.ID { return ada }, func(f *domain.GoalieFields) {
			f.StickHand = domain.Right
		}), []domain.ID{ada}},
		{"a target is left", patched(st.Targets, a, named("overall"), func(f *domain.TargetFields) { f.Active = false }), both},
		{"a habit is readable on less", patched(st.Habits, a, func() domain.ID { return c.set }, func(f *domain.HabitFields) {
			f.ReadableOn = []domain.Clause{{Field: "deflected", Is: true}}
		}), both},
		{"a shot has a travel", putting(st.Shots, a, "travelled", travelled), []domain.ID{ada}},
		{"the arc is another", patched(st.Competitions, a, func() domain.ID { return c.competition.ID }, func(f *domain.CompetitionFields) { f.ArcApexM = nil }), both},
	}
}

// TestOnlyWhoMovedIsCountedAnew writes what can move counts, one thing at a time. After each the counts have moved; those that
// were kept have followed; and beside the shots of the page's own goalie only those were read of whom it may have moved.
func TestOnlyWhoMovedIsCountedAnew(t *testing.T) {
	t.Parallel()
	c := newCountedScene(t)
	keeping, rows := c.counting(t)
	wren, week := c.goalies[0], countedWeeks[0]
	read := func() ([]domain.PeerCount, int64) {
		rows.n.Store(0)
		page, err := keeping.Weeks.Goalie(t.Context(), c.director, wren, week)
		require.NoError(t, err)
		return page.Peers, rows.n.Load()
	}
	for _, x := range append(c.shotMoves(), c.otherMoves()...) {
		before, _ := read()
		same, idle := read()
		require.Equal(t, before, same)
		require.Equal(t, c.facedBy(t, wren), idle, "nothing is counted again: %s", x.what)
		require.NoError(t, x.do(t.Context()), x.what)
		after, reads := read()
		require.NotEqual(t, before, after, "the counts do not move: %s", x.what)
		require.Equal(t, c.anew(t, week), after, x.what)
		require.Equal(t, c.facedBy(t, append(x.moves, wren)...), reads, "shots read after: %s", x.what)
	}
	for name, do := range c.idle() {
		before, _ := read()
		require.NoError(t, do(t.Context()), name)
		after, reads := read()
		require.Equal(t, before, after, name)
		if name != "program patched" {
			require.Equal(t, c.facedBy(t, wren), reads, "shots read after: %s", name)
		}
	}
}

// counting gives stores that count the rows of shots which they read.
func (c *counted) counting(t *testing.T) (*postgres.Stores, *shotRows) {
	t.Helper()
	rows := &shotRows{}
	db, err := postgres.Open(t.Context(), postgres.Config{URL: c.db.URL, MaxConns: 4, Tracer: rows})
	require.NoError(t, err)
	t.Cleanup(db.Close)
	return postgres.NewStores(db, judgement.Judge{}), rows
}

// facedBy gives how many shots goalies faced in the look-backs.
func (c *counted) facedBy(t *testing.T, goalies ...domain.ID) int64 {
	t.Helper()
	return ask[int64](t, c.world, `SELECT count(*) FROM shots JOIN games ON games.program_id = shots.program_id AND games.id = game_id
		WHERE shots.program_id = $1 AND faced_goalie_id = ANY($2) AND played_on > '2026-02-01'`, c.program.ID, goalies)
}

// shotOn puts another shot of a goalie in the near game.
func (c *counted) shotOn(t *testing.T, name string, goalie domain.ID) {
	t.Helper()
	f := c.shotAt(1, len(name), domain.Save)
	f.GameID, f.GoalieID = id("near game"), &goalie
	made(t, c.stores.Shots, c.director, name, f)
}

// TestABoardReadsItsShotsOnce: the shots that a page reads for itself are those that its peers are counted from; what the
// others faced is read beside them, all of it or of whom it may have moved, and no shot twice.
func TestABoardReadsItsShotsOnce(t *testing.T) {
	t.Parallel()
	c := newCountedScene(t)
	wren, juno, ada := c.goalies[0], c.goalies[1], c.goalies[2]
	for i := range 12 {
		c.shotOn(t, fmt.Sprint("first ", i), c.goalies[i%3])
	}
	for _, g := range []domain.ID{wren, juno} { // Ada is on no roster
		made(t, c.stores.RosterSpells, c.director, "spell of "+g.String(), domain.RosterSpellFields{TeamID: c.team.ID, GoalieID: g, FromOn: day("2026-02-01")})
	}
	board := func(a domain.Actor) func(*postgres.Stores) ([]domain.WeekRecords, error) {
		return func(s *postgres.Stores) ([]domain.WeekRecords, error) {
			r, err := s.Weeks.Program(t.Context(), a, countedWeeks[0])
			return r.Weeks, err
		}
	}
	for name, page := range map[string]struct {
		read func(*postgres.Stores) ([]domain.WeekRecords, error)
		own  []domain.ID
	}{
		"board": {board(c.director), []domain.ID{wren, juno, ada}}, "coach's board": {board(c.readers[1]), []domain.ID{wren, juno}},
		"goalie": {func(s *postgres.Stores) ([]domain.WeekRecords, error) {
			r, err := s.Weeks.Goalie(t.Context(), c.director, juno, countedWeeks[0])
			return []domain.WeekRecords{r}, err
		}, []domain.ID{juno}},
	} {
		keeping, rows := c.counting(t)
		reads := func(beside ...domain.ID) {
			t.Helper()
			rows.n.Store(0)
			weeks, err := page.read(keeping)
			require.NoError(t, err)
			require.Len(t, weeks, len(page.own), name)
			require.Equal(t, c.facedBy(t, append(beside, page.own...)...), rows.n.Load(), name)
			for _, w := range weeks {
				require.Equal(t, c.anew(t, countedWeeks[0]), w.Peers, name)
			}
		}
		reads(wren, juno, ada)
		reads()
		for _, g := range c.goalies {
			c.shotOn(t, name+g.String(), g)
			reads(g)
		}
	}
}

// TestCountsOfAnotherHistoryAreForgotten brings the database back to what it was before a shot, as from a backup, while the
// stores run on; other changes get the numbers that were given before.
func TestCountsOfAnotherHistoryAreForgotten(t *testing.T) {
	t.Parallel()
	for more := range 3 {
		c := newCountedScene(t)
		peers := func() []domain.PeerCount {
			page, err := c.stores.Weeks.Goalie(t.Context(), c.director, c.goalie.ID, countedWeeks[0])
			require.NoError(t, err)
			return page.Peers
		}
		before := peers()
		c.shotOn(t, "lost", c.goalies[1])
		require.NotEqual(t, before, peers())
		c.exec(t, `DELETE FROM shots WHERE id = $1`, id("lost"))
		c.exec(t, `DELETE FROM changes WHERE record_id = $1`, id("lost"))
		c.exec(t, `UPDATE programs SET last_rev = last_rev - 1 WHERE id = $1`, c.program.ID)
		for n := range more {
			made(t, c.stores.Seasons, c.director, fmt.Sprint("season ", n), domain.SeasonFields{Name: "Spring", StartsOn: day("2026-02-01"), EndsOn: day("2026-06-30")})
		}
		require.Equal(t, before, peers(), "%d changes on", more)
	}
}

// interjection does something once, before a query that begins in some way.
type interjection struct {
	before string
	do     func(context.Context)
}

func (i *interjection) TraceQueryStart(ctx context.Context, _ *pgx.Conn, q pgx.TraceQueryStartData) context.Context {
	if do := i.do; do != nil && strings.HasPrefix(q.SQL, i.before) {
		i.do = nil
		do(ctx)
	}
	return ctx
}

func (*interjection) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

// TestAPageSeesOneMoment: a shot that goes on to a third goalie while a page follows how it came to the second counts for the
// second there, and for the third on the next page.
func TestAPageSeesOneMoment(t *testing.T) {
	t.Parallel()
	c := newCountedScene(t)
	to := func(goalie domain.ID) {
		require.NoError(t, patched(c.stores.Shots, c.director, named("shot"), func(f *domain.ShotFields) { f.GoalieID = &goalie })(t.Context()))
	}
	meanwhile := &interjection{}
	db, err := postgres.Open(t.Context(), postgres.Config{URL: c.db.URL, MaxConns: 1, Tracer: meanwhile})
	require.NoError(t, err)
	t.Cleanup(db.Close)
	keeping := postgres.NewStores(db, judgement.Judge{})
	peers := func() []domain.PeerCount {
		page, err := keeping.Weeks.Goalie(t.Context(), c.director, c.goalie.ID, countedWeeks[0])
		require.NoError(t, err)
		return page.Peers
	}
	require.Equal(t, c.anew(t, countedWeeks[0]), peers())
	to(c.goalies[1])
	second := c.anew(t, countedWeeks[0])
	meanwhile.before, meanwhile.do = "SELECT rev, at, record_id", func(context.Context) { to(c.goalies[2]) }
	require.Equal(t, second, peers())
	require.Nil(t, meanwhile.do, "somebody wrote meanwhile")
	third := c.anew(t, countedWeeks[0])
	require.NotEqual(t, second, third)
	require.Equal(t, third, peers())
}

// TestWhatAWriterCountsIsNotKept: a new assignment counts the peers of the week before it in a transaction that may yet be
// rolled back, and then its numbers would be given again.
func TestWhatAWriterCountsIsNotKept(t *testing.T) {
	t.Parallel()
	c := newCountedScene(t)
	c.shotOn(t, "other", c.goalies[1])
	keeping, rows := c.counting(t)
	made(t, keeping.Assignments, c.director, "assignment", domain.AssignmentFields{
		GoalieID: c.goalie.ID, TargetID: id("overall"), DrillID: c.drill.ID, Status: domain.Assigned,
		Dose: domain.Dose{Minutes: 5, Repetitions: 10, TimesAWeek: 2}, StartsOn: day("2026-04-13"), Weeks: 2,
	})
	require.EqualValues(t, 2, rows.n.Swap(0), "it counts them")
	_, err := keeping.Weeks.Goalie(t.Context(), c.director, c.goalie.ID, countedWeeks[0])
	require.NoError(t, err)
	require.EqualValues(t, 2, rows.n.Load())
}

// TestTooManyChangesAreNotFollowed: beyond some number all is counted anew.
func TestTooManyChangesAreNotFollowed(t *testing.T) {
	t.Parallel()
	c := newCountedScene(t)
	c.shotOn(t, "other", c.goalies[1])
	keeping, rows := c.counting(t)
	reads := func() int64 {
		rows.n.Store(0)
		_, err := keeping.Weeks.Goalie(t.Context(), c.director, c.goalie.ID, countedWeeks[0])
		require.NoError(t, err)
		return rows.n.Load()
	}
	require.EqualValues(t, 2, reads())
	for changes, want := range map[int]int64{postgres.MostFollowed: 1, postgres.MostFollowed + 1: 2} {
		c.exec(t, `INSERT INTO changes (program_id, rev, at, noun, record_id, op)
			SELECT id, last_rev + n, now(), 'token', id, 'create' FROM programs, generate_series(1, $2) n WHERE id = $1`, c.program.ID, changes)
		c.exec(t, `UPDATE programs SET last_rev = last_rev + $2 WHERE id = $1`, c.program.ID, changes)
		require.Equal(t, want, reads(), "%d changes", changes)
	}
}

// TestCountsFollowWhileOthersWrite reads pages while others write: what is kept is never of a moment that was not.
func TestCountsFollowWhileOthersWrite(t *testing.T) {
	t.Parallel()
	c := newCountedScene(t)
	errs := together(6, func(i int) error {
		for n := range 12 {
			if i%2 == 0 {
				_, err := c.stores.Weeks.Goalie(t.Context(), c.director, c.goalies[i/2], countedWeeks[0])
				if err != nil {
					return err
				}
				continue
			}
			f := c.shotAt(1, 100*i+n, domain.Save)
			f.GameID, f.GoalieID = id("near game"), &c.goalies[n%3]
			shot, _, err := c.stores.Shots.Put(t.Context(), c.director, id(fmt.Sprint("shot ", i, n)), f)
			if err == nil && n%2 == 0 {
				err = patched(c.stores.Shots, c.director, func() domain.ID { return shot.ID }, func(f *domain.ShotFields) { f.GoalieID = &c.goalies[i/2] })(t.Context())
			}
			if err != nil {
				return err
			}
		}
		return nil
	})
	require.Equal(t, map[domain.Code]int{"": 6}, count(errs), "%v", errs)
	page, err := c.stores.Weeks.Goalie(t.Context(), c.director, c.goalie.ID, countedWeeks[0])
	require.NoError(t, err)
	require.Equal(t, c.anew(t, countedWeeks[0]), page.Peers)
}
