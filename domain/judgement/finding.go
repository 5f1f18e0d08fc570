package judgement

import (
	"cagework/domain"
	"cagework/domain/stats"
)

// Finding is one goalie's rate at one target as a board has it: the count, and what the peers let think of it.
type Finding struct {
	Goalie      domain.ID
	Target      domain.ID
	CodeOfPlay  domain.CodeOfPlay
	Level       domain.Level
	Count       stats.Count
	ChanceBelow float64 // the target, by more than the margin; 0 without tries
	Shortfall   float64 // of what counts as below: the target less the margin
	State       domain.State
	Listed      bool
}

// Board gives a finding for each goalie and judged target, goalies and targets in the order given to [NewPeers].
// Nothing is listed yet: a board is one list over all its plays, see [ListBoard].
func (p *Peers) Board() []Finding {
	out := make([]Finding, 0, len(p.goalies)*len(p.targets))
	for i, goalie := range p.goalies {
		for t := range p.targets {
			count := p.model.Count(t, i)
			f := Finding{
				Goalie: goalie, Target: p.targets[t].ID, CodeOfPlay: p.CodeOfPlay, Level: p.Level, Count: count,
			}
			if count.Tries > 0 {
				f.ChanceBelow, f.Shortfall = p.against.Judge(t, i)
			}
			f.State = p.bounds.judge(count.Hits, count.Tries, p.targets[t].Fields.MinTries, f.ChanceBelow)
			out = append(out, f)
		}
	}
	return out
}

// ListBoard marks the findings of a board that are gaps to believe: as many as can be while about one in ten of them
// is expected to be none (the bound is set below that, since true rates are never spread just as is assumed). Those
// without enough tries are no candidates.
func ListBoard(findings []Finding, bounds Thresholds) {
	wrong := make([]float64, len(findings))
	for i, f := range findings {
		wrong[i] = chanceWrong(&f.State, f.ChanceBelow)
	}
	for i, listed := range stats.Discover(wrong, bounds.BoardList) {
		findings[i].Listed = listed
	}
}

// ListOwn marks the rates of one goalie that are gaps to believe, over all the goalie's plays; see [ListBoard].
func ListOwn(rates []Rate, bounds Thresholds) {
	wrong := make([]float64, len(rates))
	for i, r := range rates {
		below := 0.0
		if r.ChanceBelow != nil {
			below = *r.ChanceBelow
		}
		wrong[i] = chanceWrong(r.State, below)
	}
	for i, listed := range stats.Discover(wrong, bounds.OwnList) {
		rates[i].Listed = listed
	}
}

// chanceWrong gives the chance that there is no gap; of what cannot be judged, that there is none for sure.
func chanceWrong(state *domain.State, below float64) float64 {
	if !told(state) {
		return 1
	}
	return 1 - below
}

func told(state *domain.State) bool {
	return state != nil && *state != domain.NoData && *state != domain.TooFew
}
