package api_test

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"cagework/api"
	"cagework/domain"
)

// batches makes the bodies of so many batches of so many shots on one game, each shot under an id of its own.
func batches(tb testing.TB, game string, n, shots int) []string {
	tb.Helper()
	out := make([]string, n)
	for b := range out {
		items := make([]map[string]any, shots)
		for i := range items {
			id := domain.NameID(domain.ID{}, fmt.Sprint("shot ", b, " ", i))
			items[i] = map[string]any{"id": id, "game_id": game, "outcome": "save", "film_ms": 1000*b + i}
		}
		text, err := json.Marshal(items)
		require.NoError(tb, err)
		out[b] = string(text)
	}
	return out
}

// crowd sends requests without holding them to the contract, which would take the machine's time from the service.
var crowd = &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 256}, Timeout: time.Minute}

// quick sends one request and gives its status, its Retry-After and its body.
func (s *service) quick(c call) (status int, retry, body string) {
	s.t.Helper()
	res, err := crowd.Do(s.request(c))
	if err != nil {
		return 0, "", err.Error()
	}
	defer func() { _ = res.Body.Close() }()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		return 0, "", err.Error()
	}
	return res.StatusCode, res.Header.Get("Retry-After"), string(text)
}

// sendAtOnce sends all bodies at once as batches and gives what each was answered.
func (s *service) sendAtOnce(bodies []string) (statuses []int, retries, texts []string) {
	s.t.Helper()
	statuses, retries, texts = make([]int, len(bodies)), make([]string, len(bodies)), make([]string, len(bodies))
	var all sync.WaitGroup
	for i, body := range bodies {
		all.Go(func() {
			statuses[i], retries[i], texts[i] = s.quick(call{method: http.MethodPost, path: "/v1/shots/batch", body: body})
		})
	}
	all.Wait()
	return statuses, retries, texts
}

// neighbour is another program of the same service, with a team.
func (s *service) neighbour() (token, path string) {
	s.t.Helper()
	_, token = s.newProgram("Mill Street Lacrosse")
	path = "/v1/seasons/" + domain.NameID(domain.ID{}, "season").String()
	s.do(call{method: http.MethodPut, path: path, token: token,
		body: `{"name":"Spring","starts_on":"2026-02-01","ends_on":"2026-06-30"}`}).want(http.StatusCreated)
	return token, path
}

// TestACrowdedProgramKeepsNobodyWaiting has one program send 200 batches for one game at once, while another program reads and
// writes. The other does not notice; of the batches those that cannot
// be served soon are turned away, and sent again they land, each shot once.
func TestACrowdedProgramKeepsNobodyWaiting(t *testing.T) {
	t.Parallel()
	s := newService(t)
	s.collegeSeason()
	game := s.game("game", "2014-02-08")
	token, path := s.neighbour()
	const many, shots = 200, 20
	bodies := batches(t, game, many, shots)

	done := make(chan struct{})
	slowest, asked := make(chan time.Duration, 1), 0
	stop := sync.OnceValue(func() time.Duration { close(done); return <-slowest })
	t.Cleanup(func() { stop() })
	go func() {
		var worst time.Duration
		defer func() { slowest <- worst }()
		for n := 0; ; n++ {
			select {
			case <-done:
				return
			default:
			}
			began := time.Now()
			status, _, body := s.quick(call{method: http.MethodGet, path: path, token: token})
			if status != http.StatusOK {
				t.Errorf("the neighbour's read is answered %d: %s", status, body)
			}
			worst = max(worst, time.Since(began))
			status, _, body = s.quick(call{method: http.MethodPatch, path: path, token: token, ifMatch: "*",
				body: fmt.Sprintf(`{"name":"Spring %d"}`, n)})
			if status != http.StatusOK {
				t.Errorf("the neighbour's write is answered %d: %s", status, body)
			}
			asked++
		}
	}()
	answered := map[int]int{}
	for pass := 0; len(bodies) > 0; pass++ {
		require.Less(t, pass, 100, "%v", answered)
		statuses, retries, texts := s.sendAtOnce(bodies)
		var again []string
		for i, status := range statuses {
			answered[status]++
			switch status {
			case http.StatusMultiStatus:
			case http.StatusServiceUnavailable:
				require.NotEmpty(t, retries[i], texts[i])
				again = append(again, bodies[i])
			default:
				require.Failf(t, "a batch is neither written nor turned away", "%d: %s", status, texts[i])
			}
		}
		if pass == 0 {
			require.NotEmpty(t, again, "not all of them can be served at once")
			require.Less(t, len(again), many)
		}
		bodies = again
	}
	worst := stop()
	t.Logf("answered %v; the neighbour asked %d times, its slowest read took %v", answered, asked, worst)
	require.Positive(t, asked)
	require.Less(t, worst, 1500*time.Millisecond)
	ids := s.everyPage("/v1/shots", s.director, s.do(call{method: http.MethodGet, path: "/v1/shots?limit=200"}))
	require.Len(t, ids, many*shots)
	var held struct{ Creations, Different int64 }
	conn, err := pgx.Connect(t.Context(), s.adminURL)
	require.NoError(t, err)
	defer func() { _ = conn.Close(t.Context()) }()
	require.NoError(t, conn.QueryRow(t.Context(), `SELECT count(*), count(DISTINCT record_id) FROM changes
		WHERE noun = 'shot' AND op = 'create'`).Scan(&held.Creations, &held.Different))
	require.EqualValues(t, many*shots, held.Creations)
	require.EqualValues(t, many*shots, held.Different)
}

