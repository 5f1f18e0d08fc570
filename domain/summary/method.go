package summary

import (
	"fmt"
	"strconv"
	"strings"

	"cagework/domain"
	"cagework/domain/judgement"
)

// Method says what a week was judged with: the version of the method and every bound, so that what was said can be
// traced. Shares, chances and rates run from 0 to 1.
type Method struct {
	Version     string                 `json:"version"`      // changes when the same records would be judged in another way
	Text        string                 `json:"text"`         // in words
	Goalies     int                    `json:"goalies"`      // of the program, whose counts the rates lean on: of the same code of play and level
	Fits        []MethodFit            `json:"fits"`         // of difficulty and habits, that were used
	Judgement   domain.JudgementBounds `json:"judgement"`    // the bounds that a program may set, as they were used
	Set         []string               `json:"set"`          // the names of those that the program sets itself; the others are the service's own
	Fixed       MethodFixed            `json:"fixed"`        // the bounds that no program sets
	SignalLevel float64                `json:"signal_level"` // of each chart, each way, in a season: it follows from the alarms borne
}

// MethodFixed is the bounds that are the service's own for every program.
type MethodFixed struct {
	Interval       float64      `json:"interval"`         // confidence of the interval of a rate, and of saves expected
	Likely         float64      `json:"likely"`           // that of a likely rate, and of what a block is expected to show
	Narrow         float64      `json:"narrow"`           // that of the interval which must not be wider than too_wide
	NormTries      float64      `json:"norm_tries"`       // that a target's rate is worth in what is thought of the peers' mean
	FewPeers       int          `json:"few_peers"`        // with fewer, how alike they are is assumed, and a block needs plainer evidence
	AssumedWorthSD float64      `json:"assumed_worth_sd"` // how uncertain assumed_worth is, in goals a try
	HabitInterval  float64      `json:"habit_interval"`   // confidence of the interval of what a habit goes with
	BlockTries     int          `json:"block_tries"`      // that a block must have since it began for a verdict
	ExpectedGames  int          `json:"expected_games"`   // of which a season must be for a sentence on saves expected
	Charts         MethodCharts `json:"charts"`
}

// MethodCharts is how the charts of change are set.
type MethodCharts struct {
	LoosestLevel float64 `json:"loosest_level"` // most that signal_level may be, whatever the alarms borne
	OddsRatio    float64 `json:"odds_ratio"`    // of a miss, to which the charts are tuned
	SeasonTries  int     `json:"season_tries"`  // least that a season is reckoned with
	LearnTries   int     `json:"learn_tries"`   // that only teach the chart who the goalie is
	SaveSpread   float64 `json:"save_spread"`   // least standard deviation of goalies, in log-odds, where saves are held against those expected
	RateSpread   float64 `json:"rate_spread"`   // the same of all other rates
	ChangeBefore float64 `json:"change_before"` // chance of a change before a season's tries are known
	PriorTries   float64 `json:"prior_tries"`   // that the rate to start from is worth in change_chance
}

// MethodFit names a fit that was used.
type MethodFit struct {
	ID         domain.ID         `json:"id"`
	CodeOfPlay domain.CodeOfPlay `json:"code_of_play"`
	Level      domain.Level      `json:"level"`
	FittedOn   domain.Date       `json:"fitted_on"`
	Shots      int               `json:"shots"`
	Enough     bool              `json:"enough"` // false: the pooled rate stands in
}

// methodVersion names the method as a whole.
const methodVersion = "peers-2"

func (j judging) method() Method {
	m := Method{
		Version: methodVersion, Text: j.methodText(), Goalies: j.counted, Fits: []MethodFit{},
		Judgement: j.set.Bounds(), Set: []string{}, Fixed: fixedOf(j.bounds), SignalLevel: j.signalLevel,
	}
	for _, b := range j.set.Set() {
		m.Set = append(m.Set, b.Name)
	}
	for _, code := range domain.CodesOfPlay {
		for _, level := range domain.Levels {
			if f := judgement.FittedIn(j.fits, code, level); f != nil {
				m.Fits = append(m.Fits, MethodFit{f.ID, code, level, f.Difficulty.FittedOn, f.Difficulty.Shots, f.Difficulty.Enough})
			}
		}
	}
	if len(m.Fits) > 0 {
		m.Text += expectedMethod()
	}
	m.Text += ownBounds(j.set)
	return m
}

func fixedOf(b judgement.Thresholds) MethodFixed {
	s := b.Signal
	return MethodFixed{
		Interval: b.Interval, Likely: judgement.Likely, Narrow: b.Narrow, NormTries: b.NormTries, FewPeers: b.FewPeers,
		AssumedWorthSD: b.AssumedWorthSD, HabitInterval: b.Habits.Confidence, BlockTries: judgement.FewestTries,
		ExpectedGames: leastGames,
		Charts: MethodCharts{
			LoosestLevel: s.LoosestLevel, OddsRatio: s.OddsRatio, SeasonTries: s.SeasonTries, LearnTries: s.LearnTries,
			SaveSpread: s.SaveSpread, RateSpread: s.RateSpread, ChangeBefore: s.ChangeBefore, PriorTries: s.PriorTries,
		},
	}
}

// methodText says the method with the bounds in use.
func (j judging) methodText() string {
	b := j.bounds
	return fmt.Sprintf("A rate is hits of tries in its look-back, with the %s %% interval (Wilson), wider where the shots of a game "+
		"are alike. State and likely rate lean on the program's goalies of the same code of play and level, and on no others. Too "+
		"few shots: fewer tries than the target asks for, or an interval of %s %% wider than %s. Else the state is by the chance that "+
		"the true rate is below its target%s: a clear gap from %s in 100 on, leaning below from %s, can't tell from %s, leaning met "+
		"from %s, met under that. Work-ons are gaps that stand out "+
		"from chance among all rates of the goalie (of those named, at most %s in 100 are expected to be wrong: Bayesian false "+
		"discovery rate), in the order of the goals a game that reaching the target is worth, a shot in several counted once.",
		Hundred(b.Interval), Hundred(b.Narrow), Nearest(b.TooWide).Short(), byMore(b),
		Hundred(b.ClearGap), Hundred(b.Leaning), Hundred(b.CantTell), Hundred(b.LeaningMet), Hundred(b.OwnList))
}

// ownBounds says which bounds the program sets itself; nothing when it sets none.
func ownBounds(set domain.JudgementSettings) string {
	var said []string
	for _, b := range set.Set() {
		said = append(said, fmt.Sprintf("%s %s (the service's own is %s)", strings.ReplaceAll(b.Name, "_", " "), plain(b.Value), plain(b.Default)))
	}
	if len(said) == 0 {
		return ""
	}
	return " This program sets bounds of its own: " + strings.Join(said, ", ") + "."
}

// Hundred says a share or chance in hundredths: 95 of .95, 97.5 of .975.
func Hundred(share float64) string { return strconv.FormatFloat(100*share, 'g', 6, 64) }

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// byMore says by how much a rate must be below its target to count as below; nothing without a margin.
func byMore(b judgement.Thresholds) string {
	if b.Margin == 0 {
		return ""
	}
	return " by more than " + Nearest(b.Margin).Short()
}
