package summary

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
)

type published struct {
	CodeOfPlay   domain.CodeOfPlay `json:"code_of_play"`
	Season       int
	Team         string
	Number       int
	Games        int
	Time         string
	Seconds      int
	GoalsAgainst int `json:"goals_against"`
	Average      string
	Saves        int
	Percentage   string
}

// published lines are kept with their source in testdata/lines.
func readLines(t *testing.T, name string, into any) {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "testdata", "lines", name+".json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(raw, into))
}

func secondsOf(t require.TestingT, time string) int {
	var m, s int
	_, err := fmt.Sscanf(time, "%d:%d", &m, &s)
	require.NoError(t, err)
	return 60*m + s
}

func college(code domain.CodeOfPlay) domain.CompetitionFields {
	return domain.CompetitionFields{CodeOfPlay: code, Level: "college", AverageMinutes: 60}
}

// seasonOf spreads a line's counts over its games as single shots and stints.
func seasonOf(line published, seconds int) *season {
	s, comp := newSeason(domain.Full), college(line.CodeOfPlay)
	share := func(of, i int) int { return of*(i+1)/line.Games - of*i/line.Games }
	for i := range line.Games {
		g := s.game("2017-03-01", domain.KindGame, comp, share(seconds, i))
		s.add(g, comp, share(line.GoalsAgainst, i), domain.Goal, nil)
		s.add(g, comp, share(line.Saves, i), domain.Save, nil)
	}
	return s
}

func TestLinesAsPublished(t *testing.T) {
	for _, file := range []string{"mens", "womens", "halves"} {
		var table struct {
			Source string
			Lines  []published
		}
		readLines(t, file, &table)
		require.NotEmpty(t, table.Lines)
		for _, want := range table.Lines {
			t.Run(fmt.Sprint(want.Season, " ", want.Team), func(t *testing.T) {
				lines := Lines(seasonOf(want, secondsOf(t, want.Time)).faced, nil)
				require.Len(t, lines, 1)
				got := lines[0]
				assert.Equal(t, want.Games, got.Games)
				assert.Equal(t, want.Saves+want.GoalsAgainst, got.ShotsOnGoal)
				assert.Equal(t, want.Percentage, *got.SavePercentageText)
				if want.Average != "" {
					assert.Equal(t, want.Average, *got.GoalsAgainstAverageText)
				}
			})
		}
	}
}

func TestAveragesOfAnEmptyCageAndShortStints(t *testing.T) {
	var table struct{ Lines []published }
	readLines(t, "empty_cage", &table)
	require.NotEmpty(t, table.Lines)
	for _, want := range table.Lines {
		assert.Equal(t, want.Average, GoalsAgainstAverage(want.GoalsAgainst, 60, want.Seconds).Average(), want.Team)
	}
}

func TestPoolThenDivide(t *testing.T) {
	var want struct {
		Time, Average, Percentage string
		MeanOfGames               float64 `json:"mean_of_games"`
		Games                     []published
	}
	readLines(t, "by_game", &want)
	s, comp, mean := newSeason(domain.Full), college("mens_field"), 0.0
	seconds := secondsOf(t, want.Time)
	for i, game := range want.Games {
		share := seconds*(i+1)/len(want.Games) - seconds*i/len(want.Games)
		g := s.game("2014-03-01", domain.KindGame, comp, share)
		s.add(g, comp, game.GoalsAgainst, domain.Goal, nil)
		s.add(g, comp, game.Saves, domain.Save, nil)
		mean += float64(game.Saves) / float64(game.Saves+game.GoalsAgainst) / float64(len(want.Games))
	}
	got := Lines(s.faced, nil)[0]
	assert.Equal(t, 134, got.GoalsAgainst)
	assert.Equal(t, 133, got.Saves)
	assert.Equal(t, want.Percentage, *got.SavePercentageText)
	assert.Equal(t, want.Average, *got.GoalsAgainstAverageText)
	assert.InDelta(t, want.MeanOfGames, mean, 0.00005, "the wrong way to do it")
	assert.NotEqual(t, Nearest(mean), *got.SavePercentage)
}

func TestWhatIsInNoLine(t *testing.T) {
	s, comp := newSeason(domain.Full), college("mens_field")
	g := s.game("2026-04-11", domain.KindGame, comp, 3600)
	s.add(g, comp, 3, domain.Save, nil)
	s.add(g, comp, 2, domain.Goal, func(c *domain.CountedShot) { c.Shot.Fields.Deflected = true })
	s.add(g, comp, 1, domain.Goal, func(c *domain.CountedShot) { c.Shot.Fields.GoalieOut = true })
	s.add(g, comp, 1, domain.Pipe, nil)
	s.add(g, comp, 1, domain.Wide, nil)
	s.add(g, comp, 1, domain.Blocked, nil)
	s.add(g, comp, 1, domain.OwnGoal, nil)
	s.add(g, comp, 1, domain.Goal, func(c *domain.CountedShot) { c.Shot.Fields.WavedOff = true })
	s.add(g, comp, 1, domain.Goal, func(c *domain.CountedShot) {
		c.Shot.Found = domain.ShotFound{FacedHow: domain.CageEmpty}
	})
	s.add(g, comp, 1, domain.Save, func(c *domain.CountedShot) {
		c.Shot.Found = domain.ShotFound{FacedHow: domain.CageUnresolved}
	})
	s.stint(g, comp, 60, nil) // an empty cage
	for _, kind := range []domain.GameKind{domain.KindScrimmage, domain.KindPractice} {
		other := s.game("2026-04-12", kind, comp, 3600)
		s.add(other, comp, 9, domain.Goal, nil)
	}
	lines := Lines(s.faced, nil)
	require.Len(t, lines, 1)
	assert.Equal(t, Line{
		CodeOfPlay: "mens_field", Level: "college", AverageMinutes: 60, Games: 1,
		Shots: 9, ShotsOnGoal: 6, Saves: 3, GoalsAgainst: 3, Seconds: 3600,
		SavePercentage: p(Thousandths(500)), SavePercentageText: p(".500"),
		GoalsAgainstAverage: p(Thousandths(3000)), GoalsAgainstAverageText: p("3.000"),
	}, lines[0])
}

