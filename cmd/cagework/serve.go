package main

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"cagework/api"
	"cagework/domain"
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
	TrustedProxies []string      `name:"trusted-proxies" env:"CAGEWORK_TRUSTED_PROXIES" help:"Addresses or networks whose X-Forwarded-For and X-Forwarded-Proto are believed; nobody's by default."`
	SecureCookies  string        `name:"secure-cookies" env:"CAGEWORK_SECURE_COOKIES" default:"auto" enum:"auto,always,never" help:"Whether browsers may send the session's cookie over TLS alone: auto (as this process, a trusted proxy or --public-url says TLS; without any of them for all but this machine), always, or never (plain HTTP on a network that you trust)."`
	PublicURL      string        `name:"public-url" env:"CAGEWORK_PUBLIC_URL" help:"How browsers reach the service, such as https://goalies.example.org: it stands in sign-in codes' addresses. By default as each request came."`
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
	if _, err := publicURL(s.PublicURL); err != nil {
		return err
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

// publicURL reads the address that browsers use; nil for none.
func publicURL(text string) (*url.URL, error) {
	if text == "" {
		return nil, nil //nolint:nilnil // none is given
	}
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Host == "" || u.User != nil || strings.Trim(u.Path, "/") != "" || u.RawQuery != "" {
		return nil, errors.New("--public-url must be a scheme and a host, such as https://goalies.example.org")
	}
	return u, nil
}

// Run serves until the context ends.
func (s serveCmd) Run(ctx context.Context, c *console) error {
	log := slog.New(slog.NewJSONHandler(c.log, &slog.HandlerOptions{Level: s.LogLevel}))
	log.Info("settings", "version", versionText(), "database_url", redacted(s.DatabaseURL), "address", s.Address,
		"metrics_address", s.MetricsAddress, "max_connections", s.MaxConnections, "body_limit", s.BodyLimit,
		"request_timeout", s.RequestTimeout.String(), "in_flight", s.InFlight, "drain_delay", s.DrainDelay.String(),
		"trusted_proxies", s.TrustedProxies, "secure_cookies", s.SecureCookies, "public_url", s.PublicURL, "log_level", s.LogLevel.String(),
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
	watching sync.WaitGroup // until cancel
}

// start opens the listeners before it serves, so that a taken port is an error here and port 0 works.
func (s serveCmd) start(ctx context.Context, log *slog.Logger) (*service, error) {
	needs, err := schemaNeeds()
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
	public, err := publicURL(s.PublicURL)
	if err != nil {
		return nil, errors.Join(err, v.stop(0))
	}
	handler, err := api.New(apiStores(stores), api.Config{
		Log: log, Metrics: api.NewMetrics(registry), Ready: v.ready(needs), BodyLimit: s.BodyLimit,
		Accesses: v.accesses, RequestTimeout: s.RequestTimeout, InFlight: s.InFlight, TrustedProxies: s.TrustedProxies,
		SecureCookies: api.SecureCookies(s.SecureCookies), PublicURL: public,
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
	v.sayReadiness(ctx, needs)
	v.watching.Go(func() { db.Watch(base, needs, 2*time.Second) })
	return v, nil
}

// schemaNeeds gives what this program needs of a database's schema.
func schemaNeeds() (postgres.Needs, error) {
	latest, errLatest := migrations.Latest()
	rights, errRights := migrations.Rights()
	return postgres.Needs{Lowest: migrations.Lowest, Latest: latest, Rights: rights}, errors.Join(errLatest, errRights)
}

func (v *service) ready(needs postgres.Needs) func(context.Context) domain.Readiness {
	return func(ctx context.Context) domain.Readiness {
		if v.draining.Load() {
			return domain.Readiness{Reasons: []string{"the service is stopping"}}
		}
		return v.db.Ready(ctx, needs)
	}
}

// sayReadiness logs what somebody who starts the service should know at once.
func (v *service) sayReadiness(ctx context.Context, needs postgres.Needs) {
	r := v.db.Ready(ctx, needs)
	if !r.Ready() {
		v.log.Error("not ready", "reads", r.Reads, "writes", r.Writes, "reason", r.Reason())
	}
	for _, warning := range r.Warnings {
		v.log.Warn("row security", "reason", warning)
	}
	v.log.Info("listening", "address", v.address, "metrics_address", v.metrics)
}

func (v *service) listen(ctx, base context.Context, address string, h http.Handler, timeout time.Duration) (string, error) {
	listener, err := listenTo(ctx, address)
	if err != nil {
		return "", err
	}
	server := &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      timeout + 30*time.Second, // never before the request's own deadline
		IdleTimeout:       time.Minute,
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
	v.watching.Wait()
	if v.accesses != nil {
		v.accesses.stop()
	}
	v.db.Close()
	v.log.Info("stopped")
	return errors.Join(errs...)
}
