package main

import (
	"context"
	"errors"
	"fmt"
	"text/tabwriter"

	openapi_types "github.com/oapi-codegen/runtime/types"

	"cagework/cmd/cagework/invented"
	"cagework/domain"
	"cagework/openapi/client"
)

// goalieWeek reads a goalie's week.
func goalieWeek(ctx context.Context, api *client.ClientWithResponses, goalie domain.ID, week domain.Week) (*client.GoalieWeek, error) {
	r, err := api.GetGoalieWeekWithResponse(ctx, openapi_types.UUID(goalie), week.String(), nil)
	if err != nil {
		return nil, err
	}
	if r.JSON200 == nil {
		return nil, errors.New(r.Status() + ": " + string(r.Body))
	}
	return r.JSON200, nil
}

// printBoard prints, for every goalie of the program, the first things to work on in the week, with their counts.
func printBoard(ctx context.Context, c *console, api *client.ClientWithResponses, p *invented.Program) error {
	c.printf("The board, week %s\n\n", p.LastWeek)
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	_, _ = fmt.Fprintln(w, "GOALIE\tTEAM\tAVAILABILITY\tFIRST\tSECOND")
	for i, g := range p.Goalies {
		week, err := goalieWeek(ctx, api, g.ID, p.LastWeek)
		if err != nil {
			return err
		}
		first, second := boardCell(week, 0), boardCell(week, 1)
		if week.NoWorkOn != nil {
			first = *week.NoWorkOn
		}
		_, _ = fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", week.Goalie.Name, teamName(p, p.Spells[i].Fields.TeamID), week.Goalie.Availability, first, second)
	}
	err := w.Flush()
	c.printf("\n")
	return err
}

func boardCell(w *client.GoalieWeek, n int) string {
	if n >= len(w.WorkOns) {
		return ""
	}
	t := w.WorkOns[n].Target
	return fmt.Sprintf("%s: %d of %d", t.Name, t.Hits, t.Tries)
}

func teamName(p *invented.Program, id domain.ID) string {
	for _, t := range p.Teams {
		if t.ID == id {
			return t.Fields.Name
		}
	}
	return ""
}
