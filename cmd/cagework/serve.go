package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"cagework/api"
	"cagework/domain/judgement"
	"cagework/migrations"
	"cagework/postgres"
)

type serveCmd struct {
	databaseFlags  `embed:""`
	erasuresFlag   `embed:""`
	accessFlags    `embed:""`
	Address        string        `name:"address" env:"CAGEWORK_ADDRESS" default:"127.0.0.1:8080" help:"Where to listen."`
	MetricsAddress string        `name:"metrics-address" env:"CAGEWORK_METRICS_ADDRESS" default:"127.0.0.1:9090" help:"Where to serve /metrics; empty for nowhere."`
	BodyLimit      int64         `name:"body-limit" env:"CAGEWORK_BODY_LIMIT" default:"1048576" help:"Most bytes of a request body."`
	RequestTimeout time.Duration `name:"request-timeout" env:"CAGEWORK_REQUEST_TIMEOUT" default:"10s" help:"Longest time for a request."`
	InFlight       int           `name:"in-flight" env:"CAGEWORK_IN_FLIGHT" default:"256" help:"Most requests at once."`
	DrainDelay     time.Duration `name:"drain-delay" env:"CAGEWORK_DRAIN_DELAY" default:"0s" help:"How long to say not ready before stopping, for a load balancer to notice."`
	TrustedProxies []string      `name:"trusted-proxies" env:"CAGEWORK_TRUSTED_PROXIES" help:"Addresses whose X-Forwarded-For is believed; nobody's by default."`
	LogLevel       slog.Level    `name:"log-level" env:"CAGEWORK_LOG_LEVEL" default:"info" help:"debug, info, warn or error."`
}

// Validate refuses settings that cannot work, before anything starts.
func (s serveCmd) Validate() error {
	for _, proxy := range s.TrustedProxies {
		_, errAddress := netip.ParseAddr(proxy)
		_, errNetwork := netip.ParsePrefix(proxy)
		if errAddress != nil && errNetwork != nil {
			return errors.New("--trusted-proxies must be addresses or networks, such as 10.0.0.0/8")
		}
	}
	switch {
	case s.BodyLimit < 1024:
		return errors.New("--body-limit must be at least 1024")
	case s.RequestTimeout < time.Second || s.RequestTimeout > 5*time.Minute:
		return errors.New("--request-timeout must be from 1s to 5m")
	case s.InFlight < 1:
		return errors.New("--in-flight must be at least 1")
	case s.DrainDelay < 0 || s.DrainDelay > 5*time.Minute:
		return errors.New("--drain-delay must be from 0s to 5m")
	}
	return errors.Join(s.databaseFlags.Validate(), s.accessFlags.Validate())
}

// Run serves until the context ends.
func (s serveCmd) Run(ctx context.Context, c *console) error {
	log := slog.New(slog.NewJSONHandler(c.log, &slog.HandlerOptions{Level: s.LogLevel}))
	log.Info("settings", "version", versionText(), "database_url", redacted(s.DatabaseURL), "address", s.Address,
		"metrics_address", s.MetricsAddress, "max_connections", s.MaxConnections, "body_limit", s.BodyLimit,
		"request_timeout", s.RequestTimeout.String(), "in_flight", s.InFlight, "drain_delay", s.DrainDelay.String(),
		"trusted_proxies", s.TrustedProxies, "log_level", s.LogLevel.String(),
		"journal_dir", s.JournalDir, "journal_bytes", s.JournalBytes, "access_days", s.AccessDays)
	if s.JournalDir == "" {
		log.Warn("who looked waits in memory only: while the database takes no writes a restart loses it; set --journal-dir")
	}
	service, err := s.start(ctx, log)
	if err != nil {
		return err
	}
	select {
	case <-ctx.Done():
		return service.stop(s.DrainDelay)
	case err := <-service.failed:
		return errors.Join(err, service.stop(0))
	}
}

// service is a running server and what it stands on.
type service struct {
	log      *slog.Logger
	db       *postgres.DB
	accesses *accessJournal
	servers  []*http.Server
	address  string // where the API listens
	metrics  string // where /metrics is, "" for nowhere
	draining atomic.Bool
	failed   chan error
	cancel   context.CancelFunc
}

