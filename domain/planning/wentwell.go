package planning

import (
	"cmp"
	"slices"

	"cagework/domain"
	"cagework/domain/judgement"
)

// maxWentWell is how many targets are named for having gone well.
const maxWentWell = 2

// WentWell gives up to two rates that reach their target, surely or probably, the one with the best margin first.
func WentWell(rates []judgement.Rate) []judgement.Rate {
	margin := func(r judgement.Rate) float64 { return *r.Rate - *r.TargetRate }
	var out []judgement.Rate
	for _, r := range rates {
		if r.State != nil && (*r.State == domain.Met || *r.State == domain.LeaningMet) && r.Rate != nil && r.TargetRate != nil {
			out = append(out, r)
		}
	}
	slices.SortFunc(out, func(a, b judgement.Rate) int {
		return cmp.Or(
			cmp.Compare(margin(b), margin(a)),
			cmp.Compare(a.Target.Fields.Cause, b.Target.Fields.Cause),
			cmp.Compare(a.Target.Fields.Code, b.Target.Fields.Code),
			judgement.ComparePlays(a, b),
		)
	})
	return out[:min(len(out), maxWentWell)]
}
