package judgement

import (
	"math"
	"slices"

	"cagework/domain"
	"cagework/domain/stats"
)

// SignalBounds set the charts. They are starting values.
type SignalBounds struct {
	// LoosestLevel is the most that may be the probability that a chart of a goalie who has not changed raises an alarm in a
	// season, each way. PageAlarms is how many false alarms a season the reader of one goalie's page bears, and BoardAlarms
	// how many the director of a whole board; see [PageLevel] and [BoardLevel].
	LoosestLevel float64
	PageAlarms   float64
	BoardAlarms  float64
	OddsRatio    float64 // the change that the chart is tuned to: odds of a miss times this, or divided by it
	SeasonTries  int     // least number of tries that a season is reckoned with
	SaveSpread   float64 // least standard deviation of a goalie's own effect on the log-odds beside the difficulty of the shots
	RateSpread   float64 // the same where there is only a rate to start from
	ChangeBefore float64 // chance of a change before the data, for the sentence
	PriorTries   float64 // how many tries the rate to start from is worth in it
	// LearnTries is how many tries, at the start and after each signal, serve only to learn the goalie's own record: before
	// that a goalie who was always unlike the peers would be taken for one who changed.
	LearnTries int
}

func defaultSignal() SignalBounds {
	return SignalBounds{
		LoosestLevel: 0.10, PageAlarms: 2.5, BoardAlarms: 4, OddsRatio: 2, SeasonTries: 50, SaveSpread: 0.3, RateSpread: 1,
		ChangeBefore: 0.2, PriorTries: 20, LearnTries: 20,
	}
}

// SignalState is what the charts of a goalie and target say.
type SignalState string

// The states. Too early is a chart with so few tries that even doubled odds would more likely than not have gone unseen.
const (
	Rising   SignalState = "rising"
	Falling  SignalState = "falling"
	Steady   SignalState = "steady"
	TooEarly SignalState = "too_early"
)

// SignalStates is the list of SignalState.
var SignalStates = []SignalState{Rising, Falling, Steady, TooEarly}

// PageLevel gives the level of each chart of one goalie's page, with its many targets: a page on which every goalie rises
// and falls somewhere says nothing. See [BoardLevel].
func PageLevel(targets int, bounds SignalBounds) float64 {
	return levelOf(2*targets, bounds.PageAlarms, bounds)
}

// BoardLevel gives the level of each chart of a board on which a director bears some false alarms a season: there are
// two charts a goalie and target, one each way. It is rounded down to one of a few, so that goalies who come and go do
// not move every limit.
func BoardLevel(goalies, targets int, bounds SignalBounds) float64 {
	return min(levelOf(2*goalies*targets, bounds.BoardAlarms, bounds), PageLevel(targets, bounds))
}

func levelOf(charts int, alarms float64, bounds SignalBounds) float64 {
	each := alarms / float64(max(1, charts))
	for _, level := range []float64{0.10, 0.05, 0.02, 0.01, 0.005, 0.002, 0.001} {
		if level <= bounds.LoosestLevel && level <= each {
			return level
		}
	}
	return 0.0005
}

// Try is one try of a target, in the order in which they happened.
type Try struct {
	On     domain.Date
	Chance float64 // of a miss, for a goalie of no effect of their own
	Miss   bool
}

// Signal is what the season's tries say about change: whether the goalie differs from what the goalie was.
type Signal struct {
	State    SignalState  `json:"state"`
	Tries    int          `json:"tries"`
	RaisedOn *domain.Date `json:"raised_on"` // of rising and falling: the day of the try that raised it
	// Worse and Better are how far the two charts stand on their way to their limits, 0 to 1.
	Worse  float64 `json:"worse"`
	Better float64 `json:"better"`
	Needed int     `json:"needed"` // tries in which doubled odds are seen as likely as not; nothing is steady before

	Baseline    string       `json:"baseline"`     // expected_saves or own_rate
	Level       float64      `json:"level"`        // chance of a false alarm in a season, each way
	SeasonTries int          `json:"season_tries"` // that a season was reckoned with
	Risks       []stats.Risk `json:"risks"`        // the mix of tries that the limits were set on
	WorseLimit  int          `json:"worse_limit"`
	BetterLimit int          `json:"better_limit"`

	ChangeChance *float64     `json:"change_chance"` // that the rate changed at all this season; nil under four weeks
	ChangeAfter  *domain.Week `json:"change_after"`  // the week after which, if it did
	CurrentRate  *float64     `json:"current_rate"`  // of hits, averaged over change and none
	Sentence     string       `json:"sentence"`
}

