//go:build unix

package summary

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"syscall"
	"testing"
	"time"

	"cagework/domain"
	"cagework/domain/judgement"
)

const (
	boardGoalies = 50
	boardTargets = 16
	boardShots   = 500 // of each goalie, in twenty-five games over eight weeks
)

var boardWeek = domain.Week{Year: 2026, Number: 15}

// boardRecords are the records of a whole program's week: fifty goalies of one play, each with five hundred shots that are
// all charted and read, sixteen targets of the starter data, its drills and rules, and a fit.
func boardRecords(tb testing.TB) domain.GroupRecords {
	tb.Helper()
	starter := domain.Starter(program)
	common := domain.WeekRecords{
		Week: boardWeek, Habits: starter.Habits, Drills: starter.Drills, Rules: starter.Rules,
		Seasons: []domain.Season{{ID: idOf("season", 1), Fields: domain.SeasonFields{
			Name: "Spring", StartsOn: boardWeek.Sunday().AddDays(-55), EndsOn: boardWeek.Sunday().AddDays(56),
		}}},
	}
	for _, c := range starter.Competitions {
		if c.Fields.CodeOfPlay == "mens_field" && c.Fields.Level == "college" {
			common.Teams = []domain.Team{{ID: idOf("team", 1), Fields: domain.TeamFields{Name: "Varsity", CompetitionID: c.ID, PracticeMinutes: 90}}}
			common.Targets = targetsOf(starter.Targets, boardTargets)
			return boardOf(tb, common, c.Fields)
		}
	}
	tb.Fatal("no competition")
	return domain.GroupRecords{}
}

// targetsOf gives some targets in use that are judged in men's college field.
func targetsOf(all []domain.Target, most int) []domain.Target {
	out := slices.DeleteFunc(slices.Clone(all), func(t domain.Target) bool {
		return !t.Fields.Active || t.Fields.RateFor("mens_field", "college") == nil
	})
	return out[:min(len(out), most)]
}

func boardOf(tb testing.TB, common domain.WeekRecords, competition domain.CompetitionFields) domain.GroupRecords {
	tb.Helper()
	if len(common.Targets) != boardTargets {
		tb.Fatalf("%d targets", len(common.Targets))
	}
	r := rand.New(rand.NewPCG(1, 2))
	board := domain.GroupRecords{Week: boardWeek, Teams: common.Teams}
	var all []*domain.CountedShot
	for n := range boardGoalies {
		week := common
		week.Goalie = domain.Goalie{ID: idOf("goalie", n), Fields: domain.GoalieFields{
			Name: fmt.Sprintf("Goalie %02d", n), StickHand: domain.Right, Availability: domain.Full, AllowedDrillIDs: []domain.ID{},
		}}
		for i := range boardShots {
			week.Faced.Shots = append(week.Faced.Shots, boardShot(r, week, competition, i))
		}
		all = append(all, week.Faced.Shots...)
		board.Weeks = append(board.Weeks, week)
	}
	fit := domain.FitFields{CodeOfPlay: "mens_field", Level: "college", FittedOn: boardWeek.Monday()}
	found, err := judgement.Judge{}.Fit(fit, all[:8*boardShots], common.Habits)
	if err != nil || !found.Enough {
		tb.Fatal(err, found.Reason)
	}
	peers := domain.CountPeers(common.Targets, boardWeek, all)
	for i := range board.Weeks {
		board.Weeks[i].Fits = []domain.Fit{{ID: idOf("fit", 1), Fields: fit, Found: found}}
		board.Weeks[i].Peers = peers
	}
	return board
}

