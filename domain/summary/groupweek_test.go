package summary

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cagework/domain"
)

// asOther makes what was faced that of another goalie.
func (s *season) asOther(n int, name string) *season {
	id := idOf("goalie", n)
	s.goalie.ID, s.goalie.Fields.Name = id, name
	for i := range s.faced.Shots {
		s.faced.Shots[i].Shot.Found.FacedGoalieID = &id
	}
	for i := range s.faced.Stints {
		s.faced.Stints[i].Stint.Fields.GoalieID = &id
	}
	for i := range s.faced.Clears {
		s.faced.Clears[i].Clear.Found.CageGoalieID = &id
	}
	return s
}

// group is a program of two teams: on one two goalies who are short of low shots, one of them limited, and one whom
// nobody charts; on the other one who is held.
func group() domain.GroupRecords {
	teams := []domain.Team{
		{ID: idOf("team", 1), Fields: domain.TeamFields{Name: "Alder Bay Varsity", PracticeMinutes: 60}},
		{ID: idOf("team", 2), Fields: domain.TeamFields{Name: "Birch Hill Box", PracticeMinutes: 40}},
	}
	ash := spring(domain.Full)
	for _, s := range ash.faced.Shots[:44] {
		read(domain.Yes)(s)
	}
	week := func(s *season, team int) domain.WeekRecords {
		r := s.week("2026-W15", 30)
		r.Teams = teams[team : team+1]
		return r
	}
	fern := newSeason(domain.Full).asOther(3, "Fern Idle")
	held := spring(domain.Held).asOther(4, "Gale Quill")
	r := domain.GroupRecords{
		Week: domain.Week{Year: 2026, Number: 15}, Teams: teams,
		Weeks: []domain.WeekRecords{
			week(ash, 0), week(spring(domain.Limited).asOther(2, "Bryn Tallow"), 0), week(fern, 0), week(held, 1),
		},
		Cage: domain.LineRecords{Faced: ash.faced, Seasons: ash.week("2026-W15", 0).Seasons, Goalies: []domain.Goalie{ash.goalie}},
	}
	var all []domain.PeerCount
	for _, w := range r.Weeks {
		all = append(all, domain.CountPeers(w.Targets, w.Week, w.Faced.Shots)...)
	}
	for i := range r.Weeks {
		r.Weeks[i].Peers = append(slices.Clone(all), peers()...)
	}
	game := func(n int, day string, team, shots, unresolved int) {
		r.Games = append(r.Games, domain.ChartedGame{
			Game: domain.Game{ID: idOf("charted", n), Fields: domain.GameFields{
				TeamID: teams[team].ID, PlayedOn: date(day), Kind: domain.KindGame, Opponent: p("Elm Park"),
			}},
			Shots: shots, Unresolved: unresolved,
		})
	}
	game(1, "2026-03-21", 0, 16, 0)
	game(2, "2026-03-28", 0, 16, 4)
	game(3, "2026-04-11", 0, 0, 0)
	game(4, "2026-04-12", 1, 20, 0)
	return r
}

func goldenGroup(t *testing.T, name string, v any) {
	t.Helper()
	got, err := json.MarshalIndent(v, "", "  ")
	require.NoError(t, err)
	file := filepath.Join("..", "..", "testdata", "summary", name+".json")
	if *update {
		require.NoError(t, os.WriteFile(file, append(got, '\n'), 0o600))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got)+"\n")
}

func TestTheBoard(t *testing.T) {
	v := OfProgram(group())
	goldenGroup(t, "programweek", v)
	require.Len(t, v.Goalies, 4)
	require.Len(t, v.Recurring, 1)
	low := v.Recurring[0]
	assert.Equal(t, "low_save", low.Code)
	assert.Len(t, low.Goalies, 3)
	assert.Equal(t, []int{2, 3}, []int{low.Teams, low.Told})
	assert.Equal(t, "Low-shot save rate: short for 3 of 3 goalies of whom there is enough to tell, on 2 teams.", low.Sentence)
	assert.Equal(t, ShortOf{idOf("goalie", 1), "Robin Ashgrove", "mens_field", "high_school", 9, 31}, low.Goalies[0])

	onBoard := 0
	for _, g := range v.Goalies {
		for _, w := range g.WorkOns {
			assert.Contains(t, g.Plays[0].Rates, w.Target, "it says the same wherever it stands")
			if w.Target.OnBoard {
				onBoard++
			}
		}
	}
	assert.Equal(t, 2, onBoard, "the third who is short is held, so works on nothing")

	said := make([]string, len(v.NotCharted))
	for i, n := range v.NotCharted {
		said[i] = n.Sentence
		assert.NotEqual(t, n.GameID == nil, n.GoalieID == nil)
	}
	assert.Equal(t, []string{
		"Alder Bay Varsity against Elm Park, 28 March 2026: of 4 of 16 shots it is not settled who faced them, so they count for nobody.",
		"Alder Bay Varsity against Elm Park, 11 April 2026: no shot is charted.",
		"Bryn Tallow: 0 of 52 shots of the last four weeks read for habits.",
		"Fern Idle: no shot charted in four weeks, in which the team played 3 games.",
		"Gale Quill: 0 of 52 shots of the last four weeks read for habits.",
	}, said)
	assert.Equal(t, date("2026-04-11"), *v.Goalies[0].Charted.LastShotOn)
	assert.Nil(t, v.Goalies[2].Charted.LastShotOn)
	assert.Empty(t, v.Goalies[3].WorkOns, "held")
	assert.NotNil(t, v.Goalies[3].NoWorkOn)
}

