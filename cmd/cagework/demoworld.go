package main

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"time"

	openapi_types "github.com/oapi-codegen/runtime/types"

	"cagework/cmd/cagework/invented"
	"cagework/domain"
	"cagework/openapi/client"
)

// inventDemo makes up the demo's program, so that its weeks end with the one asked for or, where the demo's data are
// there, with the one with which they end. complete tells that all of them are there.
func inventDemo(
	ctx context.Context, api *client.ClientWithResponses, last domain.Week,
) (p *invented.Program, complete bool, err error) {
	model := invented.NewModel(demoProgramID)
	invent := func() { p = model.Invent(invented.Squads(), invented.DemoSeed, last) }
	invent()
	season, err := api.GetSeasonWithResponse(ctx, openapi_types.UUID(p.Seasons[0].ID))
	switch {
	case err != nil:
		return nil, false, err
	case season.StatusCode() == http.StatusNotFound:
		return p, false, nil
	case season.JSON200 == nil:
		return nil, false, errors.New(season.Status() + ": " + string(season.Body))
	}
	if there := weekAfter(season.JSON200.StartsOn.Time, invented.Weeks-1); there != last {
		last = there
		invent()
	}
	end, err := api.GetPracticeLogWithResponse(ctx, openapi_types.UUID(p.Logs[len(p.Logs)-1].ID))
	if err != nil {
		return nil, false, err
	}
	return p, end.JSON200 != nil, nil
}

// weekAfter gives the week some weeks after an instant's.
func weekAfter(t time.Time, weeks int) domain.Week {
	return domain.WeekOf(domain.DateOf(t).AddDays(7 * weeks))
}

// lastWeek gives the week with which the invented weeks end: the one given, else the last whole one.
func (d demoCmd) lastWeek(now time.Time) (domain.Week, error) {
	if d.Week == "" {
		return weekAfter(now, -1), nil
	}
	w, err := domain.ParseWeek(d.Week)
	if err != nil {
		return w, fmt.Errorf("--week is %w", err)
	}
	return w, nil
}
