package summary

import (
	"cmp"
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// WeekPlay is what a week says of one code of play and level: the official lines and the rates.
type WeekPlay struct {
	CodeOfPlay  domain.CodeOfPlay `json:"code_of_play"`
	Level       domain.Level      `json:"level"`
	LineWeek    Line              `json:"line_week"`
	LinesSeason []SeasonLine      `json:"lines_season"` // up to the week's Sunday
	Rates       []Rate            `json:"rates"`
}

// SeasonLine is the official line of a season.
type SeasonLine struct {
	SeasonID domain.ID `json:"season_id"`
	Name     string    `json:"name"`
	Line     Line      `json:"line"`
	// ExpectedSentence says how the saves compare with those expected; null without a fit, and of less than two games.
	ExpectedSentence *string `json:"expected_sentence"`
}

// Rate is a target's rate with the count behind it. Rates and chances run from 0 to 1; those that nobody had a try
// at are null.
type Rate struct {
	TargetID    domain.ID         `json:"target_id"`
	Code        string            `json:"code"`
	Name        string            `json:"name"`
	CodeOfPlay  domain.CodeOfPlay `json:"code_of_play"`
	Level       domain.Level      `json:"level"`
	Weeks       int               `json:"weeks"`
	From        domain.Date       `json:"from"`
	To          domain.Date       `json:"to"`
	Hits        int               `json:"hits"`
	Tries       int               `json:"tries"`
	Unseen      int               `json:"unseen"` // counted shots that could not be told to be a hit or not
	Rate        *float64          `json:"rate"`
	Low         *float64          `json:"low"` // of the 95 % interval
	High        *float64          `json:"high"`
	TargetRate  *float64          `json:"target_rate"` // null: not judged in this code of play and level
	ChanceBelow *float64          `json:"chance_below"`
	State       *domain.State     `json:"state"`    // null with target_rate
	Listed      bool              `json:"listed"`   // it stands out from chance among the goalie's rates
	ByCount     bool              `json:"by_count"` // so it does by the counts alone
	OnBoard     bool              `json:"on_board"` // so it does among the rates of all goalies; false in the week of one goalie
	Likely      *Likely           `json:"likely"`   // what is thought of the true rate; null without peers or tries
	Signal      *Signal           `json:"signal"`   // null with target_rate, and without a shot in the season
	cause       int               // the target's place in the order of causes
	told        bool              // there are enough tries to say how it stands
	gap         bool              // below its target, clearly or probably
}

// Likely is what is thought of a true rate when the peers' count for something too.
type Likely struct {
	Rate      float64 `json:"rate"` // expected
	Low       float64 `json:"low"`  // of the interval that holds it with a chance of 80 in 100
	High      float64 `json:"high"`
	Shortfall float64 `json:"shortfall"`  // by how much it is expected to fall short of the target, 0 where it reaches it
	Peers     int     `json:"peers"`      // other goalies of the program with tries, of the same code of play and level
	PeersRate float64 `json:"peers_rate"` // the expected mean of the true rates of all of them
	Assumed   bool    `json:"assumed"`    // so few peers that how alike they are is more assumed than seen
	OwnWeight float64 `json:"own_weight"` // of the goalie's own count, against the peers'
	MoreTries *int    `json:"more_tries"` // that would settle the state more likely than not; null: settled, or too many
}

func likelyOf(r judgement.Rate) *Likely {
	o := r.Opinion
	if o == nil {
		return nil
	}
	return &Likely{o.Mean, o.Low80, o.High80, r.Shortfall, o.Peers, o.PeersMean, o.Assumed, o.Reliability, o.MoreTries}
}

func rateOf(r judgement.Rate) Rate {
	f := r.Target.Fields
	return Rate{
		TargetID: r.Target.ID, Code: f.Code, Name: f.Name, CodeOfPlay: r.CodeOfPlay, Level: r.Level,
		Weeks: f.Weeks, From: r.From, To: r.To,
		Hits: r.Tally.Hits, Tries: r.Tally.Tries, Unseen: r.Tally.Unseen,
		Rate: r.Rate, Low: r.Low, High: r.High,
		TargetRate: r.TargetRate, ChanceBelow: r.ChanceBelow, State: r.State,
		Listed: r.Listed, ByCount: r.ByCount, Likely: likelyOf(r), cause: f.Cause, gap: r.Gap(), told: r.Told(),
	}
}

// shownRates are a week's rates as they are shown, each with its signal.
type shownRates []Rate

func shown(rates []judgement.Rate, signals []*Signal) shownRates {
	out := make(shownRates, len(rates))
	for i, r := range rates {
		out[i] = rateOf(r)
		out[i].Signal = signals[i]
	}
	return out
}

// of gives a rate as it is shown, wherever in the week it stands.
func (s shownRates) of(r judgement.Rate) Rate {
	for _, o := range s {
		if o.TargetID == r.Target.ID && o.CodeOfPlay == r.CodeOfPlay && o.Level == r.Level {
			return o
		}
	}
	return rateOf(r)
}

// weekPlays gives the plays of the look-back with their lines. Where competitions of one code of play and level
// average goals over different minutes, each has its own entry, and the first of them carries the rates.
func weekPlays(
	plays []judgement.Play, rates shownRates, faced domain.FacedRecords, r domain.WeekRecords, fits Fits,
) []WeekPlay {
	out := make([]WeekPlay, 0, len(plays))
	for _, play := range plays {
		for i, key := range keysOf(play, faced) {
			p := WeekPlay{
				CodeOfPlay: play.CodeOfPlay, Level: play.Level, Rates: []Rate{},
				LineWeek:    key.over(faced, fits, r.Week.Monday(), r.Week.Sunday()),
				LinesSeason: make([]SeasonLine, 0, len(r.Seasons)),
			}
			for _, s := range r.Seasons {
				line := key.over(faced, fits, s.Fields.StartsOn, s.Fields.EndsOn)
				p.LinesSeason = append(p.LinesSeason, SeasonLine{s.ID, s.Fields.Name, line, expectedSentence(line)})
			}
			for _, rate := range rates {
				if i == 0 && rate.CodeOfPlay == play.CodeOfPlay && rate.Level == play.Level {
					p.Rates = append(p.Rates, rate)
				}
			}
			out = append(out, p)
		}
	}
	return out
}

// keysOf gives the kinds of line that a play has: one, unless minutes differ.
func keysOf(play judgement.Play, faced domain.FacedRecords) []lineKey {
	var keys []lineKey
	add := func(c domain.CompetitionFields) {
		key := keyOf(c)
		if c.CodeOfPlay == play.CodeOfPlay && c.Level == play.Level && !slices.Contains(keys, key) {
			keys = append(keys, key)
		}
	}
	for _, s := range faced.Shots {
		add(s.Competition)
	}
	for _, s := range faced.Stints {
		add(s.Competition)
	}
	for _, c := range faced.Clears {
		add(c.Competition)
	}
	slices.SortFunc(keys, func(a, b lineKey) int { return cmp.Compare(a.minutes, b.minutes) })
	return keys
}

// over gives the line of a kind over a span of days; without games it is all zero and nulls.
func (k lineKey) over(faced domain.FacedRecords, fits Fits, from, to domain.Date) Line {
	for _, l := range Lines(judgement.Between(faced, from, to), fits) {
		if l.key() == k {
			return l
		}
	}
	return newCount(k).line(fits)
}
