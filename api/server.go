// Package api is the HTTP face of Cagework: it turns requests into calls of the domain's stores and their answers
// and errors into responses. No rule of the records lives here.
//
// The routes are those of the contract: server.ServerInterface is generated from openapi/openapi.yaml, and Server
// must have a method for each operation. The methods of a noun are in the file of its name.
package api

import (
	"context"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"sync"
	"time"

	"github.com/gin-gonic/gin"

	"cagework/domain"
	"cagework/openapi"
	"cagework/openapi/server"
)

// Stores is what the api needs of a store; package postgres has one of each.
type Stores struct {
	Programs     domain.Programs
	Members      domain.Records[domain.MemberFields, domain.None]
	Tokens       domain.Tokens
	Sessions     domain.Sessions
	SignInCodes  domain.SignInCodes
	Seasons      domain.Records[domain.SeasonFields, domain.None]
	Competitions domain.Records[domain.CompetitionFields, domain.None]
	Teams        domain.Records[domain.TeamFields, domain.None]
	Goalies      domain.Records[domain.GoalieFields, domain.None]
	RosterSpells domain.Records[domain.RosterSpellFields, domain.None]
	Games        domain.Records[domain.GameFields, domain.None]
	Stints       domain.Records[domain.StintFields, domain.StintFound]
	Shots        domain.Shots
	Clears       domain.Records[domain.ClearFields, domain.ClearFound]
	Views        domain.Records[domain.ViewFields, domain.ViewFound]
	Habits       domain.Records[domain.HabitFields, domain.None]
	Readings     domain.Records[domain.ReadingFields, domain.ReadingFound]
	Targets      domain.Records[domain.TargetFields, domain.None]
	Drills       domain.Records[domain.DrillFields, domain.None]
	Rules        domain.Records[domain.RuleFields, domain.RuleFound]
	Assignments  domain.Records[domain.AssignmentFields, domain.AssignmentFound]
	PracticeLogs domain.Records[domain.PracticeLogFields, domain.None]
	Fits         domain.Fits
	Erasures     domain.Erasures
	Exports      domain.Exports
	Changes      domain.Changes
	Accesses     domain.Accesses
	Me           domain.Me
	Lines        domain.Lines
	Weeks        domain.Weeks
}

// Config is what the api needs besides stores. Zero values take the defaults.
type Config struct {
	Log            *slog.Logger
	Metrics        *Metrics
	Ready          func(context.Context) domain.Readiness // what the service can do just now
	Accesses       domain.AccessLog                       // hears of who looked at what; nil for nobody
	Now            func() time.Time
	BodyLimit      int64         // bytes of a request body; the contract has less for most operations
	Bodies         BodyReading   // how bodies are read
	RequestTimeout time.Duration // from the body's last byte to the answer
	InFlight       int           // requests at once, beyond which a client is told to come back
	TrustedProxies []string      // addresses whose X-Forwarded-For and -Proto are believed
	SecureCookies  SecureCookies // when a session's cookie is for TLS alone
	PublicURL      *url.URL      // how browsers reach the service, for sign-in codes; nil: as each request came
}

// Defaults of a Config.
const (
	DefaultBodyLimit      = 1 << 20
	DefaultRequestTimeout = 10 * time.Second
	DefaultInFlight       = 256
)

// Server answers the operations of the contract.
type Server struct {
	stores Stores
	cfg    Config
	slots  *slots
	bodies *bodies

	origins    *http.CrossOriginProtection
	throttle   *throttle
	proxies    []netip.Prefix
	distrusted sync.Once // said that a proxy is not among the trusted ones

	operations map[string]openapi.Operation // by method and route
}

// The compiler holds the server to the contract: every operation has its method.
var _ server.ServerInterface = (*Server)(nil)

// New makes the handler that serves the whole contract.
func New(stores Stores, cfg Config) (http.Handler, error) {
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.BodyLimit == 0 {
		cfg.BodyLimit = DefaultBodyLimit
	}
	cfg.Bodies.defaults(cfg.BodyLimit)
	if cfg.RequestTimeout == 0 {
		cfg.RequestTimeout = DefaultRequestTimeout
	}
	if cfg.InFlight == 0 {
		cfg.InFlight = DefaultInFlight
	}
	if cfg.Ready == nil {
		cfg.Ready = func(context.Context) domain.Readiness { return domain.Readiness{Reads: true, Writes: true} }
	}
	contract, err := openapi.Operations()
	if err != nil {
		return nil, err
	}
	s := &Server{stores: stores, cfg: cfg, bodies: newBodies(cfg.Bodies), slots: newSlots(cfg.InFlight),
		operations: map[string]openapi.Operation{}, origins: http.NewCrossOriginProtection(), throttle: newThrottle()}
	if s.proxies, err = parseProxies(cfg.TrustedProxies); err != nil {
		return nil, err
	}
	for _, op := range contract {
		s.operations[op.Method+" "+op.GinPath] = op
	}
	engine, err := s.engine()
	if err != nil {
		return nil, err
	}
	return asGet(engine), nil
}

// engine holds the routes. Gin's defaults are wrong for us in several places, each set here.
func (s *Server) engine() (*gin.Engine, error) {
	gin.SetMode(gin.ReleaseMode)
	engine := gin.New()
	engine.ContextWithFallback = true // else a gone client cancels no query
	engine.HandleMethodNotAllowed = true
	engine.RedirectTrailingSlash = false
	engine.RemoteIPHeaders = []string{"X-Forwarded-For"}
	if err := engine.SetTrustedProxies(s.cfg.TrustedProxies); err != nil { // the default trusts everybody
		return nil, err
	}
	engine.Use(s.observe, s.recoverPanic, s.takeBody, s.limit, s.gate, s.inSlot)
	engine.NoRoute(func(c *gin.Context) { fail(c, domain.Errorf(domain.NotFound, "There is no such path.")) })
	engine.NoMethod(func(c *gin.Context) {
		fail(c, domain.Errorf(domain.MethodNotAllowed, "This path does not take %s.", c.Request.Method))
	})
	engine.GET(docsAssets+"*asset", s.docsAsset)
	server.RegisterHandlersWithOptions(engine, s, server.GinServerOptions{ErrorHandler: badParameter})
	return engine, nil
}