// boardShot draws a shot with all that is charted of one, and a reading of every habit.
func boardShot(r *rand.Rand, of domain.WeekRecords, competition domain.CompetitionFields, i int) *domain.CountedShot {
	game := domain.Game{ID: domain.NameID(of.Goalie.ID, fmt.Sprint("game ", i/20)), Fields: domain.GameFields{
		PlayedOn: boardWeek.Sunday().AddDays(2*(i/20) - 50), Kind: domain.KindGame, TeamID: of.Teams[0].ID,
	}}
	f := domain.ShotFields{
		Outcome: domain.Save, FinishBand: &domain.Bands[r.IntN(3)], FinishSide: &domain.Sides[r.IntN(3)],
		ReleaseLevel: &domain.Bands[r.IntN(3)], Arrival: &domain.Arrivals[r.IntN(len(domain.Arrivals))],
		Phase: &domain.Phases[r.IntN(3)], Strength: &domain.Strengths[r.IntN(3)], Bounce: new(r.IntN(4) == 0),
		BallXM: new(10*r.Float64() - 5), BallYM: new(2 + 9*r.Float64()), FilmMs: new(1000 * i),
	}
	if nearer := 1 - math.Hypot(*f.BallXM, *f.BallYM)/12; r.Float64() < .2+.6*nearer {
		f.Outcome = domain.Goal
	} else {
		f.Rebound = &domain.Rebounds[r.IntN(len(domain.Rebounds))]
	}
	reading := domain.Reading{Fields: domain.ReadingFields{HowRead: domain.FilmBlind, Habits: map[string]domain.Answer{}}}
	for _, h := range of.Habits {
		reading.Fields.Habits[h.Fields.Code] = domain.Answers[r.IntN(2)]
	}
	return &domain.CountedShot{
		Game: game, Competition: competition, StickHand: domain.Right, Habits: of.Habits, Reading: &reading,
		Shot: domain.Shot{ID: domain.NameID(of.Goalie.ID, fmt.Sprint("shot ", i)), Fields: f, Found: domain.ShotFound{FacedGoalieID: new(of.Goalie.ID)}},
	}
}

// BenchmarkBoardWeek works out the week of a whole program from its records on one core: the counts of the peers and all of
// [OfProgram], so the rates, the lists, the order, the pairs, the charts of change, the plan and the lines. Cold means that
// no limit of a chart is remembered. The same again after one more shot of one goalie is a share of that. The aims are one
// second and a tenth. What is counted is the time of the processor, so that other work on the machine does not matter.
func BenchmarkBoardWeek(b *testing.B) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	board := boardRecords(b)
	after := withOneMore(board)
	var cold, again time.Duration
	var before, end runtime.MemStats
	runtime.ReadMemStats(&before)
	for b.Loop() {
		limits = judgement.Limits{}
		cold += timeOf(board)
		again += timeOf(after)
	}
	runtime.ReadMemStats(&end)
	n := float64(b.N)
	b.ReportMetric(cold.Seconds()/n, "cold_s")
	b.ReportMetric(again.Seconds()/cold.Seconds(), "after_a_shot")
	b.ReportMetric(float64(end.Mallocs-before.Mallocs)/(2*n*boardGoalies), "allocs/goalie")
}

// withOneMore gives the records after one goalie faced one shot more.
func withOneMore(board domain.GroupRecords) domain.GroupRecords {
	board.Weeks = slices.Clone(board.Weeks)
	week := &board.Weeks[7]
	r := rand.New(rand.NewPCG(3, 4))
	more := boardShot(r, *week, week.Faced.Shots[0].Competition, boardShots-1)
	more.Shot.ID = domain.NameID(week.Goalie.ID, "one more")
	week.Faced.Shots = append(slices.Clone(week.Faced.Shots), more)
	return board
}

// asRead gives the records as a store gives them: shots of which nothing is worked out yet, and each thing only once.
func asRead(board domain.GroupRecords) domain.GroupRecords {
	board.Weeks = slices.Clone(board.Weeks)
	for i := range board.Weeks {
		faced := &board.Weeks[i].Faced
		faced.Shots = slices.Clone(faced.Shots)
		for k, s := range faced.Shots {
			read := *s
			read.Remember()
			faced.Shots[k] = &read
		}
	}
	runtime.GC() // of what the copies left
	return board
}

// timeOf gives how long a board takes, its peers' counts among it.
func timeOf(board domain.GroupRecords) time.Duration {
	board = asRead(board)
	start := processorTime()
	var all []*domain.CountedShot
	for _, w := range board.Weeks {
		all = append(all, w.Faced.Shots...)
	}
	peers := domain.CountPeers(board.Weeks[0].Targets, board.Week, all)
	board.Weeks = slices.Clone(board.Weeks)
	for i := range board.Weeks {
		board.Weeks[i].Peers = peers
	}
	OfProgram(board)
	return processorTime() - start
}

// processorTime gives the processor's time that the process has used.
func processorTime() time.Duration {
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		panic(err)
	}
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}
