package api_test

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/pb33f/libopenapi"
	validator "github.com/pb33f/libopenapi-validator"
	"github.com/pb33f/libopenapi-validator/config"
	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
	"cagework/domain/judgement"
	"cagework/openapi"
	"cagework/postgres"
	"cagework/postgres/pgtest"
)

// service is the whole service over a database of its own, as a client sees it. Every answer is held against the
// contract, and every request that is accepted too.
type service struct {
	t        testing.TB
	url      string
	handler  http.Handler
	adminURL string
	db       *postgres.DB
	stores   *postgres.Stores
	program  domain.ID
	director string // the token of the first director
}

func newService(t testing.TB) *service {
	t.Helper()
	return newServiceWith(t, api.Config{})
}

// newTraced is a service whose queries are seen.
func newTraced(t testing.TB, tracer pgx.QueryTracer) *service {
	t.Helper()
	return newServiceOver(t, api.Config{}, tracer)
}

func newServiceWith(t testing.TB, cfg api.Config) *service {
	t.Helper()
	return newServiceOver(t, cfg, nil)
}

func newServiceOver(t testing.TB, cfg api.Config, tracer pgx.QueryTracer) *service {
	t.Helper()
	database := pgtest.New(t)
	db, err := postgres.Open(t.Context(), postgres.Config{URL: database.URL, MaxConns: 16, Tracer: tracer})
	require.NoError(t, err)
	t.Cleanup(db.Close)
	s := &service{t: t, adminURL: database.AdminURL, db: db, stores: postgres.NewStores(db, judgement.Judge{})}
	p := s.stores
	handler, err := api.New(api.Stores{
		Programs: p.Programs, Members: p.Members, Tokens: p.Tokens, Sessions: p.Sessions,
		SignInCodes: p.SignInCodes, Seasons: p.Seasons, Competitions: p.Competitions,
		Teams: p.Teams, Goalies: p.Goalies, RosterSpells: p.RosterSpells, Games: p.Games, Stints: p.Stints,
		Shots: p.Shots, Readings: p.Readings, Clears: p.Clears, Habits: p.Habits, Assignments: p.Assignments,
		PracticeLogs: p.PracticeLogs, Changes: p.Changes, Accesses: p.Accesses, Targets: p.Targets, Drills: p.Drills, Rules: p.Rules, Me: p.Me,
		Lines: p.Lines, Weeks: p.Weeks, Views: p.Views, Fits: p.Fits,
		Erasures: p.Erasures, Exports: p.Exports,
	}, cfg)
	require.NoError(t, err)
	s.handler = handler
	server := httptest.NewServer(handler)
	t.Cleanup(server.Close)
	s.url = server.URL
	s.program, s.director = s.newProgram("Harbor Hill Lacrosse")
	return s
}

// newProgram makes a program and gives its id and its first director's token.
func (s *service) newProgram(name string) (domain.ID, string) {
	s.t.Helper()
	program, director, err := s.stores.Programs.Create(s.t.Context(), domain.NewID(time.Now()),
		domain.ProgramFields{Name: name, TimeZone: "America/New_York", Units: "yards"}, "Avery Quill")
	require.NoError(s.t, err)
	return program.ID, s.newToken(program.ID, director.ID)
}

func (s *service) newToken(program, member domain.ID) string {
	s.t.Helper()
	token, _, err := s.stores.Tokens.Put(s.t.Context(), domain.Actor{ProgramID: program, Role: domain.Director},
		domain.NewID(time.Now()), domain.TokenFields{MemberID: member, Label: "test", ExpiresAt: time.Now().Add(time.Hour)})
	require.NoError(s.t, err)
	return *token.Found.Secret
}

// newMember makes a member of the service's program and gives their token.
func (s *service) newMember(role domain.Role, teams ...domain.ID) string {
	s.t.Helper()
	member, _, err := s.stores.Members.Put(s.t.Context(), domain.Actor{ProgramID: s.program, Role: domain.Director},
		domain.NewID(time.Now()), domain.MemberFields{
			Name: "A " + string(role), Role: role, TeamIDs: append([]domain.ID{}, teams...), GoalieIDs: []domain.ID{},
		})
	require.NoError(s.t, err)
	return s.newToken(s.program, member.ID)
}

// call is one request; zero values take what a well-behaved client sends.
type call struct {
	method, path string
	token        string // "-" for none; the director's when empty
	body         any    // marshalled, unless it is a string or bytes
	ifMatch      string
	header       http.Header
}

// answer is a response that was read to its end.
type answer struct {
	t      testing.TB
	status int
	header http.Header
	body   []byte
}

func (s *service) do(c call) answer {
	s.t.Helper()
	req := s.request(c)
	sent := bodyOf(s.t, c.body)
	client := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(req)
	require.NoError(s.t, err)
	defer func() { _ = res.Body.Close() }()
	body, err := io.ReadAll(res.Body)
	require.NoError(s.t, err)
	a := answer{s.t, res.StatusCode, res.Header, body}
	holdToContract(s.t, c, req, sent, res, body)
	return a
}