// start opens the listeners before it serves, so that a taken port is an error here and port 0 works.
func (s serveCmd) start(ctx context.Context, log *slog.Logger) (*service, error) {
	needed, err := migrations.Latest()
	if err != nil {
		return nil, err
	}
	db, err := postgres.Open(ctx, s.config())
	if err != nil {
		return nil, err
	}
	// Requests outlive the signal by the time of a graceful stop, then their queries are cancelled.
	base, cancel := context.WithCancel(context.WithoutCancel(ctx))
	v := &service{log: log, db: db, failed: make(chan error, 2), cancel: cancel}
	if v.accesses, err = s.startJournal(ctx, s.databaseFlags, log); err != nil {
		return nil, errors.Join(err, v.stop(0))
	}
	registry := prometheus.NewRegistry()
	registry.MustRegister(collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}), newPoolCollector(db), v.accesses)
	stores := postgres.NewStores(db, judgement.Judge{})
	if err := s.keep(stores); err != nil {
		return nil, errors.Join(err, v.stop(0))
	}
	if s.ErasuresFile == "" {
		log.Warn("erasures", "reason", "they are not kept apart from the database (CAGEWORK_ERASURES_FILE): a backup that is restored brings erased persons back")
	}
	handler, err := api.New(apiStores(stores), api.Config{
		Log: log, Metrics: api.NewMetrics(registry), Ready: v.ready(needed), BodyLimit: s.BodyLimit,
		Accesses: v.accesses, RequestTimeout: s.RequestTimeout, InFlight: s.InFlight, TrustedProxies: s.TrustedProxies,
	})
	if err != nil {
		return nil, errors.Join(err, v.stop(0))
	}
	if v.address, err = v.listen(ctx, base, s.Address, handler, s.RequestTimeout); err != nil {
		return nil, errors.Join(err, v.stop(0))
	}
	if s.MetricsAddress != "" {
		metrics := promhttp.HandlerFor(registry, promhttp.HandlerOpts{})
		mux := http.NewServeMux()
		mux.Handle("/metrics", metrics)
		if v.metrics, err = v.listen(ctx, base, s.MetricsAddress, mux, s.RequestTimeout); err != nil {
			return nil, errors.Join(err, v.stop(0))
		}
	}
	v.sayReadiness(ctx, needed)
	return v, nil
}

func (v *service) ready(needed uint) func(context.Context) string {
	return func(ctx context.Context) string {
		if v.draining.Load() {
			return "the service is stopping"
		}
		return v.db.Ready(ctx, needed).Problem
	}
}

// sayReadiness logs what somebody who starts the service should know at once.
func (v *service) sayReadiness(ctx context.Context, needed uint) {
	r := v.db.Ready(ctx, needed)
	if r.Problem != "" {
		v.log.Error("not ready", "reason", r.Problem)
	}
	if r.Warning != "" {
		v.log.Warn("row security", "reason", r.Warning)
	}
	v.log.Info("listening", "address", v.address, "metrics_address", v.metrics)
}

func (v *service) listen(ctx, base context.Context, address string, h http.Handler, timeout time.Duration) (string, error) {
	var lc net.ListenConfig
	listener, err := lc.Listen(ctx, "tcp", address)
	if err != nil {
		return "", fmt.Errorf("listen: %w", err)
	}
	server := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      timeout + 30*time.Second, // never before the request's own deadline
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          slog.NewLogLogger(v.log.Handler(), slog.LevelWarn),
		BaseContext:       func(net.Listener) context.Context { return base },
	}
	v.servers = append(v.servers, server)
	go func() {
		if err := server.Serve(api.Listener(listener)); !errors.Is(err, http.ErrServerClosed) {
			v.failed <- err
		}
	}()
	return listener.Addr().String(), nil
}

// stop ends gracefully: not ready, a pause for a load balancer, no new requests, 20 seconds for those that run,
// then their queries are cancelled and the pool closes.
func (v *service) stop(drain time.Duration) error {
	v.draining.Store(true)
	if drain > 0 {
		time.Sleep(drain)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	var errs []error
	for _, server := range v.servers {
		if err := server.Shutdown(ctx); err != nil {
			errs = append(errs, err, server.Close())
		}
	}
	v.cancel()
	if v.accesses != nil {
		v.accesses.stop()
	}
	v.db.Close()
	v.log.Info("stopped")
	return errors.Join(errs...)
}
