//go:build unix

package main

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/cmd/cagework/invented"
	"cagework/domain"
)

var demoDirectory = `private Postgres [0-9.]+ in (\S+)\n`

func TestDemoOnce(t *testing.T) {
	t.Parallel()
	out, log, err := cagework(t, "demo", "--once", "--week=2026-W15")
	require.NoError(t, err, log)
	for _, part := range []string{
		`The board, week 2026-W15\n`,
		`\nSky Penrose +Harbor Hill sixes +held +The goalie is held: nothing is recommended, film included\. *\n`,
		`\nJude Marlowe +Harbor Hill varsity +full +Too few shots so far`,
		`\nTess Arbor +Harbor Hill girls 14U +limited +On the angle: \d+ of \d+`,
		`\nRowan Tully, week 2026-W15 \(2026-04-06 to 2026-04-12\)\n`,
		`Practice minutes this week: 90\.`,
		`Live shots: \d+ of 270 used, \d+ left`,
		`Work on, 1: Low shots: \d+ saved of \d+ `,
		`Kept for its block, week 2 of 3\.`,
		`  drill: Beat the drop, \d+ min, \d+ repetitions, \d+ times a week`,
		`\n    care: `,
		`Read on the next games: Set before release, .*\d+ of \d+ shots`,
		`  watch: 2026-04-11 against [A-Z][a-z]+ [A-Z][a-z]+, film \d+:\d\d, `,
		`Low-shot save rate: \d+ of \d+ = 0\.\d\d \(95 % interval 0\.\d\d to 0\.\d\d\); target 0\.50: clear gap`,
		`Official line\n  this week    2 games, \d+ shots, \d+ on goal, \d+ saves, \d+ goals against, save percentage \.\d{3}`,
		`This season +\d+ games, `,
		`\n +\d+\.\d saves (above|below) expected, on \d{3} shots on goal \(95 % interval .*: (in keeping|fewer|more) .* of the program\.`,
		`never says whether a goalie may return to play`,
	} {
		require.Regexp(t, part, out)
	}
	require.NotContains(t, out, "Serving on")
	var said text
	_, _ = said.Write([]byte(log))
	require.Regexp(t, `\d{4} shots with \d{4} readings in \d+ games through the public API`, log)
	require.NotContains(t, log, "\r", "no progress bar where there is no terminal")
	requireNothingLeft(t, said.await(t, demoDirectory)[0])
}

func TestDemoOnceThatIsInterruptedLeavesNothing(t *testing.T) {
	t.Parallel()
	p := start(t, "demo", "--once")
	dir := p.log.await(t, demoDirectory)[0]
	p.signal(syscall.SIGINT)
	require.Error(t, p.end(patience))
	requireNothingLeft(t, dir)
}

// serving is what the demo says once it serves.
type serving struct{ base, token, week string }

func awaitDemo(t *testing.T, p *process) serving {
	t.Helper()
	said := p.out.await(t, `Serving on (\S+) until(?s:.*)token +(cw_\S+)\n +week +curl -H 'Authorization: Bearer (cw_\S+)' (\S+)\n`+
		` +pages +sign in with the token at (\S+): the board is (\S+)\n +docs +(\S+)\n`)
	s := serving{said[0], said[1], said[3]}
	require.Equal(t, s.token, said[2])
	require.Equal(t, s.base+"/sign-in", said[4])
	board := get(t, said[5], s.token, "text/html").want(http.StatusOK)
	require.Contains(t, board, "Every goalie, every target")
	get(t, said[6], "", "text/html").want(http.StatusOK)
	return s
}

func TestDemoServesAndStartsAgain(t *testing.T) {
	t.Parallel()
	args := []string{"demo", "--dir=" + reachableDir(t) + "/server"}
	first := start(t, append(args, "--week=2026-W15")...)
	s := awaitDemo(t, first)
	requireWeek(t, s)
	requirePlanted(t, s)
	requireFits(t, s)
	requireBaselines(t, s)
	shots := shotsAt(t, s.base, s.token)
	require.Greater(t, len(shots), 2500)
	me := get(t, s.base+"/v1/me", s.token, "application/json").want(http.StatusOK)

	begun := time.Now()
	first.signal(syscall.SIGTERM)
	require.NoError(t, first.end(15*time.Second), first.log.String())
	require.Less(t, time.Since(begun), 10*time.Second)

	second := start(t, append(args, "--week=2026-W20")...)
	again := awaitDemo(t, second)
	require.Contains(t, second.log.String(), "the data are those of before, up to week 2026-W15; --fresh starts over")
	require.NotEqual(t, s.token, again.token)
	require.Equal(t, strings.TrimPrefix(s.week, s.base), strings.TrimPrefix(again.week, again.base))
	require.Equal(t, shots, shotsAt(t, again.base, again.token), "the same shots, none written anew")
	meAgain := get(t, again.base+"/v1/me", again.token, "application/json").want(http.StatusOK)
	require.Equal(t, me, meAgain, "the same program")
	get(t, again.base+"/v1/me", s.token, "application/json").want(http.StatusOK)

	second.kill()
	third := start(t, append(args, "--week=2026-W20", "--fresh")...)
	fresh := awaitDemo(t, third)
	require.Contains(t, fresh.week, "/weeks/2026-W20")
	requireWeek(t, fresh)
	third.signal(syscall.SIGINT)
	require.NoError(t, third.end(15*time.Second), third.log.String())
}

