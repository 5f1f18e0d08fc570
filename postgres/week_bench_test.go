package postgres_test

import (
	"flag"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/summary"
	"cagework/postgres"
)

// BenchmarkWeekAfterAShot asks for weeks of a program of fifty goalies with five hundred shots each, of whom one has faced one
// shot more since the last time, beside the reading of shots with their games, readings, stints and clears, in turn.
//
// of_reading is the records of another goalie's week over the reading of that goalie's shots; anew_of_reading is the same by
// stores that have kept no counts, so that all goalies' shots are read and counted. Nothing is judged in either.
//
// board_of_reading is the whole week of the program, read and judged, over the reading of all its shots; board_anew_of_reading
// the same by stores that have kept nothing; board_cold_of_reading that of the first board of the process, which works out the
// limits of the charts too, once. board_records_of_reading is what reading the board takes of it.
//
// Where each benchmark is run but once, to see that it runs, there are five goalies.
func BenchmarkWeekAfterAShot(b *testing.B) {
	s := newScene(b)
	others := 49
	if flag.Lookup("test.benchtime").Value.String() == "1x" {
		others = 4
	}
	goalies := s.charted(b, others)
	for _, g := range goalies {
		made(b, s.stores.RosterSpells, s.director, "spell of "+g.ID.String(), domain.RosterSpellFields{TeamID: s.team.ID, GoalieID: g.ID, FromOn: day("2026-02-01")})
	}
	week, since := domain.WeekOf(day("2026-04-11")), domain.Span{From: day("2026-02-16")}
	anew := func() *postgres.Stores { return postgres.NewStores(s.pool, judgement.Judge{}) }
	shots := 0
	shoot := func() { // another goalie faces a shot
		f := s.shotAt(1, shots%700, domain.Save)
		f.GoalieID = &goalies[1+shots%others].ID
		made(b, s.stores.Shots, s.director, fmt.Sprint("more ", shots), f)
		shots++
	}
	page := func(stores *postgres.Stores) {
		r, err := stores.Weeks.Goalie(b.Context(), s.director, s.goalie.ID, week)
		require.NoError(b, err)
		require.Len(b, r.Peers, len(goalies))
	}
	board := func(stores *postgres.Stores, judged bool) {
		r, err := stores.Weeks.Program(b.Context(), s.director, week)
		require.NoError(b, err)
		require.Len(b, r.Weeks, len(goalies))
		if judged {
			summary.OfProgram(r)
		}
	}
	readOne := func() {
		r, err := s.stores.Lines.Goalie(b.Context(), s.director, s.goalie.ID, since, nil)
		require.NoError(b, err)
		require.GreaterOrEqual(b, len(r.Faced.Shots), 500)
	}
	readAll := func() {
		r, err := s.stores.Lines.Team(b.Context(), s.director, s.team.ID, since, nil)
		require.NoError(b, err)
		require.GreaterOrEqual(b, len(r.Faced.Shots), 500*len(goalies))
	}
	cold := took(func() { board(anew(), true) })
	page(s.stores)
	var one, all, after, afterAnew, boardRecords, boardAfter, boardAnew time.Duration
	for b.Loop() {
		one += took(readOne)
		shoot()
		after += took(func() { page(s.stores) })
		afterAnew += took(func() { page(anew()) })
		all += took(readAll)
		shoot()
		boardRecords += took(func() { board(s.stores, false) })
		shoot()
		boardAfter += took(func() { board(s.stores, true) })
		boardAnew += took(func() { board(anew(), true) })
	}
	n := float64(b.N)
	b.ReportMetric(one.Seconds()*1e3/n, "ms/reading")
	b.ReportMetric(float64(after)/float64(one), "of_reading")
	b.ReportMetric(float64(afterAnew)/float64(one), "anew_of_reading")
	b.ReportMetric(all.Seconds()*1e3/n, "ms/reading_all")
	b.ReportMetric(float64(boardRecords)/float64(all), "board_records_of_reading")
	b.ReportMetric(float64(boardAfter)/float64(all), "board_of_reading")
	b.ReportMetric(float64(boardAnew)/float64(all), "board_anew_of_reading")
	b.ReportMetric(n*float64(cold)/float64(all), "board_cold_of_reading")
}
