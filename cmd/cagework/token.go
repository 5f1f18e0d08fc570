package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/postgres"
)

type tokenCmd struct {
	Create tokenCreate `cmd:"" help:"Make a token for a member, for instance after a director lost theirs."`
}

type tokenCreate struct {
	databaseFlags `embed:""`
	Program       string `name:"program" required:"" help:"The program's id."`
	Member        string `name:"member" required:"" help:"The member's id."`
	Label         string `name:"label" default:"made on the command line" help:"What the token is for."`
	Days          int    `name:"days" default:"365" help:"How many days it is good for."`
}

// Run makes the token and prints its secret, which is shown only here.
func (t tokenCreate) Run(ctx context.Context, c *console) error {
	program, err := domain.ParseID(t.Program)
	if err != nil {
		return errors.New("--program is " + err.Error())
	}
	member, err := domain.ParseID(t.Member)
	if err != nil {
		return errors.New("--member is " + err.Error())
	}
	db, err := postgres.Open(ctx, t.config())
	if err != nil {
		return err
	}
	defer db.Close()
	secret, err := newToken(ctx, postgres.NewStores(db, judgement.Judge{}), program, member, t.Label, t.Days)
	if secret != "" {
		c.printf("%s\n", secret)
	}
	return err
}

// newToken makes a token as whoever runs the service: with a director's rights and under nobody's name. The secret is given
// beside the error when the token was made and only that could not be noted.
func newToken(ctx context.Context, s *postgres.Stores, program, member domain.ID, label string, days int) (string, error) {
	now := time.Now()
	operator := domain.Actor{ProgramID: program, Role: domain.Director}
	token, _, err := s.Tokens.Put(ctx, operator, domain.NewID(now), domain.TokenFields{
		MemberID: member, Label: label, ExpiresAt: now.AddDate(0, 0, days),
	})
	if err != nil {
		return "", err
	}
	made := domain.NewAccess(operator, now, domain.AccessCreate, domain.NounToken).On(domain.NounToken, token.ID)
	if err := s.Accesses.Write(ctx, program, []domain.Access{made}); err != nil {
		return *token.Found.Secret, fmt.Errorf("the token was made, but not noted among who looked: %w", err)
	}
	return *token.Found.Secret, nil
}
