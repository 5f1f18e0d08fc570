package pages

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cagework/domain/summary"
)

// groupNamed reads a team's or program's week that the tests of package summary wrote.
func groupNamed[T any](t *testing.T, name string) T {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "testdata", "summary", name+".json"))
	require.NoError(t, err)
	var v T
	require.NoError(t, json.Unmarshal(raw, &v))
	return v
}

func TestBoardPage(t *testing.T) {
	v := groupNamed[summary.ProgramWeek](t, "programweek")
	var b bytes.Buffer
	require.NoError(t, ProgramWeek(&b, v, program))
	got := b.String()
	golden(t, "programweek", got)
	wellFormed(t, got)
	countsBesideRates(t, got)
	at := 0
	for _, part := range []string{
		"4 goalies on 2 teams", "<h2>Limited or held", "<strong>Bryn Tallow</strong>", "<strong>Gale Quill</strong>",
		"<h2>Needs that recur", "<h2>Each goalie this week", "<h2>Not charted", "<h2>Every goalie, every target", "<h2>Care first",
	} {
		i := strings.Index(got[at:], part)
		if assert.GreaterOrEqual(t, i, 0, part) {
			at += i
		}
	}
	assert.NotContains(t, got, "Set-up:", "drills, with their cautions, stand on the pages of goalies and teams")
}

func TestTeamPage(t *testing.T) {
	v := groupNamed[summary.TeamWeek](t, "teamweek")
	var b bytes.Buffer
	require.NoError(t, TeamWeek(&b, v, program))
	got := b.String()
	golden(t, "teamweek", got)
	wellFormed(t, got)
	countsBesideRates(t, got)
	require.NotEmpty(t, v.Drills)
	for _, d := range v.Drills {
		require.NotEmpty(t, d.Cautions)
		for _, c := range d.Cautions {
			assert.Contains(t, tags.ReplaceAllString(got, ""), c, "every caution of a drill that is shown")
		}
	}
}

// A table holds as many goalies as a phone can show, whoever they are.
func TestGridsAreNarrow(t *testing.T) {
	one := groupNamed[summary.ProgramWeek](t, "programweek").Goalies[0]
	var many []summary.GroupGoalie
	for range 2*gridColumns + 1 {
		many = append(many, one)
	}
	tables := grids(many)
	require.Len(t, tables, 3)
	seen := 0
	for _, table := range tables {
		assert.LessOrEqual(t, len(table.Goalies), gridColumns)
		seen += len(table.Goalies)
		for _, row := range table.Rows {
			assert.Len(t, row.Cells, len(table.Goalies))
		}
		assert.Len(t, one.Plays[0].Rates, len(table.Rows)+len(table.Untried), "no target is left out")
	}
	assert.Equal(t, len(many), seen)
}
