package api_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/stretchr/testify/require"

	"cagework/domain"
)

// The benchmarks run the service and a plain handler side by side: the same router, driver, database and table, but
// no token, no row security, no checks, no history and no contract. The metric "of_plain" is the plain handler's time
// over the service's: 1 would be as fast as doing nothing but the query.

// sideBySide measures two requests in turn and reports the ratio.
func sideBySide(b *testing.B, service, plain func()) {
	b.Helper()
	service()
	plain() // both are warm
	var ours, theirs time.Duration
	for b.Loop() {
		start := time.Now()
		service()
		mid := time.Now()
		plain()
		ours, theirs = ours+mid.Sub(start), theirs+time.Since(mid)
	}
	b.ReportMetric(float64(ours.Microseconds())/float64(b.N), "µs/service")
	b.ReportMetric(float64(theirs.Microseconds())/float64(b.N), "µs/plain")
	b.ReportMetric(float64(theirs)/float64(ours), "of_plain")
}

// roundTrip sends one request and reads the answer to its end.
func roundTrip(tb testing.TB, method, url, token string, body []byte, want int) {
	tb.Helper()
	req, err := http.NewRequestWithContext(tb.Context(), method, url, bytes.NewReader(body))
	require.NoError(tb, err)
	req.Header.Set("Authorization", "Bearer "+token)
	req.Header.Set("Content-Type", "application/json")
	res, err := http.DefaultClient.Do(req)
	require.NoError(tb, err)
	_, err = io.Copy(io.Discard, res.Body)
	require.NoError(tb, err)
	require.NoError(tb, res.Body.Close())
	require.Equal(tb, want, res.StatusCode)
}

// plainServer serves one row by its key, and takes a batch of rows, with nothing around it.
func plainServer(tb testing.TB, s *service) string {
	tb.Helper()
	pool, err := pgxpool.New(tb.Context(), s.adminURL)
	require.NoError(tb, err)
	tb.Cleanup(pool.Close)
	_, err = pool.Exec(tb.Context(), `CREATE TABLE plain (program uuid, id uuid, game uuid, outcome text, film_ms int,
		PRIMARY KEY (program, id))`)
	require.NoError(tb, err)
	type row struct {
		ID      string `json:"id"`
		Game    string `json:"game_id"`
		Outcome string `json:"outcome"`
		FilmMs  int    `json:"film_ms"`
	}
	gin.SetMode(gin.ReleaseMode)
	engine := gin.New()
	engine.GET("/shots/:id", func(c *gin.Context) {
		var r row
		err := pool.QueryRow(c.Request.Context(), `SELECT id::text, game::text, outcome, film_ms FROM plain
			WHERE program = $1 AND id = $2`, s.program.String(), c.Param("id")).Scan(&r.ID, &r.Game, &r.Outcome, &r.FilmMs)
		if err != nil {
			c.Status(http.StatusInternalServerError)
			return
		}
		c.JSON(http.StatusOK, r)
	})
	engine.POST("/shots/batch", func(c *gin.Context) {
		var rows []row
		if err := json.NewDecoder(c.Request.Body).Decode(&rows); err != nil {
			c.Status(http.StatusBadRequest)
			return
		}
		ids, outcomes := make([]string, len(rows)), make([]string, len(rows))
		for i, r := range rows {
			ids[i], outcomes[i] = r.ID, r.Outcome
		}
		_, err := pool.Exec(c.Request.Context(), `INSERT INTO plain (program, id, game, outcome, film_ms)
			SELECT $1, unnest($2::uuid[]), $3, unnest($4::text[]), 7 ON CONFLICT DO NOTHING`,
			s.program.String(), ids, rows[0].Game, outcomes)
		if err != nil {
			c.Status(http.StatusInternalServerError)
			return
		}
		c.JSON(http.StatusMultiStatus, ids)
	})
	server := httptest.NewServer(engine)
	tb.Cleanup(server.Close)
	return server.URL
}

// benchService is a service with the college season and one game.
func benchService(b *testing.B) (*service, string) {
	b.Helper()
	s, _ := newJournalled(b) // who looked is noted, as it is in service
	s.collegeSeason()
	return s, s.game("game", "2014-02-08")
}

func BenchmarkGetShot(b *testing.B) {
	s, game := benchService(b)
	plain := plainServer(b, s)
	id := s.id("shot")
	body := fmt.Appendf(nil, `{"game_id":"%s","outcome":"save","film_ms":7}`, game)
	roundTrip(b, http.MethodPut, s.url+"/v1/shots/"+id, s.director, body, http.StatusCreated)
	roundTrip(b, http.MethodPost, plain+"/shots/batch", "", fmt.Appendf(nil, `[{"id":"%s","game_id":"%s","outcome":"save"}]`, id, game),
		http.StatusMultiStatus)
	sideBySide(b,
		func() { roundTrip(b, http.MethodGet, s.url+"/v1/shots/"+id, s.director, nil, http.StatusOK) },
		func() { roundTrip(b, http.MethodGet, plain+"/shots/"+id, "", nil, http.StatusOK) })
}

func BenchmarkBatchOf50Shots(b *testing.B) {
	s, game := benchService(b)
	plain := plainServer(b, s)
	batch := func() []byte {
		items := make([]map[string]any, 50)
		for i := range items {
			items[i] = map[string]any{"id": domain.NewID(time.Now()), "game_id": game, "outcome": "save", "film_ms": 7}
		}
		out, err := json.Marshal(items)
		require.NoError(b, err)
		return out
	}
	sideBySide(b,
		func() {
			roundTrip(b, http.MethodPost, s.url+"/v1/shots/batch", s.director, batch(), http.StatusMultiStatus)
		},
		func() { roundTrip(b, http.MethodPost, plain+"/shots/batch", "", batch(), http.StatusMultiStatus) })
}

func BenchmarkGoalieWeek(b *testing.B) {
	s, _ := benchService(b)
	for i := range 4 {
		s.postGame(i, 3600, 12, 10)
	}
	b.ResetTimer()
	for b.Loop() {
		roundTrip(b, http.MethodGet, s.url+goaliePath+"/weeks/2014-W09", s.director, nil, http.StatusOK)
	}
}
