package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"text/tabwriter"

	openapi_types "github.com/oapi-codegen/runtime/types"

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

// printBoard prints the program's board: every goalie with the first things to work on and their counts, the needs
// that recur and what is not charted.
func printBoard(ctx context.Context, c *console, api *client.ClientWithResponses, week domain.Week) error {
	r, err := api.GetProgramWeekWithResponse(ctx, week.String(), nil)
	if err != nil {
		return err
	}
	board := r.JSON200
	if board == nil {
		return errors.New(r.Status() + ": " + string(r.Body))
	}
	c.printf("The board, week %s\n\n", board.Week)
	w := tabwriter.NewWriter(c.out, 0, 0, 2, ' ', 0)
	_, _ = fmt.Fprintln(w, "GOALIE\tTEAM\tAVAILABILITY\tFIRST\tSECOND")
	for _, g := range board.Goalies {
		first, second := boardCell(g, 0), boardCell(g, 1)
		if g.NoWorkOn != nil {
			first = *g.NoWorkOn
		}
		var teams []string
		for _, t := range g.Teams {
			teams = append(teams, t.Name)
		}
		_, _ = fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\n", g.Goalie.Name, strings.Join(teams, ", "), g.Goalie.Availability, first, second)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	c.printf("\n")
	for _, n := range board.Recurring {
		c.printf("Recurs: %s\n", n.Sentence)
	}
	for _, n := range board.NotCharted {
		c.printf("Not charted: %s\n", n.Sentence)
	}
	c.printf("\n")
	return nil
}

func boardCell(g client.GroupGoalie, n int) string {
	if n >= len(g.WorkOns) {
		return ""
	}
	t := g.WorkOns[n].Target
	return fmt.Sprintf("%s: %d of %d", t.Name, t.Hits, t.Tries)
}
