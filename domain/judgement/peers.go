package judgement

import (
	"cagework/domain"
	"cagework/domain/stats"
)

// Charted is how a goalie counts at the targets of a play: Counts go with the targets given beside it. Shots that were
// not seen to be a hit or not are no tries.
type Charted struct {
	Goalie domain.ID
	Counts []stats.Count
}

// Peers is what the goalies of one code of play and level in a program do at its targets, and what that lets think of
// each: a goalie's rate leans on the peers' as far as their likeness is supported by the counts. Counts of another code
// of play or level have no place in it.
//
// Judging is safe from several goroutines at once; [Peers.Set] and [Peers.Board] are not.
type Peers struct {
	CodeOfPlay domain.CodeOfPlay
	Level      domain.Level

	bounds  Thresholds
	targets []domain.Target // those judged here
	goalies []domain.ID
	rates   []float64 // to reach, of each target
	target  map[domain.ID]int
	goalie  map[domain.ID]int
	model   *stats.Peers
	against *stats.Bounds
}

// NewPeers works out what all the goalies of a play let think of each. Targets that are not judged there are left out;
// what is thought of the peers' mean beforehand is the target's rate, worth [Thresholds.NormTries] tries, since rates to
// reach are set a touch above a middling goalie's.
func NewPeers(
	code domain.CodeOfPlay, level domain.Level, targets []domain.Target, charted []Charted, bounds Thresholds,
) *Peers {
	p := &Peers{
		CodeOfPlay: code, Level: level, bounds: bounds,
		target: map[domain.ID]int{}, goalie: map[domain.ID]int{},
	}
	for i, c := range charted {
		p.goalies = append(p.goalies, c.Goalie)
		p.goalie[c.Goalie] = i
	}
	var groups []stats.Group
	var at []float64
	for t := range targets {
		rate := targets[t].Fields.RateFor(code, level)
		if rate == nil {
			continue
		}
		group := stats.Group{Mean: stats.NormPrior(rate, bounds.NormTries)}
		for _, c := range charted {
			group.Counts = append(group.Counts, c.Counts[t])
		}
		p.target[targets[t].ID] = len(groups)
		groups = append(groups, group)
		p.targets, p.rates = append(p.targets, targets[t]), append(p.rates, *rate)
		at = append(at, bounds.line(*rate))
	}
	p.model = stats.NewPeers(stats.DefaultSpread(), groups)
	p.against = p.model.Against(at)
	return p
}

// NewCount is a goalie's new count at a target.
type NewCount struct {
	Goalie, Target domain.ID
	Count          stats.Count
}

// Set changes counts; those of goalies or targets that are not here are passed over.
func (p *Peers) Set(counts ...NewCount) {
	var changes []stats.Change
	for _, c := range counts {
		target, judged := p.target[c.Target]
		goalie, known := p.goalie[c.Goalie]
		if judged && known {
			changes = append(changes, stats.Change{Group: target, Member: goalie, Count: c.Count})
		}
	}
	p.model.Set(changes...)
}

// others gives how many goalies but one have tries at a target.
func (p *Peers) others(target, goalie int) int {
	n := 0
	for i := range p.goalies {
		if i != goalie && p.model.Count(target, i).Tries > 0 {
			n++
		}
	}
	return n
}