// What a chart takes for granted of each try.
const (
	ByExpectedSaves = "expected_saves"
	ByOwnRate       = "own_rate"
)

// Chart is how the tries of one goalie and target are to be watched.
type Chart struct {
	Baseline    string
	Spread      float64 // standard deviation of the goalie's own effect before the season
	Start       float64 // rate of hits to start from, for the sentence
	Level       float64
	SeasonTries int         // that a season is reckoned with
	From        domain.Date // a signal before this day is over
}

// SeasonTries reckons with how many tries a season has, from those so far and the share of its games that are played: at
// least the bounds' number, rounded up to one of a few so that limits do not move from game to game.
func SeasonTries(tries, gamesPlayed, seasonGames int, bounds SignalBounds) int {
	whole := float64(tries)
	if gamesPlayed > 0 {
		whole *= math.Max(1, float64(seasonGames)/float64(gamesPlayed))
	}
	n := bounds.SeasonTries
	for float64(n) < whole {
		n += n / 2
	}
	return n
}

// Watch runs the two charts over the season's tries. Each try's chance of a miss is that of the goalie's own record so
// far, beside what the try itself says, so that neither a hard schedule nor being better or worse than others is taken
// for a change; what is known of the goalie goes on growing, at first without a chart. When a chart reaches its limit both
// begin anew and so does the record: what follows is compared with what the goalie has become.
func Watch(tries []Try, chart Chart, limits *Limits, bounds SignalBounds) Signal {
	s := Signal{
		State: Steady, Tries: len(tries), Baseline: chart.Baseline, Level: chart.Level, SeasonTries: chart.SeasonTries,
		Risks: MixOf(tries, chart.Spread),
	}
	limit := limits.For(s.Risks, chart.SeasonTries, chart.Level, bounds.OddsRatio)
	s.WorseLimit, s.BetterLimit, s.Needed = limit.Worse, limit.Better, limit.Needed
	worse, better, learnt := 0, 0, 0
	own := stats.NewBaseline(0, chart.Spread)
	for _, try := range tries {
		p := own.Learn(try.Chance, try.Miss)
		if learnt++; learnt <= bounds.LearnTries {
			continue
		}
		worse = stats.CusumNext(worse, cusum(bounds.OddsRatio).Score(try.Miss, p))
		better = stats.CusumNext(better, cusum(1/bounds.OddsRatio).Score(try.Miss, p))
		switch {
		case worse >= limit.Worse:
			s.State = Falling
		case better >= limit.Better:
			s.State = Rising
		default:
			continue
		}
		s.RaisedOn = new(try.On)
		worse, better, learnt, own = 0, 0, 0, stats.NewBaseline(0, chart.Spread)
	}
	s.Worse, s.Better = float64(worse)/float64(limit.Worse), float64(better)/float64(limit.Better)
	if s.RaisedOn != nil && s.RaisedOn.Before(chart.From) {
		s.State, s.RaisedOn = Steady, nil
	}
	if s.State == Steady && s.Tries < s.Needed {
		s.State = TooEarly
	}
	s.change(tries, chart, bounds)
	s.Sentence = s.sentence()
	return s
}

