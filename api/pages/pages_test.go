package pages

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain"
	"cagework/domain/summary"
)

var update = flag.Bool("update", false, "write the golden files anew")

var program = domain.ProgramFields{Name: "Harrow Creek Lacrosse", TimeZone: "America/New_York", Units: "yards"}

// weekNamed reads a summary that the tests of package summary wrote.
func weekNamed(t *testing.T, name string) summary.GoalieWeek {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "testdata", "summary", name+".json"))
	require.NoError(t, err)
	var v summary.GoalieWeek
	require.NoError(t, json.Unmarshal(raw, &v))
	return v
}

func draws(t *testing.T, v summary.GoalieWeek) string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, GoalieWeek(&b, v, program))
	return b.String()
}

func golden(t *testing.T, name, got string) {
	t.Helper()
	file := filepath.Join("..", "..", "testdata", "pages", name+".html")
	if *update {
		require.NoError(t, os.WriteFile(file, []byte(got), 0o600))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), got)
}

var weeks = []string{"gap", "block", "limited", "held", "no_shots", "no_tries", "unseen"}

func TestGoalieWeekPages(t *testing.T) {
	for _, name := range weeks {
		t.Run(name, func(t *testing.T) {
			got := draws(t, weekNamed(t, name))
			golden(t, "goalieweek_"+name, got)
			wellFormed(t, got)
			countsBesideRates(t, got)
		})
	}
}

// wellFormed checks what the accessibility rules and the printing rules ask of every page.
func wellFormed(t *testing.T, page string) {
	t.Helper()
	assert.Contains(t, page, `<html lang="en">`)
	assert.Regexp(t, `<title>[^<]+</title>`, page)
	assert.Equal(t, 1, strings.Count(page, "<h1>"))
	assert.Equal(t, strings.Count(page, "<table"), strings.Count(page, "<caption>"))
	assert.Contains(t, page, `<meta name="referrer" content="same-origin">`, "else older browsers send forms as from nowhere")
	assert.NotRegexp(t, `<th>`, page, "a heading cell says what it heads")
	for _, never := range []string{"<script", "<details", "http://", "https://", "url(", "@import", "100vh", "position: fixed", "overflow: auto", "overflow: hidden", "ZgotmplZ", "<nil>", "NaN"} {
		assert.NotContains(t, page, never)
	}
}

var (
	tags = regexp.MustCompile(`(?s)<style>.*?</style>|<[^>]+>`)
	rate = regexp.MustCompile(`\d*\.\d{2,3}`)
	// What may stand in a block with a rate: its count, or that the rate is one to reach or a bound of the method.
	counted = regexp.MustCompile(`\d+ (saved )?of \d+|\(\d+ readings\)|\(\d+ in \d+:\d\d\)|the target is|wider than \.30`)
	blocks  = regexp.MustCompile(`(?s)<(p|td|li|dd)[ >].*?</(p|td|li|dd)>`)
)

// countsBesideRates checks that no rate is printed without its count. The third cell of a row of rates is the
// target, which nobody had tries at.
func countsBesideRates(t *testing.T, page string) {
	t.Helper()
	aims := regexp.MustCompile(`<td>\.\d{2,3}</td>`)
	for _, block := range blocks.FindAllString(aims.ReplaceAllString(page, ""), -1) {
		text := tags.ReplaceAllString(block, "")
		if rate.MatchString(text) {
			assert.Regexp(t, counted, text)
		}
	}
}

func TestARateThatNobodyHadATryAtIsWords(t *testing.T) {
	got := draws(t, weekNamed(t, "no_tries"))
	assert.Contains(t, got, "<td>no shots</td>")
	assert.NotContains(t, got, "0 of 0")
	assert.NotContains(t, got, ">.000<")
}

func TestClearsAreShownWhereOneWasTried(t *testing.T) {
	got := draws(t, weekNamed(t, "gap"))
	assert.Contains(t, got, `<th scope="row">Clears</th><td><span class="whole">3 of 4:</span> <span class="whole">.750</span></td>`)
	assert.Contains(t, got, `<th scope="row">Clears after a save</th><td><span class="whole">2 of 2:</span> <span class="whole">1.000</span></td>`)
	assert.NotContains(t, draws(t, weekNamed(t, "unseen")), "Clears")
	v := weekNamed(t, "gap")
	v.Plays[0].LineWeek.ClearsTried, v.Plays[0].LineWeek.ClearsMade = 0, 0
	got = draws(t, v)
	assert.Contains(t, got, `<th scope="row">Clears</th><td>none tried</td><td><span class="whole">12 of 16:</span>`)
}

