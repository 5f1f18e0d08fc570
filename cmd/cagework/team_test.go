package main

import (
	"context"
	"sync"

	"cagework/cmd/cagework/invented"
	"cagework/domain"
	"cagework/openapi/client"
)

// aTeam is a team with one goalie and one game, in a competition of its own, made up once.
var aTeam = sync.OnceValue(func() *invented.Program {
	squad := invented.Squads()[0]
	squad.Goalies = squad.Goalies[:1]
	p := invented.NewModel(demoProgramID).Invent([]invented.Squad{squad}, 1, domain.Week{Year: 2026, Number: 15})
	p.Competitions[0].ID, p.Competitions[0].Fields.Name = demoID("competition"), "A competition of its own"
	p.Teams[0].Fields.CompetitionID = p.Competitions[0].ID
	p.Games, p.Stints = p.Games[:1], p.Stints[:2] // both halves
	p.Games[0].Fields.CompetitionID = p.Competitions[0].ID
	return p
})

func demoID(name string) domain.ID { return domain.NameID(demoProgramID, name) }

func theGoalie() string { return aTeam().Goalies[0].ID.String() }

// putTeam puts the team with its goalie, and its game when asked to.
func putTeam(ctx context.Context, api *client.ClientWithResponses, game bool) error {
	p := *aTeam()
	p.Shots, p.Readings, p.Clears, p.Assignments, p.Logs = nil, nil, nil, nil, nil
	if !game {
		p.Games, p.Stints = nil, nil
	}
	return loadDemo(ctx, api, &p, func(int, int) {})
}
