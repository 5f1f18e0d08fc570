package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"path/filepath"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"cagework/domain"
	"cagework/migrations"
	"cagework/openapi/client"
	"cagework/postgres"
	"cagework/postgres/local"
)

type demoCmd struct {
	Once    bool   `name:"once" help:"Print the goalie's week and end, leaving nothing behind."`
	Address string `name:"address" env:"CAGEWORK_DEMO_ADDRESS" default:"127.0.0.1:0" help:"Where to serve; port 0 takes a free one."`
	Dir     string `name:"dir" help:"Where the demo's Postgres keeps its data; a place of its own by default."`
}

// Run shows the main job on invented data: everything goes in through the public API.
func (d demoCmd) Run(ctx context.Context, c *console) error {
	server, err := d.startPostgres(ctx, c)
	if err != nil {
		return err
	}
	err = d.show(ctx, c, server)
	stopCtx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 30*time.Second)
	defer cancel()
	return errors.Join(err, server.Stop(stopCtx))
}

func (d demoCmd) startPostgres(ctx context.Context, c *console) (*local.Server, error) {
	options := local.Options{Throwaway: d.Once, Dir: d.Dir, Programs: local.OfMachineOrCopied, Log: c.log}
	if !d.Once && d.Dir == "" {
		options.Dir = filepath.Join(local.DefaultDir(), "demo")
	}
	server, err := local.Start(ctx, options)
	if err != nil {
		return nil, fmt.Errorf("a private Postgres for the demo: %w", err)
	}
	c.notef("private Postgres %s in %s\n", server.Version, server.Dir)
	return server, nil
}

func (d demoCmd) show(ctx context.Context, c *console, server *local.Server) error {
	databaseURL, err := demoDatabase(ctx, server)
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(c.log, &slog.HandlerOptions{Level: slog.LevelWarn}))
	serve := serveCmd{
		databaseFlags: databaseFlags{DatabaseURL: databaseURL, MaxConnections: 8}, Address: d.Address,
		BodyLimit: 1 << 20, RequestTimeout: 10 * time.Second, InFlight: 64,
	}
	service, err := serve.start(ctx, log)
	if err != nil {
		return err
	}
	err = d.tour(ctx, c, service)
	return errors.Join(err, service.stop(0))
}

func (d demoCmd) tour(ctx context.Context, c *console, service *service) error {
	secret, err := demoProgram(ctx, service.db)
	if err != nil {
		return err
	}
	base := "http://" + service.address
	api, err := client.NewClientWithResponses(base, client.WithRequestEditorFn(withToken(secret)))
	if err != nil {
		return err
	}
	start := time.Now()
	world, err := loadDemo(ctx, api)
	if err != nil {
		return fmt.Errorf("load the demo: %w", err)
	}
	c.notef("%d shots in %d games through the public API in %.1f s\n\n", world.shots, world.games, time.Since(start).Seconds())
	if err := printWeek(ctx, c, api, world); err != nil {
		return err
	}
	if d.Once {
		return nil
	}
	week := fmt.Sprintf("%s/v1/goalies/%s/weeks/%s", base, world.goalie, world.week)
	c.printf("\nServing on %s until you press Ctrl-C.\n  token  %s\n  week   curl -H 'Authorization: Bearer %s' %s\n"+
		"  page   sign in with the token at %s/sign-in, then open %s\n  docs   %s/docs\n",
		base, secret, secret, week, base, week, base)
	select {
	case <-ctx.Done():
		return nil
	case err := <-service.failed:
		return err
	}
}

// demoDatabase migrates the private server's database and gives the URL of a login as a deployment would have: a
// member of the service's role and no superuser.
func demoDatabase(ctx context.Context, server *local.Server) (string, error) {
	admin := server.URL("postgres")
	if err := migrations.Up(ctx, admin); err != nil {
		return "", err
	}
	conn, err := pgx.Connect(ctx, admin)
	if err != nil {
		return "", err
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	password := strings.ToLower(rand.Text()) // letters and digits only, so that it can stand in the statement
	_, err = conn.Exec(ctx, `DROP ROLE IF EXISTS cagework_demo`)
	if err == nil {
		_, err = conn.Exec(ctx, `CREATE ROLE cagework_demo LOGIN PASSWORD '`+password+`' IN ROLE cagework_service`)
	}
	return fmt.Sprintf("postgres://cagework_demo:%s@127.0.0.1:%d/postgres?sslmode=disable", password, server.Port), err
}

var demoProgramID = domain.MustParseID("0195a000-0000-7000-8000-00000000de30")

// demoProgram makes the program when it is not there yet, and a token for its director.
func demoProgram(ctx context.Context, db *postgres.DB) (string, error) {
	stores := postgres.NewStores(db)
	fields := domain.ProgramFields{Name: "Harbor Hill Lacrosse", TimeZone: "America/New_York", Units: "yards"}
	_, director, err := stores.Programs.Create(ctx, demoProgramID, fields, "Avery Quill")
	if domain.CodeOf(err) == domain.Conflict {
		director, err = demoDirector(ctx, stores)
	}
	if err != nil {
		return "", err
	}
	return newToken(ctx, stores, demoProgramID, director.ID, "demo", 30)
}

func demoDirector(ctx context.Context, stores *postgres.Stores) (domain.Member, error) {
	operator := domain.Actor{ProgramID: demoProgramID, Role: domain.Director}
	page, err := stores.Members.List(ctx, operator, domain.Query{})
	if err != nil {
		return domain.Member{}, err
	}
	for _, m := range page.Items {
		if m.Fields.Role == domain.Director {
			return m, nil
		}
	}
	return domain.Member{}, errors.New("the demo's program has lost its director; remove the demo's data and start again")
}

func withToken(secret string) client.RequestEditorFn {
	return func(_ context.Context, req *http.Request) error {
		req.Header.Set("Authorization", "Bearer "+secret)
		return nil
	}
}