// Season is what a target's signal is worked out from.
type Season struct {
	Shots       []*domain.CountedShot // of one goalie, code of play and level, in the order of play
	Difficulty  *DifficultyFit        // nil: none yet
	Start       float64               // rate of hits to start from where difficulty does not serve, such as the peers'
	Spread      float64               // of the peers' true rates on the log-odds, see [Opinion]; 0: not known
	GamesPlayed int                   // of those, and SeasonGames those of a whole season
	SeasonGames int
	Week        domain.Week // the week asked for: a signal older than the target's look-back is over
	Level       float64     // of each chart: the bounds' for one goalie's page, else [BoardLevel]
}

// SignalOf watches a target over a season. Where the target's hit is a save and difficulty is known, the expected saves
// are the baseline; else the goalie's own rate.
func SignalOf(target domain.TargetFields, season Season, limits *Limits, bounds SignalBounds) Signal {
	chart := Chart{
		Baseline: ByOwnRate, Spread: bounds.RateSpread, Start: season.Start, Level: season.Level,
		From: season.Week.Sunday().AddDays(1 - 7*target.Weeks),
	}
	var tries []Try
	if season.Difficulty != nil && season.Difficulty.Enough && HitIsASave(target) {
		chart.Baseline, chart.Spread = ByExpectedSaves, max(bounds.SaveSpread, season.Difficulty.GoalieSpread)
		tries = SaveTries(target, season.Shots, season.Difficulty)
	} else {
		tries = RateTries(target, season.Shots, season.Start)
	}
	chart.Spread = max(chart.Spread, season.Spread)
	chart.SeasonTries = SeasonTries(len(tries), season.GamesPlayed, season.SeasonGames, bounds)
	return Watch(tries, chart, limits, bounds)
}

// change looks for one change of the weekly rate.
func (s *Signal) change(tries []Try, chart Chart, bounds SignalBounds) {
	var weeks []domain.Week
	var hits, counts []int
	for _, t := range tries {
		if w := domain.WeekOf(t.On); len(weeks) == 0 || weeks[len(weeks)-1] != w {
			weeks, hits, counts = append(weeks, w), append(hits, 0), append(counts, 0)
		}
		counts[len(counts)-1]++
		if !t.Miss {
			hits[len(hits)-1]++
		}
	}
	start := min(max(chart.Start, 0.05), 0.95)
	prior := stats.Beta{A: bounds.PriorTries * start, B: bounds.PriorTries * (1 - start)}
	if c, ok := stats.FindChange(hits, counts, prior, bounds.ChangeBefore); ok {
		s.ChangeChance, s.ChangeAfter, s.CurrentRate = &c.Chance, &weeks[c.After-1], &c.Current
	}
}

// SaveTries gives the tries of a target whose hit is a save, among shots in the order of play, each with its expected
// chance of a goal.
func SaveTries(target domain.TargetFields, shots []*domain.CountedShot, difficulty *DifficultyFit) []Try {
	return triesOf(target, shots, func(s *domain.CountedShot) float64 { return 1 - difficulty.SaveChance(s) })
}

// RateTries gives the tries of any other target, all with the same chance of a miss: that of the rate to start from,
// such as the peers'.
func RateTries(target domain.TargetFields, shots []*domain.CountedShot, start float64) []Try {
	return triesOf(target, shots, func(*domain.CountedShot) float64 { return 1 - start })
}

func triesOf(target domain.TargetFields, shots []*domain.CountedShot, chance func(*domain.CountedShot) float64) []Try {
	var tries []Try
	question := target.Question()
	for _, s := range shots {
		if hit, counts := question.Ask(s); counts && hit != domain.Unknown {
			tries = append(tries, Try{On: s.Game.Fields.PlayedOn, Chance: chance(s), Miss: hit == domain.False})
		}
	}
	return tries
}

// HitIsASave tells whether a target asks whether shots on goal were saved, and nothing else.
func HitIsASave(t domain.TargetFields) bool {
	onGoal := slices.ContainsFunc(t.Of, func(c domain.Clause) bool { return c.Field == "on_goal" && c.Is == true })
	return onGoal && AsksForASave(t)
}
