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

	"cagework/cmd/cagework/invented"
	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/migrations"
	"cagework/openapi/client"
	"cagework/postgres"
	"cagework/postgres/local"
)

type demoCmd struct {
	Once    bool   `name:"once" help:"Print the board and a goalie's week and end, leaving nothing behind."`
	Fresh   bool   `name:"fresh" help:"Throw the demo's data away and start over."`
	Week    string `name:"week" help:"The week with which new data end, such as 2026-W15; the last whole week by default."`
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
	databaseURL, err := demoDatabase(ctx, server, d.Fresh)
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
	transport := &http.Transport{MaxIdleConnsPerHost: loaders}
	defer transport.CloseIdleConnections()
	api, err := client.NewClientWithResponses(base, client.WithRequestEditorFn(withToken(secret)),
		client.WithHTTPClient(&http.Client{Transport: transport}))
	if err != nil {
		return err
	}
	p, err := d.load(ctx, c, api)
	if err != nil {
		return fmt.Errorf("load the demo: %w", err)
	}
	if err := printBoard(ctx, c, api, p.LastWeek); err != nil {
		return err
	}
	shown := p.Goalies[0].ID
	if err := printWeek(ctx, c, api, shown, p.LastWeek); err != nil {
		return err
	}
	if d.Once {
		return nil
	}
	week := fmt.Sprintf("%s/v1/goalies/%s/weeks/%s", base, shown, p.LastWeek)
	board := fmt.Sprintf("%s/v1/program/weeks/%s", base, p.LastWeek)
	c.printf("\nServing on %s until you press Ctrl-C.\n  token  %s\n  week   curl -H 'Authorization: Bearer %s' %s\n"+
		"  pages  sign in with the token at %s/sign-in: the board is %s\n  docs   %s/docs\n",
		base, secret, secret, week, base, board, base)
	select {
	case <-ctx.Done():
		return nil
	case err := <-service.failed:
		return err
	}
}

// load puts the invented records through the public API, unless they are there.
func (d demoCmd) load(ctx context.Context, c *console, api *client.ClientWithResponses) (*invented.Program, error) {
	last, err := d.lastWeek(time.Now())
	if err != nil {
		return nil, err
	}
	p, complete, err := inventDemo(ctx, api, last)
	if err != nil {
		return nil, err
	}
	if complete {
		c.notef("the data are those of before, up to week %s; --fresh starts over\n\n", p.LastWeek)
		return p, nil
	}
	start, bar := time.Now(), newProgressBar(c.log, "writing")
	err = loadDemo(ctx, api, p, bar.set)
	bar.clear()
	if err != nil {
		return nil, err
	}
	c.notef("%d shots with %d readings in %d games through the public API in %.1f s\n\n",
		len(p.Shots), len(p.Readings), len(p.Games), time.Since(start).Seconds())
	return p, nil
}

// demoDatabase makes the demo's database on the private server, anew when asked to, migrates it and gives the URL of a
// login as a deployment would have: a member of the service's role and no superuser.
func demoDatabase(ctx context.Context, server *local.Server, fresh bool) (string, error) {
	conn, err := pgx.Connect(ctx, server.URL("postgres"))
	if err != nil {
		return "", err
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	if fresh {
		if _, err := conn.Exec(ctx, `DROP DATABASE IF EXISTS cagework_demo WITH (FORCE)`); err != nil {
			return "", err
		}
	}
	var there bool
	err = conn.QueryRow(ctx, `SELECT EXISTS (SELECT FROM pg_database WHERE datname = 'cagework_demo')`).Scan(&there)
	if err == nil && !there {
		_, err = conn.Exec(ctx, `CREATE DATABASE cagework_demo`)
	}
	if err != nil {
		return "", err
	}
	if err := migrations.Up(ctx, server.URL("cagework_demo")); err != nil {
		return "", err
	}
	password := strings.ToLower(rand.Text()) // letters and digits only, so that it can stand in the statement
	_, err = conn.Exec(ctx, `DROP ROLE IF EXISTS cagework_demo`)
	if err == nil {
		_, err = conn.Exec(ctx, `CREATE ROLE cagework_demo LOGIN PASSWORD '`+password+`' IN ROLE cagework_service`)
	}
	if err == nil {
		// Thousands of small writes need not each wait for the disk: commits keep their order, and the demo's last record
		// tells whether all are there.
		_, err = conn.Exec(ctx, `ALTER ROLE cagework_demo SET synchronous_commit = off`)
	}
	return fmt.Sprintf("postgres://cagework_demo:%s@127.0.0.1:%d/cagework_demo?sslmode=disable", password, server.Port), err
}

var demoProgramID = domain.MustParseID("0195a000-0000-7000-8000-00000000de30")

// demoProgram makes the program when it is not there yet, and a token for its director.
func demoProgram(ctx context.Context, db *postgres.DB) (string, error) {
	stores := postgres.NewStores(db, judgement.Judge{})
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
