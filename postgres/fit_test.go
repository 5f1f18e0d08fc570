package postgres_test

import (
	"context"
	"encoding/json"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

func (s *scene) fitFields(on string) domain.FitFields {
	f := s.competition.Fields
	return domain.FitFields{CodeOfPlay: f.CodeOfPlay, Level: f.Level, FittedOn: day(on)}
}

// fitted makes a fit of the scene's competition as of a day.
func (s *scene) fitted(t testing.TB, name, on string) domain.Fit {
	t.Helper()
	fit, how, err := s.stores.Fits.Put(t.Context(), s.director, id(name), s.fitFields(on))
	require.NoError(t, err)
	require.Equal(t, domain.Created, how)
	return fit
}

// manyShots charts a season of four goalies: from near the ball goes in more often.
func (s *scene) manyShots(t testing.TB) {
	t.Helper()
	for g := range 4 {
		goalie := made(t, s.stores.Goalies, s.director, fmt.Sprint("goalie ", g), goalieCalled("G"))
		var items []domain.ShotItem
		for i := range 100 {
			shot := s.shotAt(1+i%4, 6*i, domain.Save)
			near := i%2 == 0
			if near == (i%10 < 8) { // four of five near ones, one of five far ones
				shot.Outcome = domain.Goal
			}
			shot.GoalieID, shot.BallXM, shot.BallYM = &goalie.ID, new(float64(i%7-3)), new(12.0+float64(i%3))
			if near {
				shot.BallYM = new(4.0 + float64(i%3))
			}
			items = append(items, domain.ShotItem{ID: id(fmt.Sprint("many ", g, i)), ShotFields: shot})
		}
		results, err := s.stores.Shots.PutMany(t.Context(), s.director, items)
		require.NoError(t, err)
		for _, r := range results {
			require.NoError(t, r.Err)
		}
	}
}

func TestAFitIsMadeOnceAndComesBackAsItWas(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	s.manyShots(t)
	fit := s.fitted(t, "fit", "2026-04-11")
	require.True(t, fit.Found.Enough, fit.Found.Reason)
	require.Equal(t, 401, fit.Found.Shots, "with the scene's own")
	require.Equal(t, 5, fit.Found.Goalies)
	require.Equal(t, day("2026-04-11"), *fit.Found.From)
	require.NotNil(t, fit.Found.Model)

	back, err := s.stores.Fits.Get(t.Context(), s.director, fit.ID)
	require.NoError(t, err)
	require.Equal(t, fit, back)
	page, err := s.stores.Fits.List(t.Context(), s.director, domain.Query{})
	require.NoError(t, err)
	require.Len(t, page.Items, 1)
	require.Nil(t, page.Items[0].Found.Model, "a list has no models")
	page.Items[0].Found.Model = fit.Found.Model
	require.Equal(t, fit, page.Items[0])

	history := s.history(t, s.program.ID, fit.ID)
	require.Len(t, history, 1)
	require.Equal(t, "create", history[0].Op)
	require.Equal(t, fit.Rev, history[0].Rev)

	again, how, err := s.stores.Fits.Put(t.Context(), s.director, fit.ID, s.fitFields("2026-04-11"))
	require.NoError(t, err)
	require.Equal(t, domain.Unchanged, how)
	require.Equal(t, fit, again)
}

// TestARepeatFitsNothing gives the second store a judge that must not be asked.
func TestARepeatFitsNothing(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	fit := s.fitted(t, "fit", "2026-04-11")
	other := postgres.NewStores(s.pool, noJudge{})
	again, how, err := other.Fits.Put(t.Context(), s.director, fit.ID, s.fitFields("2026-04-11"))
	require.NoError(t, err)
	require.Equal(t, domain.Unchanged, how)
	require.Equal(t, fit, again)
	_, _, err = other.Fits.Put(t.Context(), s.director, fit.ID, s.fitFields("2026-04-10"))
	require.Equal(t, fit.Rev, refused(t, domain.Conflict, err).Rev)
	_, _, err = other.Fits.Put(t.Context(), s.director, id("another"), s.fitFields("2026-04-11"))
	require.ErrorContains(t, refused(t, domain.Internal, err).Cause, "asked", "a new one does ask")
	require.Zero(t, ask[int](t, s.world, `SELECT count(*) FROM fits WHERE id = $1`, id("another")), "nothing half-written")
}

type noJudge struct{ domain.Judge }

func (noJudge) Fit(domain.FitFields, []*domain.CountedShot, []domain.Habit) (domain.FitFound, error) {
	return domain.FitFound{}, fmt.Errorf("it was asked")
}

func TestAFitIsKeptThoughItTookLongerThanTheRequest(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	ctx, cancel := context.WithCancel(t.Context())
	slow := postgres.NewStores(s.pool, slowJudge{judgement.Judge{}, cancel})
	fit, how, err := slow.Fits.Put(ctx, s.director, id("slow"), s.fitFields("2026-04-11"))
	require.NoError(t, err)
	require.Error(t, ctx.Err(), "whoever asked has gone")
	require.Equal(t, domain.Created, how)
	again, how, err := postgres.NewStores(s.pool, noJudge{}).Fits.Put(t.Context(), s.director, id("slow"), s.fitFields("2026-04-11"))
	require.NoError(t, err)
	require.Equal(t, domain.Unchanged, how)
	require.Equal(t, fit, again)
}

// slowJudge is so slow that the request is over before its fit is there.
type slowJudge struct {
	domain.Judge
	over context.CancelFunc
}

func (j slowJudge) Fit(f domain.FitFields, shots []*domain.CountedShot, habits []domain.Habit) (domain.FitFound, error) {
	j.over()
	return j.Judge.Fit(f, shots, habits)
}

func TestCorrectedShotsLeaveAFitAsItWas(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	fit := s.fitted(t, "fit", "2026-04-11")
	require.Equal(t, 1, fit.Found.Saves)
	turned := s.shot.Fields
	turned.Outcome = domain.Goal
	_, err := s.stores.Shots.Patch(t.Context(), s.director, s.shot.ID, anyRev, to(turned))
	require.NoError(t, err)
	back, err := s.stores.Fits.Get(t.Context(), s.director, fit.ID)
	require.NoError(t, err)
	require.Equal(t, fit, back)
	again, _, err := s.stores.Fits.Put(t.Context(), s.director, fit.ID, s.fitFields("2026-04-11"))
	require.NoError(t, err)
	require.Equal(t, fit, again)
	anew := s.fitted(t, "anew", "2026-04-11")
	require.Zero(t, anew.Found.Saves, "a new one sees the correction")
	require.Equal(t, 1, anew.Found.Shots)
}

func TestWhichShotsAFitReads(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	later := made(t, s.stores.Games, s.director, "later", s.gameOn("2026-04-12"))
	shot := s.shotAt(1, 500, domain.Goal)
	shot.GameID, shot.GoalieID = later.ID, &s.goalie.ID
	made(t, s.stores.Shots, s.director, "later shot", shot)
	wide := s.shotAt(1, 400, domain.Wide)
	wide.GoalieID = &s.goalie.ID
	made(t, s.stores.Shots, s.director, "wide", wide)
	made(t, s.stores.Shots, s.director, "nobody's", s.shotAt(1, 300, domain.Goal))

	require.Equal(t, 1, s.fitted(t, "that day", "2026-04-11").Found.Shots)
	require.Equal(t, 0, s.fitted(t, "before", "2026-04-10").Found.Shots)
	none := s.fitFields("2026-04-11")
	none.Level = "10u"
	fit, _, err := s.stores.Fits.Put(t.Context(), s.director, id("of nobody"), none)
	require.NoError(t, err)
	require.Zero(t, fit.Found.Shots)
	require.Nil(t, fit.Found.From)
	require.False(t, fit.Found.Enough)
	require.NotEmpty(t, fit.Found.Reason)
}

func TestAFitThatCannotBe(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	_, _, err := s.stores.Fits.Put(t.Context(), s.director, id("tomorrow"), s.fitFields(domain.DateOf(noon).AddDays(1).String()))
	require.Equal(t, "/fitted_on", refused(t, domain.Invalid, err).Fields[0].Pointer)
	s.fitted(t, "today", domain.DateOf(noon).String())
	_, _, err = s.stores.Fits.Put(t.Context(), s.director, id("chess"), domain.FitFields{CodeOfPlay: "chess", Level: "10u", FittedOn: day("2026-01-01")})
	require.Equal(t, "/code_of_play", refused(t, domain.Invalid, err).Fields[0].Pointer)
	_, _, err = s.stores.Fits.Put(t.Context(), s.director, domain.ID{}, s.fitFields("2026-04-11"))
	refused(t, domain.Invalid, err)
	coach := s.director
	coach.Role = domain.Coach
	_, _, err = s.stores.Fits.Put(t.Context(), coach, id("coach's"), s.fitFields("2026-04-11"))
	refused(t, domain.Forbidden, err)
	_, err = s.stores.Fits.Get(t.Context(), coach, id("today"))
	require.NoError(t, err)
}

func TestAFitIsNotTakenBack(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	fit := s.fitted(t, "fit", "2026-04-11")
	page, err := s.stores.Changes.Of(t.Context(), s.director, fit.ID, 0, 0)
	require.NoError(t, err)
	require.Len(t, page.Items, 1)
	require.Equal(t, domain.NounFit, page.Items[0].Noun)
	refused(t, domain.Conflict, s.takeBack(t.Context(), s.director, fit.ID))
	require.Equal(t, 1, ask[int](t, s.world, `SELECT count(*)::int FROM fits`))
}

// TestFitsMadeAtOnceAreOne puts one fit from several sides.
func TestFitsMadeAtOnceAreOne(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	var all sync.WaitGroup
	var mu sync.Mutex
	created := 0
	for range 6 {
		all.Go(func() {
			_, how, err := s.stores.Fits.Put(t.Context(), s.director, id("fit"), s.fitFields("2026-04-11"))
			mu.Lock()
			defer mu.Unlock()
			if err != nil {
				t.Errorf("put: %v", err)
			}
			if how == domain.Created {
				created++
			}
		})
	}
	all.Wait()
	require.Equal(t, 1, created)
	require.Equal(t, []string{"create"}, s.ops(t, id("fit")))
}

func TestListsOfFitsAreNarrowed(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	want := map[domain.Level]int{"high_school": 2, "10u": 1}
	s.fitted(t, "one", "2026-04-10")
	s.fitted(t, "two", "2026-04-11")
	_, _, err := s.stores.Fits.Put(t.Context(), s.director, id("three"), domain.FitFields{CodeOfPlay: "box", Level: "10u", FittedOn: day("2026-04-10")})
	require.NoError(t, err)
	for level, n := range want {
		page, err := s.stores.Fits.List(t.Context(), s.director, domain.Query{Filter: domain.Filter{Level: &level}})
		require.NoError(t, err)
		require.Len(t, page.Items, n, level)
	}
	page, err := s.stores.Fits.List(t.Context(), s.director, domain.Query{Filter: domain.Filter{CodeOfPlay: new(domain.CodeOfPlay("box"))}})
	require.NoError(t, err)
	require.Len(t, page.Items, 1)
	page, err = s.stores.Fits.List(t.Context(), s.director, domain.Query{Limit: 2})
	require.NoError(t, err)
	require.Len(t, page.Items, 2)
	page, err = s.stores.Fits.List(t.Context(), s.director, domain.Query{Limit: 2, After: page.Next})
	require.NoError(t, err)
	require.Len(t, page.Items, 1)
}

// TestTheNewestFitIsInUse: by its day, then by its id, whichever was made last.
func TestTheNewestFitIsInUse(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	week := domain.Week{Year: 2026, Number: 15}
	inUse := func() []domain.Fit {
		t.Helper()
		one, err := s.stores.Weeks.Goalie(t.Context(), s.director, s.goalie.ID, week)
		require.NoError(t, err)
		team, err := s.stores.Weeks.Team(t.Context(), s.director, s.team.ID, week)
		require.NoError(t, err)
		require.Equal(t, one.Fits, team.Cage.Fits)
		for _, lines := range []func() (domain.LineRecords, error){
			func() (domain.LineRecords, error) {
				return s.stores.Lines.Goalie(t.Context(), s.director, s.goalie.ID, domain.Span{}, nil)
			},
			func() (domain.LineRecords, error) {
				return s.stores.Lines.Team(t.Context(), s.director, s.team.ID, domain.Span{}, nil)
			},
		} {
			records, err := lines()
			require.NoError(t, err)
			require.Equal(t, one.Fits, records.Fits)
		}
		return one.Fits
	}
	require.Empty(t, inUse())
	first, second := s.fitted(t, "one", "2026-04-11"), s.fitted(t, "two", "2026-04-11")
	if first.ID.String() > second.ID.String() {
		first, second = second, first
	}
	require.Equal(t, []domain.Fit{second}, inUse(), "of one day the greatest id")
	s.fitted(t, "earlier", "2026-04-10")
	require.Equal(t, []domain.Fit{second}, inUse())
	other, _, err := s.stores.Fits.Put(t.Context(), s.director, id("box"), domain.FitFields{CodeOfPlay: "box", Level: "10u", FittedOn: day("2026-01-01")})
	require.NoError(t, err)
	require.Equal(t, []domain.Fit{other, second}, inUse(), "one of each code of play and level")
	fits, err := judgement.ReadFits(inUse())
	require.NoError(t, err)
	require.Len(t, fits, 2)
	require.True(t, json.Valid(second.Found.Habits))
}

// TestNothingIsHeldWhileAFitIsMade gives the store one connection, which the judge must find free.
func TestNothingIsHeldWhileAFitIsMade(t *testing.T) {
	t.Parallel()
	s := newScene(t)
	judge := &askingJudge{}
	stores := postgres.NewStores(open(t, s.db.URL, 1), judge)
	judge.ask = func() error {
		ctx, cancel := context.WithTimeout(t.Context(), 5*time.Second)
		defer cancel()
		_, err := stores.Goalies.Get(ctx, s.director, s.goalie.ID)
		return err
	}
	_, how, err := stores.Fits.Put(t.Context(), s.director, id("fit"), s.fitFields("2026-04-11"))
	require.NoError(t, err)
	require.Equal(t, domain.Created, how)
	require.Equal(t, 1, judge.asked)
}

type askingJudge struct {
	judgement.Judge
	ask   func() error
	asked int
}

func (j *askingJudge) Fit(f domain.FitFields, shots []*domain.CountedShot, habits []domain.Habit) (domain.FitFound, error) {
	j.asked++
	if err := j.ask(); err != nil {
		return domain.FitFound{}, err
	}
	return j.Judge.Fit(f, shots, habits)
}
