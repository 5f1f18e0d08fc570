package main

import (
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cagework/postgres/pgtest"
)

// running is a service that serves: in this process, or in one of its own.
type running struct {
	address, metrics string
	log              *text
	stop             context.CancelFunc // asks the one in this process to stop
	done             chan error         // how that one ended
}

// serve runs the service in this process until the test ends.
func serve(t *testing.T, databaseURL string, more ...string) *running {
	t.Helper()
	ctx, cancel := context.WithCancel(context.WithoutCancel(t.Context()))
	r := &running{log: &text{}, stop: cancel, done: make(chan error, 1)}
	go func() { r.done <- run(ctx, serveArgs(databaseURL, more...), &text{}, r.log) }()
	t.Cleanup(cancel)
	r.awaitListening(t)
	return r
}

func serveArgs(databaseURL string, more ...string) []string {
	return append([]string{"serve", "--database-url=" + databaseURL, "--address=127.0.0.1:0", "--metrics-address=127.0.0.1:0"},
		more...)
}

func (r *running) awaitListening(t *testing.T) {
	t.Helper()
	where := r.log.await(t, `"msg":"listening","address":"([^"]+)","metrics_address":"([^"]*)"`)
	r.address, r.metrics = where[0], where[1]
}

// end waits for the service in this process to end.
func (r *running) end(t *testing.T) error {
	t.Helper()
	select {
	case err := <-r.done:
		return err
	case <-time.After(patience):
		require.FailNow(t, "the service does not stop", "%s", r.log)
		return nil
	}
}

func TestHealthAndReadiness(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		database *pgtest.Database
		sql      string
		reason   string // "" when it is ready
	}{
		"good":           {pgtest.New(t), "", ""},
		"un-migrated":    {pgtest.Empty(t), "", "was never migrated"},
		"older schema":   {pgtest.New(t), "UPDATE schema_migrations SET version = 3", "at schema version 3, this program needs"},
		"newer, for us":  {pgtest.New(t), "UPDATE schema_migrations SET version = 999", ""},
		"newer schema":   {pgtest.New(t), "UPDATE schema_migrations SET version = 999; COMMENT ON TABLE schema_migrations IS NULL", "at schema version 999, this program needs"},
		"half-way":       {pgtest.New(t), "UPDATE schema_migrations SET dirty = true", "failed half-way"},
		"taken back":     {pgtest.New(t), "DELETE FROM schema_migrations", "was never migrated"},
		"no such server": {&pgtest.Database{URL: "postgres://somebody@127.0.0.1:1/nowhere"}, "", "does not answer"},
	} {
		if c.sql != "" {
			execute(t, c.database.AdminURL, c.sql)
		}
		service := serve(t, c.database.URL)
		require.JSONEq(t, `{"status":"ok"}`, get(t, "http://"+service.address+"/healthz", "", "*/*").want(http.StatusOK), name)
		ready := get(t, "http://"+service.address+"/readyz", "", "*/*")
		if c.reason == "" {
			require.JSONEq(t, `{"status":"ready","reads":true,"writes":true,"reason":null,"reasons":[]}`, ready.want(http.StatusOK))
			require.NotContains(t, service.log.String(), `"level":"ERROR"`)
			require.NotContains(t, service.log.String(), "row security")
			continue
		}
		require.Contains(t, ready.want(http.StatusServiceUnavailable), c.reason, name)
		require.Regexp(t, `"status":"(not_ready","reads":false|reads_only","reads":true),"writes":false`, ready.body, name)
		require.Regexp(t, `"level":"ERROR","msg":"not ready","reads":(true|false),"writes":false,"reason":"[^"]*`+c.reason, service.log.String())
	}
}

func TestALoginThatBypassesRowSecurityIsSaid(t *testing.T) {
	t.Parallel()
	service := serve(t, pgtest.New(t).AdminURL)
	require.Regexp(t, `"level":"WARN","msg":"row security","reason":"the database login is a superuser`, service.log.String())
	get(t, "http://"+service.address+"/readyz", "", "*/*").want(http.StatusOK)
}

// worked gives a service whose director has put a team and a goalie.
func worked(t *testing.T) (service *running, token string) {
	t.Helper()
	d := pgtest.New(t)
	_, _, token = newProgram(t, d.URL)
	service = serve(t, d.URL)
	require.NoError(t, putTeam(t.Context(), apiAt(t, service.address, token), false))
	return service, token
}