func TestShotsToWatchAreSaidInPlainWords(t *testing.T) {
	got := draws(t, weekNamed(t, "gap"))
	assert.Equal(t, 2, strings.Count(got, "</strong>: a good one, save; "))
	assert.Equal(t, 2, strings.Count(got, "</strong>: one to fix, goal; "))
}

// The page reads in the order in which a coach asks: may they, what, how, what to look at, what was good, how it goes,
// what to chart; then the numbers.
func TestTheOrderOfThePage(t *testing.T) {
	got := draws(t, weekNamed(t, "block"))
	at := 0
	for _, part := range []string{
		"Full: nothing is held back", "Practice: 60 minutes", "Live shots left", "<h2>Work on this week", "Kept for its block, week 2 of 3.",
		"<h2>Drills", "<h2>Clips to watch", "<h2>Went well", "<h2>Blocks so far", "<h2>To read on the next games",
		"<h2>Rates", "<h2>Official line", "<h2>How the numbers are made", "<h2>Care first",
	} {
		i := strings.Index(got[at:], part)
		if assert.GreaterOrEqual(t, i, 0, part) {
			at += i
		}
	}
	assert.Equal(t, 1, strings.Count(got, "Movement warm-up and easy balls first."), "a caution of two drills is said once")
	assert.Contains(t, got, "<strong>Not on the day before a game (18 April): no hard drill, half the live shots.</strong>")
	assert.Contains(t, got, "Before 5 of 21 (16 Feb to 29 Mar, as known when it was given).</span> So far: ")
	assert.Contains(t, got, "Assigned by the coach.")
}

func TestManyTargetsOfAnAdviceAreCut(t *testing.T) {
	assert.Equal(t, "a, b, c", some([]string{"a", "b", "c"}))
	assert.Equal(t, "a, b, c and 2 more", some([]string{"a", "b", "c", "d", "e"}))
	assert.Equal(t, "no shots", count(summary.SpanCount{}))
}

func TestNamesAreEscaped(t *testing.T) {
	v := weekNamed(t, "gap")
	v.Goalie.Name = `<script>alert("x")</script>`
	v.WorkOns[0].Cue = `</style><b>`
	got := draws(t, v)
	assert.NotContains(t, got, "<script")
	assert.Contains(t, got, "&lt;script&gt;")
}

func TestStyleSourceIsOfTheStyleThatIsSent(t *testing.T) {
	got := draws(t, weekNamed(t, "gap"))
	sent := regexp.MustCompile(`(?s)<style>(.*)</style>`).FindStringSubmatch(got)
	require.Len(t, sent, 2)
	assert.Equal(t, string(css), sent[1])
	assert.Regexp(t, `^'sha256-[A-Za-z0-9+/]{43}='$`, StyleSource())
}

func TestRisingAndFallingAndHabitsAreSaidWithTheirCounts(t *testing.T) {
	v := weekNamed(t, "gap")
	assert.NotContains(t, draws(t, v), "<h2>Rising and falling")
	v.Changed = []summary.RateChange{{Target: "Low-shot save rate", CodeOfPlay: "mens_field", Level: "high_school", Tries: 160, Sentence: "Falling: more misses."}}
	v.WorkOns[0].Habit = &summary.HabitWorth{Enough: true, Readings: 213, Sentence: "On shots as hard, 12 more of 100 were saved where it was read (213 readings); 0.36 goals a game fewer (0.13 to 0.62).", Warning: "Mind the result."}
	got := draws(t, v)
	wellFormed(t, got)
	countsBesideRates(t, got)
	assert.Contains(t, got, "<strong>Low-shot save rate</strong>: Falling: more misses.")
	assert.Contains(t, got, "160 tries")
	assert.Contains(t, got, "213 readings")
	assert.Contains(t, got, "Mind the result.")
	v.WorkOns[0].Habit.Enough = false
	assert.NotContains(t, draws(t, v), "213 readings", "what cannot be told yet takes no room")
}
