package main

import (
	"context"
	"fmt"
	"time"

	"cagework/cmd/cagework/invented"
	"cagework/domain"
	"cagework/openapi/client"
)

// fitDemo makes a fit of each code of play and level in which shots are charted, as a director would at the end of the
// demo's weeks. It may be repeated: what is there is confirmed, and nothing is fitted.
func fitDemo(ctx context.Context, api *client.ClientWithResponses, p *invented.Program, now time.Time) error {
	return sideBySide(ctx, puts(demoFits(p, now), api.PutFitWithResponse), func(task) {})
}

// demoFits gives the fits to make, as of the last day of the demo's weeks, or of today where that is still to come.
func demoFits(p *invented.Program, now time.Time) []domain.Fit {
	on := p.LastWeek.Sunday()
	if today := demoFields.DayAt(now); today.Before(on) {
		on = today
	}
	competitions, games := map[domain.ID]domain.CompetitionFields{}, map[domain.ID]domain.ID{}
	for _, c := range p.Competitions {
		competitions[c.ID] = c.Fields
	}
	for _, g := range p.Games {
		games[g.ID] = g.Fields.CompetitionID
	}
	var fits []domain.Fit
	there := map[domain.ID]bool{}
	for _, s := range p.Shots {
		c := competitions[games[s.Fields.GameID]]
		id := domain.NameID(demoProgramID, fmt.Sprintf("fit %s %s %s", c.CodeOfPlay, c.Level, on))
		if !there[id] {
			there[id] = true
			fits = append(fits, domain.Fit{ID: id, Fields: domain.FitFields{CodeOfPlay: c.CodeOfPlay, Level: c.Level, FittedOn: on}})
		}
	}
	return fits
}
