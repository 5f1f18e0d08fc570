package summary

import (
	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/planning"
)

// judging is what the rates of a week are judged with. That of a team or program is one for all its goalies.
type judging struct {
	bounds      judgement.Thresholds
	targets     []domain.Target // the active ones, in the order of causes
	peers       judgement.AllPeers
	fits        Fits
	signalLevel float64 // of each chart of change
	counted     int     // goalies whose counts stand behind the peers
}

// limits remembers the limits of charts, which depend on nothing but the chart: finding one takes longer than a week.
var limits judgement.Limits

// judgingOf works out what a goalie's week is judged with.
func judgingOf(r domain.WeekRecords) judging {
	bounds := judgement.Defaults()
	j := judging{bounds: bounds, targets: judgement.ActiveTargets(r.Targets), fits: fitsOf(r.Fits)}
	j.signalLevel = judgement.PageLevel(len(j.targets), bounds.Signal)
	j.peers = judgement.PeersOf(j.targets, r.Peers, bounds)
	goalies := map[domain.ID]bool{}
	for _, p := range r.Peers {
		goalies[p.Goalie] = true
	}
	j.counted = len(goalies)
	return j
}

// order gives the seam by which the plan orders what may be worked on.
func (j judging) order(r domain.WeekRecords, plays []judgement.Play) planning.Ordering {
	return func(kept, short []judgement.Rate, most int) []judgement.Gap {
		return judgement.Choice{
			Kept: kept, Rates: short, Plays: plays, Week: r.Week, Most: most, Bounds: j.bounds,
			Value: judgement.Values(j.fits, r.Habits, plays, j.bounds),
		}.Order()
	}
}

// expect gives the expected chance of a save of a play's shots; nil without a fit that is used.
func (j judging) expect(r judgement.Rate) judgement.Expect {
	fitted := judgement.FittedIn(j.fits, r.CodeOfPlay, r.Level)
	if fitted == nil || !fitted.Difficulty.Enough {
		return nil
	}
	return func(s *domain.CountedShot) (float64, bool) { return fitted.Difficulty.SaveChance(s), true }
}

// Method says what a week was judged with: the version of the method and every bound, so that what was said can be
// traced. Shares, chances and rates run from 0 to 1.
type Method struct {
	Version        string      `json:"version"` // changes when the same records would be judged in another way
	Text           string      `json:"text"`    // in words
	Goalies        int         `json:"goalies"` // of the program, whose counts the rates lean on: of the same code of play and level
	Fits           []MethodFit `json:"fits"`    // of difficulty and habits, that were used
	Interval       float64     `json:"interval"`
	TooWide        float64     `json:"too_wide"` // an 80 % interval wider than this is too few shots
	ClearGap       float64     `json:"clear_gap"`
	LeaningBelow   float64     `json:"leaning_below"`
	CantTell       float64     `json:"cant_tell"`
	LeaningMet     float64     `json:"leaning_met"`
	OwnList        float64     `json:"own_list"`
	BoardList      float64     `json:"board_list"`
	AboutTheSame   float64     `json:"about_the_same"`
	Overtaken      float64     `json:"overtaken"`
	AssumedWorth   float64     `json:"assumed_worth"` // goals a try
	Helped         float64     `json:"helped"`
	SignalLevel    float64     `json:"signal_level"` // of each chart, each way, in a season
	SignalOddsFold float64     `json:"signal_odds"`  // the change that the charts are tuned to
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
const methodVersion = "peers-1"

const methodText = "A rate is hits of tries in its look-back, with the 95 % interval (Wilson), wider where the shots of a game " +
	"are alike. State and likely rate lean on the program's goalies of the same code of play and level, and on no others. Too " +
	"few shots: fewer tries than the target asks for, or an 80 % interval wider than .30. Work-ons are gaps that stand out " +
	"from chance among all rates of the goalie (of those named, at most one in ten is expected to be wrong: Bayesian false " +
	"discovery rate), in the order of the goals a game that reaching the target is worth, a shot in several counted once."

func (j judging) method() Method {
	b := j.bounds
	m := Method{
		Version: methodVersion, Text: methodText, Goalies: j.counted, Fits: []MethodFit{},
		Interval: b.Interval, TooWide: b.TooWide, ClearGap: b.ClearGap, LeaningBelow: b.Leaning, CantTell: b.CantTell,
		LeaningMet: b.LeaningMet, OwnList: b.OwnList, BoardList: b.BoardList, AboutTheSame: b.AboutTheSame,
		Overtaken: b.Overtaken, AssumedWorth: b.AssumedWorth, Helped: b.Helped,
		SignalLevel: j.signalLevel, SignalOddsFold: b.Signal.OddsRatio,
	}
	for _, code := range domain.CodesOfPlay {
		for _, level := range domain.Levels {
			if f := judgement.FittedIn(j.fits, code, level); f != nil {
				m.Fits = append(m.Fits, MethodFit{f.ID, code, level, f.Difficulty.FittedOn, f.Difficulty.Shots, f.Difficulty.Enough})
			}
		}
	}
	if len(m.Fits) > 0 {
		m.Text += expectedMethod
	}
	return m
}