func (s *service) request(c call) *http.Request {
	s.t.Helper()
	req, err := http.NewRequestWithContext(s.t.Context(), c.method, s.url+c.path, bytes.NewReader(bodyOf(s.t, c.body)))
	require.NoError(s.t, err)
	switch c.token {
	case "-":
	case "":
		req.Header.Set("Authorization", "Bearer "+s.director)
	default:
		req.Header.Set("Authorization", "Bearer "+c.token)
	}
	if c.body != nil {
		req.Header.Set("Content-Type", "application/json")
		if c.method == http.MethodPatch {
			req.Header.Set("Content-Type", "application/merge-patch+json")
		}
	}
	if c.ifMatch != "" {
		req.Header.Set("If-Match", c.ifMatch)
	}
	for name, values := range c.header {
		req.Header[name] = values
	}
	return req
}

func bodyOf(t testing.TB, body any) []byte {
	t.Helper()
	switch b := body.(type) {
	case nil:
		return nil
	case string:
		return []byte(b)
	case []byte:
		return b
	}
	out, err := json.Marshal(body)
	require.NoError(t, err)
	return out
}

// document is the contract as the validator reads it, once a process.
var document = sync.OnceValues(func() (validator.Validator, error) {
	doc, err := libopenapi.NewDocument(openapi.YAML)
	if err != nil {
		return nil, err
	}
	v, errs := validator.NewValidator(doc, config.WithFormatAssertions())
	return v, joined(errs)
})

func joined(errs []error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// seen collects which operation answered with which status; a test at the end asks for every documented pair.
var seen sync.Map

// holdToContract validates the answer, and the request where it was accepted, against the contract.
func holdToContract(t testing.TB, c call, req *http.Request, sent []byte, res *http.Response, body []byte) {
	t.Helper()
	op, known := operationOf(c.method, req.URL.Path)
	if !known {
		require.Contains(t, []int{404, 405}, res.StatusCode, "%s %s is not in the contract", c.method, c.path)
		requireProblem(t, res, body)
		return
	}
	seen.Store(op.ID+" "+http.StatusText(res.StatusCode), true)
	v, err := document()
	require.NoError(t, err)
	copied := res
	copied.Body = io.NopCloser(bytes.NewReader(body))
	req.Body = io.NopCloser(bytes.NewReader(sent))
	if res.StatusCode < 300 && res.StatusCode != http.StatusMultiStatus { // the items of a batch are judged one by one
		ok, faults := v.ValidateHttpRequestSync(req)
		require.True(t, ok, "%s %s: the request is not of the contract: %v", c.method, c.path, faultText(faults))
		req.Body = io.NopCloser(bytes.NewReader(sent))
	}
	declared := slices.Contains(op.Statuses, strconvItoa(res.StatusCode))
	require.True(t, declared || res.StatusCode >= 400, "%s answers %d, which the contract does not have", op.ID, res.StatusCode)
	if strings.HasPrefix(res.Header.Get("Content-Type"), "application/json") || res.StatusCode >= 400 {
		ok, faults := v.ValidateHttpResponse(req, copied)
		require.True(t, ok, "%s %d: the answer is not of the contract: %v\n%s", op.ID, res.StatusCode, faultText(faults), body)
	}
	if res.StatusCode >= 400 && !strings.HasPrefix(res.Header.Get("Content-Type"), "text/html") && op.ID != "getReadiness" {
		requireProblem(t, res, body)
	}
}

func requireProblem(t testing.TB, res *http.Response, body []byte) {
	t.Helper()
	require.Equal(t, "application/problem+json", res.Header.Get("Content-Type"), "%s", body)
	var p api.Problem
	require.NoError(t, json.Unmarshal(body, &p))
	require.Equal(t, res.StatusCode, p.Status)
	require.Equal(t, res.Header.Get("Request-Id"), p.RequestID)
	require.NotEmpty(t, p.Detail)
	require.NotContains(t, strings.ToLower(string(body)), "sqlstate", "no driver's text may leave")
}

// operationOf finds the operation of a request by the contract's path templates.
func operationOf(method, path string) (openapi.Operation, bool) {
	ops, err := openapi.Operations()
	if err != nil {
		return openapi.Operation{}, false
	}
	segments := strings.Split(path, "/")
	for _, op := range ops {
		fits := func(template, segment string) bool { return template == segment || strings.HasPrefix(template, "{") }
		if op.Method == method && slices.EqualFunc(strings.Split(op.Path, "/"), segments, fits) {
			return op, true
		}
	}
	return openapi.Operation{}, false
}

// into decodes the body.
func (a answer) into(v any) {
	a.t.Helper()
	require.NoError(a.t, json.Unmarshal(a.body, v), "%s", a.body)
}

// object decodes the body as an object.
func (a answer) object() map[string]any {
	a.t.Helper()
	var m map[string]any
	a.into(&m)
	return m
}

// want asserts the status.
func (a answer) want(status int) answer {
	a.t.Helper()
	require.Equal(a.t, status, a.status, "%s", a.body)
	return a
}

// wantProblem asserts the status, the problem's code and the field that it names ("" for none).
func (a answer) wantProblem(code domain.Code, pointer string) {
	a.t.Helper()
	var p api.Problem
	a.into(&p)
	require.Equal(a.t, api.ProblemType(code), p.Type, "%s", a.body)
	if pointer == "" {
		return
	}
	require.True(a.t, slices.ContainsFunc(p.Errors, func(f domain.FieldError) bool { return f.Pointer == pointer }),
		"the problem names %v, not %s", p.Errors, pointer)
}
