//go:build unix

package main

import (
	"net/http"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var demoDirectory = `private Postgres [0-9.]+ in (\S+)\n`

func TestDemoOnce(t *testing.T) {
	t.Parallel()
	out, log, err := cagework(t, "demo", "--once")
	require.NoError(t, err, log)
	for _, part := range []string{
		`Rowan Tully, week 2026-W15 \(2026-04-06 to 2026-04-12\)\n`,
		`Practice minutes this week: 90\.`,
		`Live shots: \d+ of 270 used, \d+ left`,
		`Work on, 1: Set before release: \d+ of \d+ `,
		`  drill: Call and freeze, \d+ min, \d+ repetitions, \d+ times a week`,
		`\n    care: `,
		`Read on the next games: Set before release, .*\d+ of \d+ shots`,
		`  watch: 2026-04-11 against Saddle Creek, film \d+:\d\d, `,
		`Set before release: \d+ of \d+ = 0\.\d\d \(95 % interval 0\.\d\d to 0\.\d\d\); target 0\.80: clear gap; \d+ more not seen`,
		`Official line\n  this week    2 games, 55 shots, 33 on goal, 17 saves, 16 goals against, save percentage \.515`,
		`Spring 2026 +\d+ games, `,
		`never says whether a goalie may return to play`,
	} {
		require.Regexp(t, part, out)
	}
	require.NotContains(t, out, "Serving on")
	var said text
	_, _ = said.Write([]byte(log))
	require.Contains(t, log, "334 shots in 12 games through the public API")
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
		` +page +sign in with the token at (\S+), then open (\S+)\n +docs +(\S+)\n`)
	s := serving{said[0], said[1], said[3]}
	require.Equal(t, s.token, said[2])
	require.Equal(t, s.base+"/sign-in", said[4])
	require.Equal(t, s.week, said[5])
	get(t, said[6], "", "text/html").want(http.StatusOK)
	return s
}

func TestDemoServesAndStartsAgain(t *testing.T) {
	t.Parallel()
	args := []string{"demo", "--dir=" + reachableDir(t) + "/server"}
	first := start(t, args...)
	s := awaitDemo(t, first)
	requireWeek(t, s)
	shots := shotsAt(t, s.base, s.token)
	require.Len(t, shots, 334)
	me := get(t, s.base+"/v1/me", s.token, "application/json").want(http.StatusOK)

	begun := time.Now()
	first.signal(syscall.SIGTERM)
	require.NoError(t, first.end(15*time.Second), first.log.String())
	require.Less(t, time.Since(begun), 10*time.Second)

	second := start(t, args...)
	again := awaitDemo(t, second)
	require.NotEqual(t, s.token, again.token)
	require.Equal(t, strings.TrimPrefix(s.week, s.base), strings.TrimPrefix(again.week, again.base))
	require.Equal(t, shots, shotsAt(t, again.base, again.token), "the same shots, none written anew")
	meAgain := get(t, again.base+"/v1/me", again.token, "application/json").want(http.StatusOK)
	require.Equal(t, me, meAgain, "the same program")
	get(t, again.base+"/v1/me", s.token, "application/json").want(http.StatusOK)

	second.kill()
	third := start(t, args...)
	requireWeek(t, awaitDemo(t, third))
	third.signal(syscall.SIGINT)
	require.NoError(t, third.end(15*time.Second), third.log.String())
}

// requireWeek reads the week as JSON, as a page with the token, and as a page with the cookie of the sign-in form.
func requireWeek(t *testing.T, s serving) {
	t.Helper()
	require.Contains(t, get(t, s.week, s.token, "application/json").want(http.StatusOK), `"Rowan Tully"`)
	page := get(t, s.week, s.token, "text/html").want(http.StatusOK)
	require.Contains(t, page, "<table")
	require.Contains(t, page, "Rowan Tully")
	require.Equal(t, "/sign-in", toSignIn(t, s))

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
