package summary

import (
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// LinesBy says into which spans lines are cut.
type LinesBy string

// How lines can be cut: the whole span in one, a line a season, a line a game.
const (
	BySpan   LinesBy = "span"
	BySeason LinesBy = "season"
	ByGame   LinesBy = "game"
)

// SpanLine is a line with the span that it is of: a game, a season, or all that was asked for.
type SpanLine struct {
	GameID   *domain.ID   `json:"game_id"`
	SeasonID *domain.ID   `json:"season_id"`
	From     *domain.Date `json:"from"`
	To       *domain.Date `json:"to"`
	Line
}

// span is one cut of what was faced.
type span struct {
	game, season *domain.ID
	from, to     *domain.Date
	faced        domain.FacedRecords
}

func (s span) of(l Line) SpanLine { return SpanLine{s.game, s.season, s.from, s.to, l} }

// GoalieLines gives a goalie's official lines, cut as asked: for each span one line for each code of play and level.
func GoalieLines(r domain.LineRecords, by LinesBy) []SpanLine {
	out, fits := []SpanLine{}, fitsOf(r.Fits)
	for _, s := range spans(r, by) {
		for _, line := range Lines(s.faced, fits) {
			out = append(out, s.of(line))
		}
	}
	return out
}

func spans(r domain.LineRecords, by LinesBy) []span {
	switch by {
	case ByGame:
		return gameSpans(r.Faced)
	case BySeason:
		var out []span
		for i := range r.Seasons {
			s := &r.Seasons[i]
			from, to := s.Fields.StartsOn, s.Fields.EndsOn
			out = append(out, span{season: &s.ID, from: &from, to: &to, faced: judgement.Between(r.Faced, from, to)})
		}
		return out
	case BySpan:
	}
	return []span{{from: dateOrNil(r.Faced.From), to: dateOrNil(r.Faced.To), faced: r.Faced}}
}

// gameSpans cuts by game, in the order of days.
func gameSpans(faced domain.FacedRecords) []span {
	games := map[domain.ID]*span{}
	at := func(g domain.Game) *domain.FacedRecords {
		if games[g.ID] == nil {
			day := g.Fields.PlayedOn
			games[g.ID] = &span{game: &g.ID, from: &day, to: &day}
		}
		return &games[g.ID].faced
	}
	for _, s := range faced.Shots {
		f := at(s.Game)
		f.Shots = append(f.Shots, s)
	}
	for _, s := range faced.Stints {
		f := at(s.Game)
		f.Stints = append(f.Stints, s)
	}
	for _, c := range faced.Clears {
		f := at(c.Game)
		f.Clears = append(f.Clears, c)
	}
	out := make([]span, 0, len(games))
	for _, s := range games {
		out = append(out, *s)
	}
	slices.SortFunc(out, func(a, b span) int {
		if *a.from != *b.from {
			return a.from.Time().Compare(b.from.Time())
		}
		return slices.Compare(a.game[:], b.game[:])
	})
	return out
}

func dateOrNil(d domain.Date) *domain.Date {
	if d.IsZero() {
		return nil
	}
	return &d
}
