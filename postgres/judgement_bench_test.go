package postgres_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/summary"
)

// charted gives the scene's goalie and some others five hundred shots each, in twenty-five games of the goalie's own over
// eight weeks, all marked and read; the nearer the ball, the more goals.
func (s *scene) charted(b *testing.B, others int) []domain.Goalie {
	b.Helper()
	goalies := []domain.Goalie{s.goalie}
	for n := range others {
		goalies = append(goalies, made(b, s.stores.Goalies, s.director, fmt.Sprint("peer ", n), goalieCalled(fmt.Sprint("Peer ", n))))
	}
	made(b, s.stores.Seasons, s.director, "season",
		domain.SeasonFields{Name: "Spring", StartsOn: day("2026-02-16"), EndsOn: day("2026-06-30")})
	s.exec(b, `SELECT setseed(0.5)`)
	for _, g := range goalies {
		s.exec(b, `INSERT INTO games (program_id, id, rev, team_id, competition_id, played_on, kind)
			SELECT $1, md5($4::text || g)::uuid, 1, $2, $3, date '2026-02-17' + 2 * g, 'game' FROM generate_series(0, 24) g`,
			s.program.ID, s.team.ID, s.competition.ID, g.ID.String())
		s.exec(b, `INSERT INTO shots (program_id, id, rev, game_id, outcome, deflected, goalie_out, waved_off, period, clock_s,
			elapsed_s, faced_goalie_id, faced_how, ball_x_m, ball_y_m, finish_band, finish_side, release_level, arrival, phase,
			strength, bounce, film_ms)
			SELECT $1, md5($3::text || g || '/' || n)::uuid, 1, md5($3::text || g)::uuid,
			CASE WHEN random() < .8 - .05 * sqrt(x * x + y * y) THEN 'goal' ELSE 'save' END, false, false, false, 1, 700 - n, 20 + n,
			$2, 'only_goalie', x, y, (ARRAY['low', 'mid', 'high'])[1 + floor(3 * random())],
			(ARRAY['stick_side', 'middle', 'off_side'])[1 + floor(3 * random())],
			(ARRAY['low', 'mid', 'high'])[1 + floor(3 * random())], (ARRAY['dodge', 'feed', 'cross_feed'])[1 + floor(3 * random())],
			(ARRAY['settled', 'transition'])[1 + floor(2 * random())], 'even', random() < .25, 1000 * n
			FROM (SELECT g, n, 10 * random() - 5 AS x, 2 + 9 * random() AS y
				FROM generate_series(0, 24) g, generate_series(1, 20) n) AS drawn`, s.program.ID, g.ID, g.ID.String())
	}
	s.exec(b, `INSERT INTO readings (program_id, id, rev, shot_id, how_read, habits, member_id, game_id)
		SELECT s.program_id, md5('reading' || s.id)::uuid, 1, s.id, 'film_blind',
			(SELECT jsonb_object_agg(code, CASE WHEN random() + length(s.id::text) * 0 < .5 THEN 'yes' ELSE 'no' END) FROM habits
				WHERE habits.program_id = s.program_id), $2, s.game_id
		FROM shots s WHERE s.program_id = $1`, s.program.ID, s.director.MemberID)
	s.exec(b, `VACUUM ANALYZE`)
	return goalies
}

// goalieJudged is what is judged of one goalie: the records of the week, and the fit and peers that it leans on.
type goalieJudged struct {
	week    domain.WeekRecords
	targets []domain.Target
	fits    map[judgement.FitKey]judgement.Fitted
}

func (g goalieJudged) peers() judgement.AllPeers {
	return judgement.PeersOf(g.targets, g.week.Peers, judgement.Defaults())
}