// requirePlanted asks the API for the week of every goalie: each weakness that was planted is the first or second thing
// to work on, and who has none is given nothing.
func requirePlanted(t *testing.T, s serving) {
	t.Helper()
	week := domain.Week{Year: 2026, Number: 15}
	p := invented.NewModel(demoProgramID).Invent(invented.Squads(), invented.DemoSeed, week)
	require.Len(t, p.Planted, 5)
	for _, g := range p.Goalies {
		w, err := goalieWeek(t.Context(), apiAt(t, strings.TrimPrefix(s.base, "http://"), s.token), g.ID, week)
		require.NoError(t, err)
		var codes []string
		for _, work := range w.WorkOns[:min(2, len(w.WorkOns))] {
			codes = append(codes, work.Target.Code)
		}
		if planted, is := p.Planted[g.ID]; is {
			require.Contains(t, codes, planted, g.Fields.Name)
		} else {
			require.Empty(t, codes, g.Fields.Name)
		}
	}
}

// requireFits asks for the fits: one of each code of play and level, and the saves expected of every goalie with shots.
func requireFits(t *testing.T, s serving) {
	t.Helper()
	api := apiAt(t, strings.TrimPrefix(s.base, "http://"), s.token)
	r, err := api.ListFitsWithResponse(t.Context(), nil)
	require.NoError(t, err)
	require.NotNil(t, r.JSON200, "%s", r.Body)
	require.Len(t, r.JSON200.Items, len(invented.Competitions))
	fits, enough := map[string]bool{}, 0
	for _, f := range r.JSON200.Items {
		fits[f.ID.String()] = true
		require.Equal(t, "2026-04-12", f.FittedOn.String())
		require.Positive(t, f.Shots)
		if f.Enough {
			enough++
		}
	}
	require.Positive(t, enough, "where enough is charted the model is used")
	week := domain.Week{Year: 2026, Number: 15}
	p := invented.NewModel(demoProgramID).Invent(invented.Squads(), invented.DemoSeed, week)
	for _, g := range p.Goalies {
		w, err := goalieWeek(t.Context(), api, g.ID, week)
		require.NoError(t, err)
		for _, play := range w.Plays {
			e := play.LinesSeason[0].Line.Expected
			require.NotNil(t, e, g.Fields.Name)
			require.True(t, fits[e.FitID.String()])
			onGoal := play.LinesSeason[0].Line.ShotsOnGoal
			require.LessOrEqual(t, e.Shots, onGoal, g.Fields.Name)
			require.Greater(t, e.Shots, onGoal-10, "%s: a few had the goalie out of the cage", g.Fields.Name)
		}
	}
}

// requireBaselines holds what was kept with each block to the goalie's week that ends before it begins: the demo's records
// were written in the order of time, as far as that is asked for.
func requireBaselines(t *testing.T, s serving) {
	t.Helper()
	api := apiAt(t, strings.TrimPrefix(s.base, "http://"), s.token)
	page, err := api.ListAssignmentsWithResponse(t.Context(), nil)
	require.NoError(t, err)
	require.NotNil(t, page.JSON200)
	require.Len(t, page.JSON200.Items, 5)
	for _, a := range page.JSON200.Items {
		w, err := goalieWeek(t.Context(), api, domain.ID(a.GoalieID), domain.WeekOf(domain.DateOf(a.StartsOn.AddDate(0, 0, -1))))
		require.NoError(t, err)
		var want, got []string
		for _, play := range w.Plays {
			for _, r := range play.Rates {
				if r.TargetID == a.TargetID && r.Tries > 0 && r.TargetRate != nil {
					want = append(want, fmt.Sprint(r.CodeOfPlay, r.Level, r.From, r.To, r.Hits, r.Tries, r.Unseen, *r.TargetRate, *r.ChanceBelow))
				}
			}
		}
		for _, b := range *a.Baselines {
			got = append(got, fmt.Sprint(b.CodeOfPlay, b.Level, b.From, b.To, b.Hits, b.Tries, b.Unseen, b.TargetRate, b.ChanceBelow))
		}
		require.NotEmpty(t, got)
		require.Equal(t, want, got)
	}
}

// requireWeek reads the week as JSON, as a page with the token, and as a page with the cookie of the sign-in form.
func requireWeek(t *testing.T, s serving) {
	t.Helper()
	require.Contains(t, get(t, s.week, s.token, "application/json").want(http.StatusOK), `"Rowan Tully"`)
	page := get(t, s.week, s.token, "text/html").want(http.StatusOK)
	require.Contains(t, page, "<table")
	require.Contains(t, page, "Rowan Tully")
	require.Equal(t, "/sign-in?next="+url.QueryEscape(strings.TrimPrefix(s.week, s.base)), toSignIn(t, s))

	require.Contains(t, get(t, s.base+"/sign-in", "", "text/html").want(http.StatusOK), "<form")
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, s.week, nil)
	require.NoError(t, err)
	req.Header.Set("Accept", "text/html")
	req.AddCookie(signIn(t, s.base, s.token))
	byCookie := send(t, req).want(http.StatusOK)
	require.Equal(t, page, byCookie)
}

// toSignIn is where a browser that has not signed in is sent.
func toSignIn(t *testing.T, s serving) string {
	t.Helper()
	a := get(t, s.week, "", "text/html")
	a.want(http.StatusSeeOther)
	return a.header.Get("Location")
}
