package postgres_test

import (
	"context"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

// counted is a scene with three goalies, games of two codes of play in and before the look-backs, and targets that between
// them ask for all that a counted shot is made of.
type counted struct {
	*scene
	r       *rand.Rand
	goalies []domain.ID
	games   []domain.ID
	readers []domain.Actor
	set     domain.ID              // the habit set before release
	records map[string][]domain.ID // what was put of each kind, that it may be changed and undone
}

var countedWeeks = []domain.Week{domain.WeekOf(day("2026-04-11")), domain.WeekOf(day("2026-03-30"))}

func newCountedScene(t *testing.T) *counted {
	t.Helper()
	c := &counted{scene: newScene(t), r: rand.New(rand.NewPCG(1, 2)), records: map[string][]domain.ID{}}
	st, a := c.stores, c.director
	box := fullCompetition()
	box.Name, box.CodeOfPlay = "Box", "box"
	made(t, st.Competitions, a, "box", box)
	c.games, c.goalies = []domain.ID{c.game.ID}, []domain.ID{c.goalie.ID}
	for name, on := range map[string]string{"near game": "2026-04-04", "box game": "2026-04-08", "old game": "2025-10-05"} {
		f := c.gameOn(on)
		if name == "box game" {
			f.CompetitionID = id("box")
		}
		c.games = append(c.games, made(t, st.Games, a, name, f).ID)
	}
	slices.SortFunc(c.games, func(a, b domain.ID) int { return slices.Compare(a[:], b[:]) })
	for _, name := range []string{"Juno", "Ada"} {
		f := goalieCalled(name)
		f.StickHand = domain.Left
		c.goalies = append(c.goalies, made(t, st.Goalies, a, name, f).ID)
	}
	c.readers = []domain.Actor{a}
	for _, name := range []string{"Ode", "Isa"} {
		m := made(t, st.Members, a, name, domain.MemberFields{Name: name, Role: domain.Coach, TeamIDs: []domain.ID{c.team.ID}, GoalieIDs: []domain.ID{}})
		c.readers = append(c.readers, domain.Actor{ProgramID: a.ProgramID, MemberID: m.ID, Role: domain.Coach, TeamIDs: m.Fields.TeamIDs})
	}
	saved, onGoal := domain.Clause{Field: "outcome", Is: "save"}, domain.Clause{Field: "on_goal", Is: true}
	for code, hit := range map[string]domain.Clause{
		"overall": saved, "on_stick_side": {Field: "finish_side", Is: "stick_side"}, "cleared": {Field: "clear_result", Is: "cleared"},
		"from_close": {Field: "distance_m", LT: new(6.0)}, "set": {Field: "set_before_release", Is: "yes"}, "moved": {Field: "travel_m", GT: new(.3)},
	} {
		made(t, st.Targets, a, code, countedTarget(code, onGoal, hit))
	}
	habits, err := st.Habits.List(t.Context(), a, domain.Query{})
	require.NoError(t, err)
	c.set = habits.Items[slices.IndexFunc(habits.Items, func(h domain.Habit) bool { return h.Fields.Code == "set_before_release" })].ID
	for _, game := range c.games {
		made(t, st.Views, a, "view of "+game.String(), viewFields(game, 60))
	}
	return c
}

func countedTarget(code string, of, hit domain.Clause) domain.TargetFields {
	f := domain.TargetFields{
		Code: code, Name: code, Of: []domain.Clause{of}, Hit: []domain.Clause{hit}, Kinds: []domain.GameKind{domain.KindGame},
		Weeks: 3, MinTries: 1, Cause: 5, Active: true,
	}
	for _, play := range []domain.CodeOfPlay{"mens_field", "box"} {
		f.Rates = append(f.Rates, domain.TargetRate{CodeOfPlay: play, Level: "high_school", Rate: .5, Source: "invented"})
	}
	return f
}

func pick[T any](c *counted, of ...T) T { return of[c.r.IntN(len(of))] }

// put puts a record of a kind under a new id.
func (c *counted) put(kind string, do func(domain.ID) error) error {
	record := id(fmt.Sprint(kind, " ", len(c.records[kind])))
	err := do(record)
	if err == nil {
		c.records[kind] = append(c.records[kind], record)
	}
	return err
}

// puts is a put of what is drawn into a store.
func puts[F domain.Fields, K any](c *counted, kind string, store domain.Records[F, K], fields func() F) write {
	return func(ctx context.Context) error {
		return c.put(kind, func(record domain.ID) error {
			_, _, err := store.Put(ctx, c.director, record, fields())
			return err
		})
	}
}

// late gives one of the records of a kind that were put last; it may be gone.
func (c *counted) late(kind string) domain.ID {
	all := c.records[kind]
	if len(all) == 0 {
		return id("none yet")
	}
	return pick(c, all[max(0, len(all)-8):]...)
}

func (c *counted) some(ids []domain.ID) *domain.ID {
	if c.r.IntN(3) == 0 {
		return nil
	}
	return &ids[c.r.IntN(len(ids))]
}

// shotFields draws a shot of a game: its place given or clicked, whose it was given or to be found.
func (c *counted) shotFields(game domain.ID) domain.ShotFields {
	f := domain.ShotFields{
		GameID: game, GoalieID: c.some(c.goalies), Outcome: pick(c, domain.Save, domain.Save, domain.Goal, domain.Wide),
		Period: new(1 + c.r.IntN(4)), ClockS: new(c.r.IntN(700)), Deflected: c.r.IntN(4) == 0,
		BallXM: new(c.r.Float64()*8 - 4), BallYM: new(3 + c.r.Float64()*6), PassXM: new(5.0), PassYM: new(5.0),
	}
	if f.Outcome != domain.Wide {
		f.FinishXM, f.FinishUpM = new(c.r.Float64()*1.6-.8), new(1.0)
	}
	if c.r.IntN(2) == 0 {
		f.BallXM, f.BallYM = nil, nil
		f.GroundViewID, f.BallUPx, f.BallVPx = new(id("view of "+game.String())), new(900+c.r.Float64()*120), new(200+c.r.Float64()*200)
	}
	return f
}

func (c *counted) someShot() domain.ShotFields { return c.shotFields(pick(c, c.games...)) }

// viewFields is a picture from right above, so many pixels a metre.
func viewFields(game domain.ID, perMetre float64) domain.ViewFields {
	v := domain.ViewFields{GameID: game, Name: "Above", Plane: domain.GroundPlane, WidthPx: 1920, HeightPx: 1080, PixelErrorPx: 1}
	for i, m := range [][2]float64{{-8, 1}, {8, 1}, {-8, 11}, {8, 11}, {0, 6}} {
		v.Marks = append(v.Marks, domain.ViewMark{Name: fmt.Sprint("m", i), UPx: 960 - perMetre*m[0], VPx: 20 + perMetre*m[1], XM: new(m[0]), YM: new(m[1])})
	}
	return v
}

func (c *counted) stintFields(game domain.ID, late bool) domain.StintFields {
	f := domain.StintFields{GameID: game, GoalieID: c.some(c.goalies), StartPeriod: 1, StartClockS: 720, EndPeriod: 2}
	if late {
		f.StartPeriod, f.StartClockS, f.EndPeriod = 3, 720, 4
	}
	return f
}

func (c *counted) readingFields(shot domain.ID) domain.ReadingFields {
	return domain.ReadingFields{ShotID: shot, HowRead: pick(c, domain.HowReads...),
		Habits: map[string]domain.Answer{"set_before_release": pick(c, domain.Yes, domain.No)}}
}

// clearFields draws a clear of a game, which most often names one of its shots.
func (c *counted) clearFields(ctx context.Context, game *domain.ID) domain.ClearFields {
	f := domain.ClearFields{GameID: c.game.ID, Result: pick(c, domain.ClearResults...), FilmMs: new(c.r.IntN(1000))}
	if game != nil {
		f.GameID = *game
	}
	shot, err := c.stores.Shots.Get(ctx, c.director, c.late("shot"))
	if err == nil && (game == nil || shot.Fields.GameID == *game) {
		f.GameID, f.ShotID = shot.Fields.GameID, &shot.ID
	}
	return f
}

// write is something that somebody may write.
type write func(context.Context) error

// patched is a patch by a function that cannot fail.
func patched[F domain.Fields, K any](store domain.Records[F, K], a domain.Actor, record func() domain.ID, change func(*F)) write {
	return func(ctx context.Context) error {
		_, err := store.Patch(ctx, a, record(), anyRev, func(f F) (F, error) { change(&f); return f, nil })
		return err
	}
}

func removed[F domain.Fields, K any](store domain.Records[F, K], a domain.Actor, record func() domain.ID) write {
	return func(ctx context.Context) error { return store.Remove(ctx, a, record(), anyRev) }
}

// moving are the writes that can move counts.
func (c *counted) moving() map[string]write {
	st, a := c.stores, c.director
	late := func(kind string) func() domain.ID { return func() domain.ID { return c.late(kind) } }
	shot, stint, reading, clear := late("shot"), late("stint"), late("reading"), late("clear")
	game := func() domain.ID { return pick(c, c.games...) }
	viewed := func() domain.ID { return id("view of " + game().String()) }
	return map[string]write{
		"shot put": puts(c, "shot", st.Shots, c.someShot),
		"shots put": func(ctx context.Context) error {
			return c.put("shot", func(record domain.ID) error {
				items := []domain.ShotItem{{ID: record, ShotFields: c.someShot()}, {ID: domain.NameID(record, "second"), ShotFields: c.someShot()}}
				_, err := st.Shots.PutMany(ctx, a, items)
				return err
			})
		},
		"shot patched":          patched(st.Shots, a, shot, func(f *domain.ShotFields) { *f = c.shotFields(f.GameID) }),
		"shot's goalie patched": patched(st.Shots, a, shot, func(f *domain.ShotFields) { f.GoalieID = c.some(c.goalies) }),
		"reading settled": func(ctx context.Context) error {
			read, err := st.Readings.Get(ctx, a, reading())
			if err != nil {
				return err
			}
			one := func() domain.ID { return read.Fields.ShotID }
			return patched(st.Shots, a, one, func(f *domain.ShotFields) { f.CountedReadingID = &read.ID })(ctx)
		},
		"reading not settled": patched(st.Shots, a, shot, func(f *domain.ShotFields) { f.CountedReadingID = nil }),
		"shot removed":        removed(st.Shots, a, shot),
		"reading put": func(ctx context.Context) error {
			return c.put("reading", func(record domain.ID) error {
				_, _, err := st.Readings.Put(ctx, pick(c, c.readers...), record, c.readingFields(shot()))
				return err
			})
		},
		"reading patched": patched(st.Readings, a, reading, func(f *domain.ReadingFields) { *f = c.readingFields(f.ShotID) }),
		"reading removed": removed(st.Readings, a, reading),
		"clear put": func(ctx context.Context) error {
			return puts(c, "clear", st.Clears, func() domain.ClearFields { return c.clearFields(ctx, nil) })(ctx)
		},
		"clear patched": func(ctx context.Context) error {
			return patched(st.Clears, a, clear, func(f *domain.ClearFields) { *f = c.clearFields(ctx, &f.GameID) })(ctx)
		},
		"clear removed": removed(st.Clears, a, clear),
		"stint put":     puts(c, "stint", st.Stints, func() domain.StintFields { return c.stintFields(game(), c.r.IntN(2) == 0) }),
		"stint patched": patched(st.Stints, a, stint, func(f *domain.StintFields) { *f = c.stintFields(f.GameID, f.StartPeriod == 3) }),
		"stint removed": removed(st.Stints, a, stint),
		"view patched":  patched(st.Views, a, viewed, func(f *domain.ViewFields) { *f = viewFields(f.GameID, pick(c, 45, 60, 75.0)) }),
		"game's day patched": patched(st.Games, a, game, func(f *domain.GameFields) {
			f.PlayedOn = pick(c, day("2026-04-11"), day("2026-04-02"), day("2026-03-28"), day("2026-03-20"))
		}),
		"game's kind patched": patched(st.Games, a, game, func(f *domain.GameFields) { f.Kind = pick(c, domain.KindGame, domain.KindGame, domain.KindScrimmage) }),
		"goalie's hand patched": patched(st.Goalies, a, func() domain.ID { return pick(c, c.goalies...) }, func(f *domain.GoalieFields) {
			f.StickHand = pick(c, domain.Left, domain.Right)
		}),
		"target patched": patched(st.Targets, a, func() domain.ID { return id(pick(c, "overall", "set", "from_close")) }, func(f *domain.TargetFields) {
			f.Weeks, f.Active = 2+c.r.IntN(3), c.r.IntN(4) > 0
		}),
		"habit patched": patched(st.Habits, a, func() domain.ID { return c.set }, func(f *domain.HabitFields) {
			f.ReadableOn = pick(c, []domain.Clause{}, []domain.Clause{{Field: "deflected", Is: false}})
		}),
		"competition patched": patched(st.Competitions, a, func() domain.ID { return c.competition.ID }, func(f *domain.CompetitionFields) {
			f.ArcApexM = pick(c, nil, new(.4), new(1.2))
		}),
		"undo": c.undo,
	}
}

// undo takes back the last change of a record, or one before it.
func (c *counted) undo(ctx context.Context) error {
	record := c.late(pick(c, "shot", "shot", "reading", "clear", "stint"))
	history, err := c.stores.Changes.Of(ctx, c.director, record, 0, 0)
	if err != nil {
		return err
	}
	rev := history.Items[len(history.Items)-1].Rev
	if c.r.IntN(2) == 0 {
		rev = pick(c, history.Items...).Rev
	}
	_, err = c.stores.Changes.Undo(ctx, c.director, record, anyRev, rev)
	return err
}

// idle are the writes that move no counts.
func (c *counted) idle() map[string]write {
	st, a := c.stores, c.director
	one := func(record domain.ID) func() domain.ID { return func() domain.ID { return record } }
	return map[string]write{
		"practice log put": puts(c, "log", st.PracticeLogs, func() domain.PracticeLogFields {
			return domain.PracticeLogFields{GoalieID: c.goalie.ID, TeamID: c.team.ID, PractisedOn: day("2026-04-08"), Done: []domain.PracticeDone{}}
		}),
		"assignment put": puts(c, "assignment", st.Assignments, func() domain.AssignmentFields {
			return domain.AssignmentFields{
				GoalieID: pick(c, c.goalies...), TargetID: pick(c, id("overall"), c.target.ID), DrillID: c.drill.ID, Status: domain.Assigned,
				Dose: domain.Dose{Minutes: 5, Repetitions: 10, TimesAWeek: 2}, StartsOn: pick(c, day("2026-04-13"), day("2026-04-06")), Weeks: 2}
		}),
		"roster spell put": puts(c, "spell", st.RosterSpells, func() domain.RosterSpellFields {
			on := day("2026-01-01").AddDays(len(c.records["spell"]))
			return domain.RosterSpellFields{TeamID: c.team.ID, GoalieID: pick(c, c.goalies...), FromOn: on, ToOn: &on}
		}),
		"season put": puts(c, "season", st.Seasons, func() domain.SeasonFields {
			return domain.SeasonFields{Name: "Spring", StartsOn: day("2026-02-01"), EndsOn: day("2026-06-30")}
		}),
		"token put": puts(c, "token", st.Tokens, func() domain.TokenFields {
			return domain.TokenFields{MemberID: a.MemberID, Label: "phone", ExpiresAt: noon.AddDate(0, 1, 0)}
		}),
		"game put":   puts(c, "game", st.Games, func() domain.GameFields { return c.gameOn("2026-04-11") }),
		"goalie put": puts(c, "goalie", st.Goalies, func() domain.GoalieFields { return goalieCalled("Nobody yet") }),
		"fit put": func(ctx context.Context) error {
			return c.put("fit", func(record domain.ID) error {
				_, _, err := st.Fits.Put(ctx, a, record, c.fitFields("2026-04-11"))
				return err
			})
		},
		"program patched": func(ctx context.Context) error {
			_, err := st.Programs.Patch(ctx, a, anyRev, func(f domain.ProgramFields) (domain.ProgramFields, error) {
				f.Name = fmt.Sprint("Harrow Lane ", c.r.IntN(5))
				return f, nil
			})
			return err
		},
		"goalie's name patched": patched(st.Goalies, a, one(c.goalie.ID), func(f *domain.GoalieFields) { f.Name = pick(c, "Wren", "W.") }),
		"team patched":          patched(st.Teams, a, one(c.team.ID), func(f *domain.TeamFields) { f.Name = pick(c, "Varsity", "First") }),
		"drill patched":         patched(st.Drills, a, one(c.drill.ID), func(f *domain.DrillFields) { f.Purpose = pick(c, "Feet.", "Hands.") }),
		"rule patched":          patched(st.Rules, a, one(*c.starterRule()), func(f *domain.RuleFields) { f.Priority = 1 + c.r.IntN(9) }),
		"member patched":        patched(st.Members, a, one(id("Ode")), func(f *domain.MemberFields) { f.Name = pick(c, "Ode", "Oda") }),
	}
}

// anew gives the counts of a week as stores give them that have kept nothing, beside one goalie.
func (c *counted) anew(t *testing.T, week domain.Week) []domain.PeerCount {
	t.Helper()
	page, err := postgres.NewStores(c.pool, judgement.Judge{}).Weeks.Goalie(t.Context(), c.director, c.goalies[0], week)
	require.NoError(t, err)
	return page.Peers
}

// kept gives the counts of a week by the stores through which all was written, on some page; now and then those of a board,
// which are made of the shots that it reads.
func (c *counted) kept(t *testing.T, week domain.Week) []domain.PeerCount {
	t.Helper()
	if stores := c.stores; c.r.IntN(4) == 0 {
		if c.r.IntN(2) == 0 {
			stores = postgres.NewStores(c.pool, judgement.Judge{})
		}
		board, err := stores.Weeks.Program(t.Context(), c.director, week)
		require.NoError(t, err)
		if len(board.Weeks) > 0 {
			return board.Weeks[len(board.Weeks)-1].Peers
		}
	}
	page, err := c.stores.Weeks.Goalie(t.Context(), c.director, pick(c, c.goalies...), week)
	require.NoError(t, err)
	return page.Peers
}

// TestKeptCountsFollowWhatIsWritten writes at random all that can be written, and asks after each write, or after a few,
// whether what was kept and followed is what is counted anew.
func TestKeptCountsFollowWhatIsWritten(t *testing.T) {
	t.Parallel()
	c := newCountedScene(t)
	for range 12 { // so that the first writes have something to change
		require.NoError(t, puts(c, "shot", c.stores.Shots, c.someShot)(t.Context()))
	}
	moving, idle := c.moving(), c.idle()
	names := slices.Concat(slices.Sorted(maps.Keys(moving)), slices.Sorted(maps.Keys(moving)), slices.Sorted(maps.Keys(idle)))
	done, moved, since := map[string]int{}, map[string]int{}, []string{}
	before := c.anew(t, countedWeeks[0])
	for step := range *peerSteps {
		name := pick(c, names...)
		do := moving[name]
		if do == nil {
			do = idle[name]
		}
		for range 6 { // what is refused changes nothing
			err := do(t.Context())
			if err == nil {
				done[name]++
				break
			}
			require.NotContains(t, []domain.Code{domain.Internal, domain.Unavailable, domain.Timeout}, domain.CodeOf(err), "%s: %v", name, err)
		}
		if since = append(since, name); c.r.IntN(4) == 0 {
			continue // several changes are followed at once
		}
		if c.r.IntN(6) == 0 {
			require.Equal(t, c.anew(t, countedWeeks[1]), c.kept(t, countedWeeks[1]), "step %d, an earlier week, after %v", step, since)
			continue
		}
		now := c.anew(t, countedWeeks[0])
		require.Equal(t, now, c.kept(t, countedWeeks[0]), "step %d, after %v", step, since)
		if len(since) == 1 && !reflect.DeepEqual(now, before) {
			moved[name]++
			require.Contains(t, moving, name, "it moves no counts")
		}
		before, since = now, nil
	}
	t.Logf("done %v, seen to move counts %v", done, moved)
	if *peerSteps >= 300 { // else some have not had their turn
		require.Len(t, done, len(moving)+len(idle), "something is never written")
		require.Greater(t, len(moved), len(moving)/3)
	}
}

var peerSteps = flag.Int("peersteps", 300, "how many writes the counts of peers are followed over")
