package planning

import (
	"cmp"
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// AboutTheSame is how close to the best a work-on's worth must come for the earlier cause to go first: 20 %.
const AboutTheSame = 0.20

// WorkOn is the target recommended for the week.
type WorkOn struct {
	Rate         judgement.Rate
	Worth        float64 // tries a game that are expected to be lost by falling short of the target
	EarlierCause bool    // it was preferred to one worth a little more, for lying earlier in the order of causes
}

// worth is the seam for the goals-a-game model, which will bring outcome targets and habits to one currency. Until
// then it is the expected shortfall times the tries per game played in the look-back.
func worth(r judgement.Rate) float64 { return r.Shortfall * r.TriesAGame() }

// ChooseWorkOn gives the one target to work on: of the rates that are below their targets, clearly or probably,
// the one worth most; of those worth about the same, the earlier cause. What is still level is settled by worth,
// target code and play, so that the same shots always give the same answer. nil when no rate is short.
func ChooseWorkOn(rates []judgement.Rate) *WorkOn {
	var short []WorkOn
	for _, r := range rates {
		if r.Short() {
			short = append(short, WorkOn{Rate: r, Worth: worth(r)})
		}
	}
	if len(short) == 0 {
		return nil
	}
	best := slices.MaxFunc(short, func(a, b WorkOn) int { return cmp.Compare(a.Worth, b.Worth) }).Worth
	short = slices.DeleteFunc(short, func(w WorkOn) bool { return w.Worth < (1-AboutTheSame)*best })
	first := slices.MinFunc(short, before)
	first.EarlierCause = first.Worth < best
	return &first
}

func before(a, b WorkOn) int {
	return cmp.Or(
		cmp.Compare(a.Rate.Target.Fields.Cause, b.Rate.Target.Fields.Cause),
		cmp.Compare(b.Worth, a.Worth),
		cmp.Compare(a.Rate.Target.Fields.Code, b.Rate.Target.Fields.Code),
		cmp.Compare(slices.Index(domain.CodesOfPlay, a.Rate.CodeOfPlay), slices.Index(domain.CodesOfPlay, b.Rate.CodeOfPlay)),
		cmp.Compare(slices.Index(domain.Levels, a.Rate.Level), slices.Index(domain.Levels, b.Rate.Level)),
	)
}
