package summary

import (
	"cmp"
	"slices"

	"cagework/domain"
)

// GroupWeek is what the week of a team and that of the program have in common. Goalies stand in the order of their
// names: nothing here ranks them.
type GroupWeek struct {
	Week       domain.Week   `json:"week"`
	From       domain.Date   `json:"from"`
	To         domain.Date   `json:"to"`
	Goalies    []GroupGoalie `json:"goalies"`
	Recurring  []Recurring   `json:"recurring"`
	Changed    GroupChanges  `json:"changed"`
	Helped     Helps         `json:"helped"`
	NotCharted []NotCharted  `json:"not_charted"`
	Method     Method        `json:"method"`
	Care       string        `json:"care"`
}

// GroupGoalie is one goalie of a team's or program's week. The goalie's own week says more.
type GroupGoalie struct {
	Goalie           WeekGoalie  `json:"goalie"`
	Teams            []NamedTeam `json:"teams"` // those whose roster holds the goalie in the week
	AvailabilityNote string      `json:"availability_note"`
	PracticeMinutes  int         `json:"practice_minutes"` // a week
	LiveShots        *LiveShots  `json:"live_shots"`       // null: no level is known, and no team sets the caps
	WorkOns          []WorkOn    `json:"work_ons"`         // at most three, the first first
	NoWorkOn         *string     `json:"no_work_on"`       // why there is none
	Plays            []GroupPlay `json:"plays"`
	Charted          Charted     `json:"charted"`
}

// NamedTeam is a team as a summary names it.
type NamedTeam struct {
	ID   domain.ID `json:"id"`
	Name string    `json:"name"`
}

// GroupPlay is how a goalie's targets stand in one code of play and level.
type GroupPlay struct {
	CodeOfPlay domain.CodeOfPlay `json:"code_of_play"`
	Level      domain.Level      `json:"level"`
	Rates      []Rate            `json:"rates"`
}

// Charted is what was charted of a goalie in the last weeks.
type Charted struct {
	Weeks      int          `json:"weeks"`
	TeamGames  int          `json:"team_games"` // games and scrimmages of the goalie's teams
	Games      int          `json:"games"`      // those in which a shot of the goalie's is charted
	Shots      int          `json:"shots"`
	Read       int          `json:"read"`         // of those shots, the ones with a reading
	LastShotOn *domain.Date `json:"last_shot_on"` // as far back as the summary looks; null: none
}

func groupWeekOf(r domain.GroupRecords) (GroupWeek, []GoalieWeek) {
	v := GroupWeek{
		Week: r.Week, From: r.Week.Monday(), To: r.Week.Sunday(), Goalies: make([]GroupGoalie, len(r.Weeks)),
		Care: care,
	}
	j := groupJudging(r)
	whole := make([]GoalieWeek, len(r.Weeks))
	for i, w := range r.Weeks {
		whole[i] = j.goalie(w)
		v.Goalies[i] = groupGoalie(whole[i], w, r.Games)
	}
	v.Method = j.method()
	j.listBoard(v.Goalies)
	v.Changed = j.groupChanges(v.Goalies)
	v.Helped = helpsOf(r.Weeks)
	v.Recurring = recurring(v.Goalies)
	v.NotCharted = notCharted(v.Goalies, r)
	return v, whole
}

func groupGoalie(v GoalieWeek, r domain.WeekRecords, games []domain.ChartedGame) GroupGoalie {
	g := GroupGoalie{
		Goalie: v.Goalie, Teams: namedTeams(r.Teams), AvailabilityNote: v.AvailabilityNote,
		PracticeMinutes: v.PracticeMinutes, LiveShots: v.LiveShots, WorkOns: v.WorkOns, NoWorkOn: v.NoWorkOn,
		Plays: []GroupPlay{}, Charted: chartedOf(r, games),
	}
	for _, p := range v.Plays {
		if len(p.Rates) > 0 { // a second line of the same play, averaged over other minutes, carries none
			g.Plays = append(g.Plays, GroupPlay{p.CodeOfPlay, p.Level, p.Rates})
		}
	}
	return g
}

func namedTeams(teams []domain.Team) []NamedTeam {
	out := make([]NamedTeam, len(teams))
	for i, t := range teams {
		out[i] = NamedTeam{t.ID, t.Fields.Name}
	}
	slices.SortFunc(out, func(a, b NamedTeam) int {
		return cmp.Or(cmp.Compare(a.Name, b.Name), cmp.Compare(a.ID.String(), b.ID.String()))
	})
	return out
}

func chartedOf(r domain.WeekRecords, games []domain.ChartedGame) Charted {
	c := Charted{Weeks: domain.ChartWeeks}
	for _, g := range games {
		if slices.ContainsFunc(r.Teams, func(t domain.Team) bool { return t.ID == g.Game.Fields.TeamID }) {
			c.TeamGames++
		}
	}
	since := chartedSince(r.Week)
	seen := map[domain.ID]bool{}
	for _, s := range his(r).Shots {
		day := s.Game.Fields.PlayedOn
		if c.LastShotOn == nil || c.LastShotOn.Before(day) {
			c.LastShotOn = &day
		}
		if s.Game.Fields.Kind == domain.KindPractice || day.Before(since) {
			continue
		}
		seen[s.Game.ID] = true
		c.Shots++
		if s.Reading != nil {
			c.Read++
		}
	}
	c.Games = len(seen)
	return c
}

// chartedSince gives the first of the days that are looked at for what is not charted.
func chartedSince(w domain.Week) domain.Date { return w.Sunday().AddDays(1 - 7*domain.ChartWeeks) }