func TestTheWeekOfATeam(t *testing.T) {
	r := group()
	r.Teams, r.Weeks, r.Games = r.Teams[:1], r.Weeks[:3], r.Games[:3]
	v := OfTeam(r)
	goldenGroup(t, "teamweek", v)
	assert.Equal(t, "Alder Bay Varsity", v.Team.Name)
	assert.Equal(t, 1, v.LinesWeek[0].Games)
	assert.Equal(t, 4, v.LinesSeason[0].Games)
	given := map[string][]string{}
	for _, d := range v.Drills {
		for _, f := range d.For {
			given[f.Name] = append(given[f.Name], d.Code)
			if f.Name == "Bryn Tallow" {
				assert.Equal(t, []any{domain.BallNone, domain.Easy}, []any{d.Ball, d.Effort}, "she is limited")
			}
		}
	}
	for _, g := range v.Goalies {
		var own []string
		for _, w := range g.WorkOns {
			for _, d := range w.Drills {
				own = append(own, d.Code)
			}
		}
		assert.ElementsMatch(t, own, given[g.Goalie.Name], "the list has what the goalies' weeks have")
	}
}

// Whatever goalies a board has, in whatever order they were read, a need that recurs is that of two or more of them.
func TestRecurringNeedsDoNotHangOnTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := group()
		order := rapid.Permutation(r.Weeks).Draw(t, "order")
		n := rapid.IntRange(0, len(order)).Draw(t, "goalies")
		r.Weeks = order[:n]
		v := OfProgram(r)
		short := 0
		for _, w := range r.Weeks {
			if len(w.Faced.Shots) > 0 {
				short++
			}
		}
		if short < 2 {
			require.Empty(t, v.Recurring)
			return
		}
		require.Len(t, v.Recurring, 1)
		require.Equal(t, short, v.Recurring[0].people())
		require.Equal(t, short, v.Recurring[0].Told)
	})
}

func TestTheBoardAsATable(t *testing.T) {
	r := group()
	r.Weeks[0].Goalie.Fields.Name = "=1+1"
	var b bytes.Buffer
	v := OfProgram(r)
	require.NoError(t, GroupWeekCSV(&b, v.GroupWeek))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"goalie_id", "goalie", "teams", "availability", "code"}, rows[0][:5])
	var rates int
	for _, g := range v.Goalies {
		for _, p := range g.Plays {
			rates += len(p.Rates)
		}
	}
	assert.Len(t, rows, 1+rates)
	assert.Equal(t, "'=1+1", rows[1][1])
	i := slices.IndexFunc(rows, func(row []string) bool { return row[1] == "Gale Quill" && row[4] == "low_save" })
	require.GreaterOrEqual(t, i, 0)
	assert.Equal(t, []string{"Birch Hill Box", "held", "low_save"}, rows[i][2:5])
	assert.Equal(t, []string{"9", "31"}, rows[i][10:12])
}

// Who is below a target by what chance does with so many rates is told about, but not counted among those who are short.
func TestWhatDoesNotStandOutDoesNotRecur(t *testing.T) {
	goalie := func(name string, short bool) GroupGoalie {
		return GroupGoalie{Goalie: WeekGoalie{ID: domain.NameID(program, name), Name: name}, Plays: []GroupPlay{
			{Rates: []Rate{{TargetID: codeID("target", "low_save"), Code: "low_save", told: true, gap: short, OnBoard: short}}},
		}}
	}
	assert.Empty(t, recurring([]GroupGoalie{goalie("a", true), goalie("b", false)}))
	two := recurring([]GroupGoalie{goalie("a", true), goalie("b", false), goalie("c", true)})
	require.Len(t, two, 1)
	assert.Equal(t, []int{2, 3}, []int{len(two[0].Goalies), two[0].Told})
}
