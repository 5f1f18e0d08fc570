package summary

import (
	"fmt"
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// Signal says whether a goalie's rate rises or falls against the goalie's own record of the season.
type Signal struct {
	State        judgement.SignalState `json:"state"`
	Tries        int                   `json:"tries"`         // of the season
	RaisedOn     *domain.Date          `json:"raised_on"`     // of rising and falling: the day of the try that raised it
	Needed       int                   `json:"needed"`        // tries in which doubled odds of a miss are seen as likely as not
	Baseline     string                `json:"baseline"`      // what each try is held against: expected_saves or own_rate
	Level        float64               `json:"level"`         // chance of a false alarm in a season, each way
	ChangeChance *float64              `json:"change_chance"` // that the rate changed at all this season; null under four weeks
	ChangeAfter  *domain.Week          `json:"change_after"`  // the week after which, if it did
	Sentence     string                `json:"sentence"`
}

// Trend says the signal in few words.
func (s *Signal) Trend() string {
	switch s.State {
	case judgement.Rising, judgement.Falling:
		return fmt.Sprintf("%s since %s", s.State, s.RaisedOn.Time().Format("2 Jan"))
	case judgement.Steady:
		return "steady"
	case judgement.TooEarly:
	}
	return "trend: too early"
}

// chartedSeason gives the days over which change is looked for, up to the week's Sunday: those of the season that began last, or
// of the weeks that are recalled; and how many weeks of how many are gone.
func chartedSeason(r domain.WeekRecords) (from domain.Date, gone, all int) {
	from, all = r.Week.Sunday().AddDays(1-7*domain.RecallWeeks), domain.RecallWeeks
	gone = all
	for i, s := range r.Seasons {
		if i == 0 || from.Before(s.Fields.StartsOn) {
			from = s.Fields.StartsOn
			gone, all = weeksBetween(from, r.Week.Sunday()), weeksBetween(from, s.Fields.EndsOn)
		}
	}
	return from, gone, all
}

// weeksBetween gives how many weeks, begun ones too, two days span.
func weeksBetween(from, to domain.Date) int {
	return max(1, (int(to.Time().Sub(from.Time()).Hours()/24)+7)/7)
}

// signalsOf gives the signal of each rate that is judged, in the order of the rates; nil of others.
func (j judging) signalsOf(r domain.WeekRecords, faced domain.FacedRecords, rates []judgement.Rate) []*Signal {
	from, gone, all := chartedSeason(r)
	plays := judgement.Plays(judgement.Between(faced, from, r.Week.Sunday()))
	out := make([]*Signal, len(rates))
	for i, rate := range rates {
		at := slices.IndexFunc(plays, func(p judgement.Play) bool { return p.CodeOfPlay == rate.CodeOfPlay && p.Level == rate.Level })
		if rate.State == nil || at < 0 {
			continue
		}
		season := judgement.Season{
			Shots: plays[at].Faced.Shots, Start: judgement.StartOf(rate, j.bounds), GamesPlayed: gone, SeasonGames: all,
			Week: r.Week, Level: j.signalLevel,
		}
		if rate.Opinion != nil {
			season.Spread = rate.Opinion.Spread
		}
		if fitted := judgement.FittedIn(j.fits, rate.CodeOfPlay, rate.Level); fitted != nil {
			season.Difficulty = &fitted.Difficulty
		}
		s := judgement.SignalOf(rate.Target.Fields, season, &limits, j.bounds.Signal)
		out[i] = &Signal{
			s.State, s.Tries, s.RaisedOn, s.Needed, s.Baseline, s.Level, s.ChangeChance, s.ChangeAfter, s.Sentence,
		}
	}
	return out
}

// RateChange is a rate of a goalie that rises or falls.
type RateChange struct {
	TargetID   domain.ID             `json:"target_id"`
	Target     string                `json:"target"`
	CodeOfPlay domain.CodeOfPlay     `json:"code_of_play"`
	Level      domain.Level          `json:"level"`
	State      judgement.SignalState `json:"state"` // rising or falling
	RaisedOn   domain.Date           `json:"raised_on"`
	Tries      int                   `json:"tries"` // of the season
	Sentence   string                `json:"sentence"`
}

// changesOf gives the rates that rise or fall, in the order of causes.
func changesOf(plays []WeekPlay) []RateChange {
	out := []RateChange{}
	for _, p := range plays {
		for _, r := range p.Rates {
			if c, changed := changeOf(r); changed {
				out = append(out, c)
			}
		}
	}
	return out
}

// watched counts the rates that have a signal.
func watched(plays []WeekPlay) int {
	n := 0
	for _, p := range plays {
		for _, r := range p.Rates {
			if r.Signal != nil {
				n++
			}
		}
	}
	return n
}

// falseAlarms says how many of the rates that are watched are called rising or falling by chance: each has a chart each
// way, with the level's chance of a false alarm in a season.
func falseAlarms(rates int, level float64) string {
	return fmt.Sprintf("Falling: more misses than the goalie's season before it, and how hard the shots were, led to expect; rising: "+
		"fewer. Of %s watched, up to %.1f a season are called so by chance though nothing changed.",
		countOf(rates, "rate"), 2*float64(rates)*level)
}

func changeOf(r Rate) (RateChange, bool) {
	s := r.Signal
	if s == nil || s.RaisedOn == nil {
		return RateChange{}, false
	}
	return RateChange{r.TargetID, r.Name, r.CodeOfPlay, r.Level, s.State, *s.RaisedOn, s.Tries, s.Sentence}, true
}