// judge goes through the whole judgement of a goalie: rates against the peers, lists, order, charts of change and matched
// pairs of what is worked on.
func (g goalieJudged) judge(peers judgement.AllPeers, limits *judgement.Limits) (changes, pairs int) {
	bounds, week := judgement.Defaults(), g.week.Week
	plays := judgement.Plays(judgement.Between(g.week.Faced, domain.LookBack(g.targets, week), week.Sunday()))
	rates := judgement.RatesOf(g.week.Goalie.ID, g.targets, plays, week, peers, bounds)
	choice := judgement.Choice{
		Rates: rates, Plays: plays, Week: week, Most: 3, Bounds: bounds,
		Value: judgement.Values(g.fits, g.week.Habits, plays, bounds),
	}
	for _, r := range rates {
		if r.State == nil {
			continue
		}
		fitted := judgement.FittedIn(g.fits, r.CodeOfPlay, r.Level)
		s := judgement.SignalOf(r.Target.Fields, judgement.Season{
			Shots: g.week.Faced.Shots, Difficulty: &fitted.Difficulty, Start: judgement.StartOf(r, bounds),
			GamesPlayed: 8, SeasonGames: 19, Week: week, Level: judgement.PageLevel(len(g.targets), bounds.Signal),
		}, limits, bounds.Signal)
		if s.ChangeChance != nil {
			changes++
		}
	}
	for _, gap := range choice.Order() {
		fitted := judgement.FittedIn(g.fits, gap.Rate.CodeOfPlay, gap.Rate.Level)
		found := judgement.PairsOf(gap.Rate, func(s *domain.CountedShot) (float64, bool) { return fitted.Difficulty.SaveChance(s), true })
		pairs += len(found.Pairs)
	}
	return changes, pairs
}

// BenchmarkJudgement judges a goalie of five hundred shots among twenty others of as many, beside the reading of these shots
// with their games, readings, stints and clears from Postgres, in turn. of_reading is judging over reading with the peers'
// tables and the limits of charts known; cold_of_reading works them out too, from the peers' counts; week_of_reading is the
// whole summary, plan and lines included, its peers worked out anew. The aim of of_reading is 5 or less.
func BenchmarkJudgement(b *testing.B) {
	s := newScene(b)
	goalies := s.charted(b, 20)
	read := func(g domain.Goalie) []*domain.CountedShot {
		found, err := s.stores.Lines.Goalie(b.Context(), s.director, g.ID, domain.Span{From: day("2026-02-16")}, nil)
		require.NoError(b, err)
		return found.Faced.Shots
	}
	var all []*domain.CountedShot
	for _, g := range goalies[:8] {
		all = append(all, read(g)...)
	}
	week, err := s.stores.Weeks.Goalie(b.Context(), s.director, s.goalie.ID, domain.WeekOf(day("2026-04-11")))
	require.NoError(b, err)
	require.Len(b, week.Peers, 21)
	fields := domain.FitFields{CodeOfPlay: "mens_field", Level: "high_school", FittedOn: day("2026-04-11")}
	found, err := judgement.Judge{}.Fit(fields, all, week.Habits)
	require.NoError(b, err)
	require.True(b, found.Enough, found.Reason)
	week.Fits = []domain.Fit{{ID: id("fit"), Fields: fields, Found: found}}
	fits, err := judgement.ReadFits(week.Fits)
	require.NoError(b, err)

	judged := goalieJudged{week, judgement.ActiveTargets(week.Targets), fits}
	var limits judgement.Limits
	peers := judged.peers()
	changes, _ := judged.judge(peers, &limits)
	require.GreaterOrEqual(b, changes, 15, "most targets are judged")
	require.GreaterOrEqual(b, len(read(s.goalie)), 500)
	allocs := testing.AllocsPerRun(1, func() { judged.judge(peers, &limits) })
	var reading, warm, cold, whole time.Duration
	for b.Loop() {
		reading += took(func() { read(s.goalie) })
		warm += took(func() { judged.judge(peers, &limits) })
		cold += took(func() { judged.judge(judged.peers(), &judgement.Limits{}) })
		whole += took(func() { summary.OfGoalie(week) })
	}
	b.ReportMetric(reading.Seconds()*1e3/float64(b.N), "ms/reading")
	b.ReportMetric(float64(warm)/float64(reading), "of_reading")
	b.ReportMetric(float64(cold)/float64(reading), "cold_of_reading")
	b.ReportMetric(float64(whole)/float64(reading), "week_of_reading")
	b.ReportMetric(allocs, "allocs/goalie")
}

// took gives how long something takes.
func took(run func()) time.Duration {
	start := time.Now()
	run()
	return time.Since(start)
}
