package summary

import (
	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/domain/planning"
)

// judging is what the rates of a week are judged with. That of a team or program is one for all its goalies.
type judging struct {
	set         domain.JudgementSettings // by the program
	bounds      judgement.Thresholds     // that follow
	targets     []domain.Target          // the active ones, in the order of causes
	peers       judgement.AllPeers
	fits        Fits
	signalLevel float64 // of each chart of change
	counted     int     // goalies whose counts stand behind the peers
}

// limits remembers the limits of charts, which depend on nothing but the chart: finding one takes longer than a week.
var limits judgement.Limits

// judgingOf works out what a goalie's week is judged with.
func judgingOf(r domain.WeekRecords) judging {
	set := r.Program.Fields.Judgement
	bounds := judgement.BoundsOf(set)
	j := judging{set: set, bounds: bounds, targets: judgement.ActiveTargets(r.Targets), fits: fitsOf(r.Fits)}
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