// TestAProgramsSlotsAreBounded: when a program's writes wait for each other in all of its slots for writing, it gets no more
// of these, and still its reads; another program gets both. What was turned away is counted by its reason.
func TestAProgramsSlotsAreBounded(t *testing.T) {
	t.Parallel()
	registry := prometheus.NewRegistry()
	s := newServiceWith(t, api.Config{InFlight: 16, Metrics: api.NewMetrics(registry)}) // two for a program's writes
	s.do(call{method: http.MethodPut, path: goaliePath, body: goalieBody}).want(http.StatusCreated)
	token, path := s.neighbour()
	release := s.holdGoalie()
	write := call{method: http.MethodPatch, path: goaliePath, ifMatch: "*", body: `{"availability":"held"}`}
	statuses := make(chan int, 2)
	for range cap(statuses) {
		go func() {
			status, _, _ := s.quick(write)
			statuses <- status
		}()
	}
	s.awaitLockWait()
	require.Eventually(t, func() bool {
		status, retry, body := s.quick(write)
		return status == http.StatusServiceUnavailable && retry == "1" && strings.Contains(body, "of this program")
	}, 10*time.Second, 5*time.Millisecond)
	s.do(call{method: http.MethodGet, path: goaliePath}).want(http.StatusOK)
	s.do(call{method: http.MethodGet, path: path, token: token}).want(http.StatusOK)
	s.do(call{method: http.MethodPatch, path: path, token: token, ifMatch: "*", body: `{"name":"Fall"}`}).want(http.StatusOK)
	release()
	for range cap(statuses) {
		require.Equal(t, http.StatusOK, <-statuses)
	}
	s.do(write).want(http.StatusOK)
	found, err := registry.Gather()
	require.NoError(t, err)
	counted := map[string]float64{}
	for _, family := range found {
		for _, m := range family.GetMetric() {
			if family.GetName() == "cagework_http_requests_shed_total" {
				counted[m.GetLabel()[0].GetValue()] = m.GetCounter().GetValue()
			}
		}
	}
	require.Len(t, counted, len(domain.Sheds))
	require.Positive(t, counted["program_writes"])
	require.Zero(t, counted["program_reads"])
	require.Zero(t, counted["in_flight"])
}

// BenchmarkBulkhead measures what a program's read costs while another program sends batches for one game as fast as it can,
// 32 at a time, in times of what it costs alone. On two cores some of it is the processor, which both share.
func BenchmarkBulkhead(b *testing.B) {
	s, game := benchService(b)
	token, path := s.neighbour()
	read := func() time.Duration {
		began := time.Now()
		status, _, body := s.quick(call{method: http.MethodGet, path: path, token: token})
		require.Equal(b, http.StatusOK, status, body)
		return time.Since(began)
	}
	var alone, crowded, worst time.Duration
	for range 200 {
		alone += read()
	}
	alone /= 200
	bodies := batches(b, game, 200, 20)
	done := make(chan struct{})
	var all sync.WaitGroup
	for w := range 200 {
		all.Go(func() {
			for {
				select {
				case <-done:
					return
				default:
				}
				if status, _, _ := s.quick(call{method: http.MethodPost, path: "/v1/shots/batch", body: bodies[w]}); status == http.StatusServiceUnavailable {
					time.Sleep(50 * time.Millisecond)
				}
			}
		})
	}
	time.Sleep(200 * time.Millisecond)
	b.ResetTimer()
	for b.Loop() {
		took := read()
		crowded, worst = crowded+took, max(worst, took)
	}
	close(done)
	all.Wait()
	b.ReportMetric(float64(crowded)/float64(b.N)/float64(alone), "of_alone")
	b.ReportMetric(float64(worst.Milliseconds()), "ms/slowest")
}
