package domain

import (
	"cmp"
	"slices"
)

// PeerCount is how one goalie of a program counts at its targets in one code of play and level, over the look-backs that
// end with a week: what other goalies' rates are held beside. It names no shot and shows on no page.
type PeerCount struct {
	Goalie     ID
	CodeOfPlay CodeOfPlay
	Level      Level
	Counts     []TargetCount // of the targets judged there at which the goalie has tries
}

// TargetCount is the hits of some tries at a target.
type TargetCount struct {
	Target      ID
	Hits, Tries int
}

// CountPeers counts what goalies faced at the active targets, each over its look-back, which ends with the week. Shots of
// other days and of nobody do not matter. They stand in the order of the goalies' ids, of codes of play and of levels,
// whatever the order of the shots.
func CountPeers(targets []Target, week Week, shots []*CountedShot) []PeerCount {
	type key struct {
		goalie ID
		code   CodeOfPlay
		level  Level
	}
	at := map[key]int{}
	var out []PeerCount
	var theirs [][]*CountedShot
	for _, s := range shots {
		if s.Shot.Found.FacedGoalieID == nil {
			continue
		}
		k := key{*s.Shot.Found.FacedGoalieID, s.Competition.CodeOfPlay, s.Competition.Level}
		i, seen := at[k]
		if !seen {
			i = len(out)
			at[k] = i
			out, theirs = append(out, PeerCount{Goalie: k.goalie, CodeOfPlay: k.code, Level: k.level}), append(theirs, nil)
		}
		theirs[i] = append(theirs[i], s)
	}
	for i := range out {
		for _, t := range targets {
			if c := countIn(t, week, theirs[i]); c.Tries > 0 && t.Fields.RateFor(out[i].CodeOfPlay, out[i].Level) != nil {
				out[i].Counts = append(out[i].Counts, c)
			}
		}
	}
	slices.SortFunc(out, inPeerOrder)
	return out
}

// RecountPeers gives the counts in which some goalies, of whom all was counted anew, have what was counted of them now. What
// is given stays as it is.
func RecountPeers(counts []PeerCount, goalies []ID, anew []PeerCount) []PeerCount {
	out := slices.Clone(anew)
	for _, c := range counts {
		if !slices.Contains(goalies, c.Goalie) {
			out = append(out, c)
		}
	}
	slices.SortFunc(out, inPeerOrder)
	return out
}

func inPeerOrder(a, b PeerCount) int {
	return cmp.Or(slices.Compare(a.Goalie[:], b.Goalie[:]), cmp.Compare(a.CodeOfPlay, b.CodeOfPlay), cmp.Compare(a.Level, b.Level))
}

// countIn counts an active target over its look-back.
func countIn(t Target, week Week, shots []*CountedShot) TargetCount {
	out := TargetCount{Target: t.ID}
	if !t.Fields.Active {
		return out
	}
	to := week.Sunday()
	from := to.AddDays(1 - 7*t.Fields.Weeks)
	question := t.Fields.Question()
	for _, s := range shots {
		if s.Game.Fields.PlayedOn.Before(from) || to.Before(s.Game.Fields.PlayedOn) {
			continue
		}
		switch hit, counts := question.Ask(s); {
		case !counts || hit == Unknown:
		case hit == True:
			out.Hits++
			fallthrough
		default:
			out.Tries++
		}
	}
	return out
}