func TestNullsNotZeroes(t *testing.T) {
	assert.Empty(t, Lines(domain.FacedRecords{}, nil))
	s, comp := newSeason(domain.Full), college("womens_field")
	g := s.game("2026-04-11", domain.KindGame, comp, 0)
	s.add(g, comp, 2, domain.Wide, nil)
	line := Lines(s.faced, nil)[0]
	assert.Nil(t, line.SavePercentage)
	assert.Nil(t, line.GoalsAgainstAverage)
	raw, err := json.Marshal(line)
	require.NoError(t, err)
	for _, field := range []string{"save_percentage", "save_percentage_text", "goals_against_average", "goals_against_average_text"} {
		assert.Contains(t, string(raw), `"`+field+`":null`)
	}
}

func TestNoAverageWhenAGameLacksItsTime(t *testing.T) {
	s, comp := newSeason(domain.Full), college("mens_field")
	s.add(s.game("2026-04-11", domain.KindGame, comp, 3600), comp, 6, domain.Goal, nil)
	s.add(s.game("2026-04-12", domain.KindGame, comp, 0), comp, 6, domain.Goal, nil)
	line := Lines(s.faced, nil)[0]
	assert.Equal(t, 3600, line.Seconds)
	assert.Nil(t, line.GoalsAgainstAverage, "12 goals over the hour of one game would be wrong")
}

func TestPlaysAreNeverPooledAndInOrder(t *testing.T) {
	s := newSeason(domain.Full)
	longer := highSchool
	longer.AverageMinutes = 60
	for _, comp := range []domain.CompetitionFields{longer, college("box"), college("womens_field"), highSchool, college("mens_field")} {
		s.add(s.game("2026-04-11", domain.KindGame, comp, 600), comp, 1, domain.Save, nil)
	}
	var got []string
	for _, l := range Lines(s.faced, nil) {
		got = append(got, fmt.Sprint(l.CodeOfPlay, " ", l.Level, " ", l.AverageMinutes))
	}
	assert.Equal(t, []string{
		"mens_field high_school 48", "mens_field high_school 60", "mens_field college 60",
		"womens_field college 60", "box college 60",
	}, got)
}

func TestLinesProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		whole := published{CodeOfPlay: "mens_field", Games: rapid.IntRange(1, 5).Draw(t, "games")}
		whole.GoalsAgainst = rapid.IntRange(0, 60).Draw(t, "goals")
		whole.Saves = rapid.IntRange(0, 60).Draw(t, "saves")
		s := seasonOf(whole, rapid.IntRange(whole.Games, 20000).Draw(t, "seconds"))
		want := Lines(s.faced, nil)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		r.Shuffle(len(s.faced.Shots), func(i, j int) {
			s.faced.Shots[i], s.faced.Shots[j] = s.faced.Shots[j], s.faced.Shots[i]
		})
		assert.Equal(t, want, Lines(s.faced, nil), "the order of shots does not matter")
		if len(want) == 1 && want[0].SavePercentage != nil {
			exact := 1000 * float64(whole.Saves) / float64(whole.Saves+whole.GoalsAgainst)
			assert.InDelta(t, exact, float64(*want[0].SavePercentage), 0.5000001)
		}
	})
}

func TestThousandths(t *testing.T) {
	for _, c := range []struct {
		n, d  int
		text  string
		short string
	}{
		{0, 5, ".000", ".00"}, {1, 1, "1.000", "1.00"}, {1, 3, ".333", ".333"}, {2, 3, ".667", ".667"},
		{1, 2000, ".001", ".001"}, {144, 256, ".563", ".563"}, {1, 2, ".500", ".50"},
	} {
		got := Ratio(c.n, c.d)
		assert.Equal(t, c.text, got.String())
		assert.Equal(t, c.short, got.Short())
		raw, err := json.Marshal(got)
		require.NoError(t, err)
		var back Thousandths
		require.NoError(t, json.Unmarshal(raw, &back))
		assert.Equal(t, got, back)
	}
	assert.Equal(t, "0.000", Thousandths(0).Average())
	assert.Error(t, json.Unmarshal([]byte(`"x"`), new(Thousandths)))
}
