package judgement

import (
	"slices"

	"cagework/domain"
)

// Play is what one goalie faced in one code of play and level, shots in the order of day, game and time. Rates,
// lines and peers are never pooled across plays.
type Play struct {
	CodeOfPlay domain.CodeOfPlay
	Level      domain.Level
	Faced      domain.FacedRecords
}

// Plays sorts what a goalie faced into plays, in the order of the lists of codes.
func Plays(faced domain.FacedRecords) []Play {
	var plays []Play
	for _, code := range domain.CodesOfPlay {
		for _, level := range domain.Levels {
			here := keep(faced, func(_ *domain.Game, c *domain.CompetitionFields) bool {
				return c.CodeOfPlay == code && c.Level == level
			})
			if len(here.Shots)+len(here.Stints)+len(here.Clears) > 0 {
				plays = append(plays, Play{code, level, here})
			}
		}
	}
	return plays
}

// Between gives the part of what was faced from a day to a day, both included.
func Between(faced domain.FacedRecords, from, to domain.Date) domain.FacedRecords {
	out := keep(faced, func(g *domain.Game, _ *domain.CompetitionFields) bool {
		return !g.Fields.PlayedOn.Before(from) && !to.Before(g.Fields.PlayedOn)
	})
	out.From, out.To = from, to
	return out
}

// games gives how many games of some kinds the goalie played in: those with a stint or a shot.
func games(faced domain.FacedRecords, kinds []domain.GameKind) int {
	seen := map[domain.ID]bool{}
	faced.Clears = nil
	keep(faced, func(g *domain.Game, _ *domain.CompetitionFields) bool {
		if slices.Contains(kinds, g.Fields.Kind) {
			seen[g.ID] = true
		}
		return false
	})
	return len(seen)
}

func keep(f domain.FacedRecords, wanted func(*domain.Game, *domain.CompetitionFields) bool) domain.FacedRecords {
	out := domain.FacedRecords{From: f.From, To: f.To}
	for _, s := range f.Shots {
		if wanted(&s.Game, &s.Competition) {
			out.Shots = append(out.Shots, s)
		}
	}
	for i := range f.Stints {
		if s := &f.Stints[i]; wanted(&s.Game, &s.Competition) {
			out.Stints = append(out.Stints, *s)
		}
	}
	for i := range f.Clears {
		if c := &f.Clears[i]; wanted(&c.Game, &c.Competition) {
			out.Clears = append(out.Clears, *c)
		}
	}
	return out
}