func TestMetricsHaveAListenerOfTheirOwn(t *testing.T) {
	t.Parallel()
	service, token := worked(t)
	goalie := theGoalie()
	get(t, "http://"+service.address+"/v1/goalies/"+goalie, token, "application/json").want(http.StatusOK)

	refused := get(t, "http://"+service.address+"/metrics", token, "*/*")
	require.Contains(t, refused.want(http.StatusNotFound), "/problems/not-found")
	require.Equal(t, "application/problem+json", refused.header.Get("Content-Type"))
	get(t, "http://"+service.metrics+"/v1/goalies/"+goalie, token, "*/*").want(http.StatusNotFound)

	metrics := get(t, "http://"+service.metrics+"/metrics", "", "*/*").want(http.StatusOK)
	for _, line := range []string{
		`cagework_http_requests_total{method="GET",route="/v1/goalies/:id",status="200"} 1`,
		`cagework_http_requests_total{method="PUT",route="/v1/goalies/:id",status="201"} 1`,
		`cagework_http_requests_total{method="GET",route="none",status="404"} 1`,
		`cagework_http_request_duration_seconds_count{method="GET",route="/v1/goalies/:id"} 1`,
		"cagework_http_requests_in_flight 0", `cagework_http_requests_shed_total{reason="in_flight"} 0`,
		"cagework_accesses_queued_total 2", "cagework_accesses_lost_total 0", "cagework_accesses_written_total ", "cagework_accesses_waiting_bytes ",
		"cagework_db_connections_max 16", "cagework_db_connections_acquired 0", "cagework_db_connections_idle ",
		"cagework_db_acquire_waits_total ", "cagework_db_acquire_wait_seconds_total ", "go_goroutines ",
	} {
		require.Contains(t, metrics, "\n"+line)
	}
	require.NotContains(t, metrics, goalie)
	require.NotContains(t, metrics, token)

	quiet := serve(t, "postgres://somebody@127.0.0.1:1/nowhere", "--metrics-address=")
	require.Empty(t, quiet.metrics)
}

func TestTheRequestLogSaysNothingOfAPerson(t *testing.T) {
	t.Parallel()
	service, token := worked(t)
	goalie := theGoalie()
	got := get(t, "http://"+service.address+"/v1/goalies/"+goalie, token, "application/json")
	got.want(http.StatusOK)
	get(t, "http://"+service.address+"/v1/goalies/"+goalie+"?name=Rowan+Tully", token, "*/*").want(http.StatusBadRequest)
	signIn(t, "http://"+service.address, token)

	var line struct {
		Level, Msg, Method, Route, Role string
		RequestID                       string `json:"request_id"`
		RecordID                        string `json:"record_id"`
		Status, Bytes                   int
		Took                            int64
	}
	entries := strings.Split(strings.TrimSpace(service.log.String()), "\n")
	for _, entry := range entries {
		require.True(t, json.Valid([]byte(entry)), entry)
		if strings.Contains(entry, got.header.Get("Request-Id")) {
			require.NoError(t, json.Unmarshal([]byte(entry), &line))
		}
	}
	require.Equal(t, "request GET /v1/goalies/:id", line.Msg+" "+line.Method+" "+line.Route)
	require.Equal(t, "INFO director", line.Level+" "+line.Role)
	require.Equal(t, http.StatusOK, line.Status)
	require.Equal(t, len(got.body), line.Bytes)
	require.Positive(t, line.Took)
	require.NotEmpty(t, line.RequestID)
	require.Equal(t, goalie, line.RecordID, "the record's id, and nothing else of it")
	require.Greater(t, len(entries), 8)
	for _, private := range []string{token, "Tully", "Rowan", "stick_hand", "Harbor", "?name", "Bearer"} {
		require.NotContains(t, service.log.String(), private)
	}
}

func TestATakenPortIsAnErrorAtOnce(t *testing.T) {
	t.Parallel()
	d, taken := pgtest.New(t), listen(t)
	for _, flag := range []string{"--address=", "--metrics-address="} {
		begun := time.Now()
		_, log, err := cagework(t, serveArgs(d.URL, flag+taken)...)
		require.ErrorContains(t, err, "listen: ")
		require.ErrorContains(t, err, taken)
		require.NotContains(t, log, `"msg":"listening"`)
		require.Less(t, time.Since(begun), 15*time.Second)
	}
}
